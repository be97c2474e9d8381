package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// fan is the slow twin: the least ball that touches facet f at p and what any of many
// straight lines within half the widest wedge of the inward normal meet first, all
// facets looked at for each line. rim tells that the least one lies at the cone's rim,
// where the faces are opposed at a wider angle still.
func fan(m *geom.Mesh, p, inward geom.Vec, f int32, half float64) (d float64, rim bool) {
	u, v := inward.Perpendicular()
	d = math.Inf(1)
	const rings, around = 10, 36
	for r := range rings + 1 {
		tilt := half * float64(r) / rings
		for k := range around {
			a := 2 * math.Pi * float64(k) / around
			dir := inward.Scale(math.Cos(tilt)).AddScaled(u, math.Sin(tilt)*math.Cos(a)).AddScaled(v, math.Sin(tilt)*math.Sin(a))
			first := math.Inf(1)
			for g := range m.Facets {
				if int32(g) != f {
					if s, ok := meets(m.Triangle(g), p, dir); ok && s > 1e-9 {
						first = min(first, s)
					}
				}
			}
			if x := first / math.Cos(tilt); x < d {
				d, rim = x, r == rings
			}
			if r == 0 {
				break
			}
		}
	}
	return d, rim
}

// meets is the ray and triangle test of Möller and Trumbore (1997).
func meets(t geom.Triangle, o, d geom.Vec) (float64, bool) {
	e, g := t.B.Sub(t.A), t.C.Sub(t.A)
	h := d.Cross(g)
	det := e.Dot(h)
	if det == 0 {
		return 0, false
	}
	s := o.Sub(t.A)
	u := s.Dot(h) / det
	q := s.Cross(e)
	v := d.Dot(q) / det
	return g.Dot(q) / det, u >= 0 && v >= 0 && u+v <= 1
}

// On bumpy solids every thickness is that of a ball which does touch the surface at
// both ends, opposed, and no line in the cone finds a thinner one, but for those at
// the cone's rim.
func TestSlowTwin(t *testing.T) {
	for name, m := range map[string]*geom.Mesh{
		"bumpy":  geomtest.Bumpy(4, 0.8, 36, 20),
		"blocks": geomtest.Transform(geomtest.Grid(geomtest.ManifoldBlocks(5)...), geomtest.RandomTurn(4)),
	} {
		w := walls(t, m, Options{Most: 30})
		looked, thinner, thicker, blind := 0, 0, 0, 0
		for f := 0; f < len(w.Least); f += 1 + len(w.Least)/150 {
			inward := w.Normal[f].Neg()
			if w.Contact[f] < 0 {
				continue
			}
			p, x, d := w.At[f], w.Touch[f], w.Least[f]
			center := p.AddScaled(inward, d/2)
			require.InDelta(t, d/2, center.Dist(x), 1e-9, "%s: touches", name)
			require.Less(t, w.Mesh.Triangle(int(w.Contact[f])).Closest(x).Dist(x), 1e-9, "%s: on the surface", name)
			require.GreaterOrEqual(t, inward.Dot(x.Sub(p).Unit()), math.Cos(math.Pi/12)-1e-9, "%s: opposed", name)
			slow, rim := fan(w.Mesh, p, inward, int32(f), math.Pi/12)
			looked++
			switch {
			case rim:
				blind++
			case slow < d*0.98:
				thinner++
			case slow > d*1.02:
				thicker++
			}
		}
		t.Logf("%s: %d places, %d at the rim, twin thinner %d, thicker %d", name, looked, blind, thinner, thicker)
		assert.Greater(t, looked-blind, 25, name)
		assert.LessOrEqual(t, thinner, looked/25, "%s: the twin finds thinner rubber", name)
		assert.LessOrEqual(t, thicker, looked/25, "%s: the twin sees nothing so near", name)
	}
}
