package geom_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// Coordinates in numbers of 400 bits, for a distance without roundings to speak of.
type wide [3]*big.Float

func newWide(v geom.Vec) wide { return wide{wideOf(v.X), wideOf(v.Y), wideOf(v.Z)} }

func wideOf(x float64) *big.Float { return new(big.Float).SetPrec(400).SetFloat64(x) }

func (a wide) minus(b wide) (c wide) {
	for i := range c {
		c[i] = wideOf(0).Sub(a[i], b[i])
	}
	return c
}

func (a wide) dot(b wide) *big.Float {
	sum := wideOf(0)
	for i := range a {
		sum.Add(sum, wideOf(0).Mul(a[i], b[i]))
	}
	return sum
}

func (a wide) cross(b wide) (c wide) {
	for i := range c {
		j, k := (i+1)%3, (i+2)%3
		c[i] = wideOf(0).Sub(wideOf(0).Mul(a[j], b[k]), wideOf(0).Mul(a[k], b[j]))
	}
	return c
}

// distance2 is the squared distance of p to the triangle: to its plane where the foot
// lies within, else to the nearest edge.
func distance2(t geom.Triangle, p geom.Vec) float64 {
	c := [3]wide{newWide(t.A), newWide(t.B), newWide(t.C)}
	q := newWide(p)
	n := c[1].minus(c[0]).cross(c[2].minus(c[0]))
	inside := n.dot(n).Sign() > 0
	best := math.Inf(1)
	for k := range c {
		a, d := q.minus(c[k]), c[(k+1)%3].minus(c[k])
		inside = inside && n.dot(d.cross(a)).Sign() >= 0
		s := wideOf(0)
		if dd := d.dot(d); dd.Sign() > 0 {
			s.Quo(a.dot(d), dd)
		}
		if s.Sign() < 0 {
			s = wideOf(0)
		}
		if s.Cmp(wideOf(1)) > 0 {
			s = wideOf(1)
		}
		for i := range a {
			a[i].Sub(a[i], wideOf(0).Mul(s, d[i]))
		}
		f, _ := a.dot(a).Float64()
		best = min(best, f)
	}
	if inside {
		h := n.dot(q.minus(c[0]))
		f, _ := wideOf(0).Quo(h.Mul(h, h), n.dot(n)).Float64()
		best = min(best, f)
	}
	return best
}

// TestClosestOnSlivers: the point found is as near as any, to 1e-9 of the triangle, on triangles of every shape from fair to 1e-15 as high as long,
// and from every distance.
func TestClosestOnSlivers(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	dir := func() geom.Vec { return geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}.Unit() }
	const roundings = 100 * 300 * 0x1p-53 // a hundred, of coordinates below 300 mm
	worst := 0.0
	for range 30_000 {
		a := dir().Scale(100 * r.Float64())
		long := 100 * math.Pow(10, -4*r.Float64())
		b := a.AddScaled(dir(), long)
		foot := a.Lerp(b, 1.4*r.Float64()-0.2)
		c := foot.AddScaled(dir(), long*math.Pow(10, -15*r.Float64()))
		tri := [6]geom.Triangle{{A: a, B: b, C: c}, {A: b, B: c, C: a}, {A: c, B: a, C: b}, {A: a, B: c, C: b}, {A: b, B: a, C: c}, {A: c, B: b, C: a}}[r.IntN(6)]
		u, v := r.Float64(), r.Float64()
		p := a.AddScaled(b.Sub(a), u).AddScaled(c.Sub(a), v*(1-u)).AddScaled(dir(), 200*math.Pow(10, -14*r.Float64()))
		got := tri.Closest(p).Dist(p)
		want := math.Sqrt(distance2(tri, p))
		worst = max(worst, got-want)
		require.LessOrEqual(t, got, want+1e-9*long+roundings, "%v, %v", tri, p)
		require.GreaterOrEqual(t, got, want-roundings, "the point lies on the triangle")
	}
	t.Logf("at most %.2g mm too far", worst)
}
