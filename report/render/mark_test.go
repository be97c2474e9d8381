package render

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// side is the sign of the turn a, b, c.
func side(a, b, c point) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }

// cross reports whether two segments share a point.
func cross(a, b, c, d point) bool {
	if max(a.x, b.x) < min(c.x, d.x) || max(c.x, d.x) < min(a.x, b.x) || max(a.y, b.y) < min(c.y, d.y) || max(c.y, d.y) < min(a.y, b.y) {
		return false
	}
	return side(a, b, c)*side(a, b, d) <= 0 && side(c, d, a)*side(c, d, b) <= 0
}

// leader returns a callout's leader without its last thousandth of a pixel:
// anchors may coincide, and may lie on another leader to rounding.
func (c *Callout) leader() (from, to point) {
	dx, dy := c.AnchorX-c.PortX, c.AnchorY-c.PortY
	k := 1 - 1e-3/math.Hypot(dx, dy)
	return point{c.PortX, c.PortY}, point{c.PortX + k*dx, c.PortY + k*dy}
}

// audit checks everything callouts promise.
func audit(t require.TestingT, cs []Callout, col columns) {
	for i := range cs {
		c := &cs[i]
		require.Greater(t, c.R, 0.0)
		require.GreaterOrEqual(t, c.Y-c.R, col.top-1e-9)
		require.LessOrEqual(t, c.Y+c.R, col.bottom+1e-9)
		require.InDelta(t, c.R, math.Hypot(c.PortX-c.X, c.PortY-c.Y), 1e-9, "the leader starts on the circle")
		for j := range cs[:i] {
			d := &cs[j]
			require.GreaterOrEqual(t, math.Hypot(c.X-d.X, c.Y-d.Y), c.R+d.R, "circles %d and %d overlap", i, j)
			a, b := c.leader()
			e, f := d.leader()
			require.False(t, cross(a, b, e, f), "leaders %d (%v) and %d (%v) cross", i, *c, j, *d)
		}
		for j := range cs {
			if i != j {
				d := &cs[j]
				a, b := c.leader()
				p := geom.ClosestOnSegment(geom.Vec{X: d.X, Y: d.Y}, geom.Vec{X: a.x, Y: a.y}, geom.Vec{X: b.x, Y: b.y})
				require.GreaterOrEqual(t, math.Hypot(p.X-d.X, p.Y-d.Y), d.R-1e-9, "leader %d meets circle %d", i, j)
			}
		}
	}
}

func TestCrossNoticesCrossings(t *testing.T) {
	assert.True(t, cross(point{0, 0}, point{4, 4}, point{0, 4}, point{4, 0}))
	assert.True(t, cross(point{0, 0}, point{4, 0}, point{2, 0}, point{2, 3}), "touching counts")
	assert.False(t, cross(point{0, 0}, point{4, 0}, point{5, 1}, point{5, -1}))
	assert.False(t, cross(point{0, 0}, point{4, 4}, point{0, 1}, point{3, 4}))
}

func TestCalloutsNeverCross(t *testing.T) {
	page := columns{left: 30, right: 1570, top: 5, bottom: 1100, radius: 20, reach: 1}
	for _, n := range []int{0, 1, 2, 3, 20, 60, 200} {
		for seed := range uint64(8) {
			r := rand.New(rand.NewPCG(seed, uint64(n)))
			anchors := make([]point, n)
			for i := range anchors {
				switch seed % 4 {
				case 0: // anywhere, also outside the page
					anchors[i] = point{r.Float64()*2000 - 200, r.Float64()*1500 - 200}
				case 1: // all on one side
					anchors[i] = point{1200 + r.Float64()*200, r.Float64() * 1100}
				case 2: // a lattice: many in line
					anchors[i] = point{float64(100 * (1 + r.IntN(14))), float64(100 * (1 + r.IntN(10)))}
				case 3: // a small heap
					anchors[i] = point{800 + r.Float64()*9, 500 + r.Float64()*9}
				}
			}
			cs := placeCallouts(anchors, page)
			require.Len(t, cs, n)
			audit(t, cs, page)
			if n <= 20 {
				for _, c := range cs {
					require.Equal(t, page.radius, c.R, "room enough for full circles")
				}
			}
		}
	}
}

func TestCalloutsProperty(t *testing.T) {
	page := columns{left: 12, right: 188, top: 2, bottom: 150, radius: 8, reach: 0.5}
	rapid.Check(t, func(t *rapid.T) {
		lattice := rapid.Bool().Draw(t, "lattice")
		coord := func(name string) float64 {
			if lattice {
				return float64(rapid.IntRange(0, 20).Draw(t, name)) * 10
			}
			return rapid.Float64Range(-20, 220).Draw(t, name)
		}
		anchors := make([]point, rapid.IntRange(0, 40).Draw(t, "n"))
		for i := range anchors {
			anchors[i] = point{coord("x"), coord("y")}
		}
		audit(t, placeCallouts(anchors, page), page)
	})
}

func TestSpreadIsTheNearestOrderedPlacing(t *testing.T) {
	// Without need the circles stand at their anchors' heights; a heap spreads
	// evenly about its mean.
	at := []point{{0, 10}, {0, 50}, {0, 90}}
	assert.Equal(t, []float64{10, 50, 90}, spread(at, []int{2, 0, 1}, 0, 100, 20, 0))
	heap := []point{{0, 50}, {0, 50}, {0, 53}}
	y := spread(heap, []int{0, 1, 2}, 0, 100, 20, 0)
	assert.InDeltaSlice(t, []float64{31, 51, 71}, y, 1e-9)
	y = spread(heap, []int{0, 1, 2}, 40, 100, 20, 0)
	assert.InDeltaSlice(t, []float64{40, 60, 80}, y, 1e-9, "kept inside the column")
}

func TestMarksInAPicture(t *testing.T) {
	cut := PlaneThrough(geom.Vec{Y: 5}, geom.Vec{Y: -1})
	s := &Scene{Bodies: []Body{{Mesh: cube(10), Color: red, Cut: true}}, Cut: cut, Camera: Isometric(geom.Vec{}, 0),
		Marks: []Mark{
			{At: geom.Vec{X: 5, Y: 5, Z: 5}, Label: "1"},            // on the cut face
			{At: geom.Vec{X: 5, Y: 8, Z: 10}, Label: "2"},           // on top
			{At: geom.Vec{X: 10, Y: 8, Z: 5}, Label: "3"},           // on the far side
			{At: geom.Vec{X: 5, Y: 9, Z: 5}, Label: "4"},            // inside the material
			{At: geom.Vec{X: 5, Y: 1, Z: 10}, Label: "5"},           // on the part cut away
			{At: geom.Vec{X: 500, Y: 5, Z: 5}, Label: "6"},          // outside the picture
			{At: geom.Vec{X: 0, Y: 7, Z: 5}, Label: "7", Weight: 2}, // on the near side
		}}
	p := draw(t, s, 800, 600)
	var hidden []bool
	for _, c := range p.Callouts {
		hidden = append(hidden, c.Hidden)
	}
	assert.Equal(t, []bool{false, false, true, true, true, true, false}, hidden)
	audit(t, p.Callouts, p.view.columns())
	for i, m := range s.Marks {
		if i == 5 {
			continue // drawn at the edge
		}
		x, y, _, seen := p.Project(m.At)
		assert.Equal(t, !p.Callouts[i].Hidden, seen)
		assert.InDelta(t, x, p.Callouts[i].AnchorX, 1e-9)
		assert.InDelta(t, y, p.Callouts[i].AnchorY, 1e-9)
	}
	for _, l := range p.Overlay.Lines[:len(s.Marks)] {
		assert.Positive(t, l.Halo, "leaders have a white edge")
	}
	assert.Empty(t, p.Overlay.Lines[0].Dash)
	assert.NotEmpty(t, p.Overlay.Lines[2].Dash, "hidden places have dashed leaders")
	texts := map[string]bool{}
	for _, w := range p.Overlay.Texts {
		texts[w.S] = true
	}
	for _, m := range s.Marks {
		assert.True(t, texts[m.Label])
	}
}

func TestManyMarksInPicturesOfAllShapes(t *testing.T) {
	ball := geomtest.Icosphere(10, 3)
	for _, size := range [][2]int{{1600, 1200}, {400, 300}, {300, 900}, {900, 200}, {120, 90}} {
		for _, n := range []int{0, 1, 20, 60} {
			s := &Scene{Bodies: []Body{{Mesh: ball, Color: red}}, Camera: Isometric(geom.Vec{}, 1), Up: geom.Vec{Z: 1}}
			for i := range n {
				s.Marks = append(s.Marks, Mark{At: ball.Vertices[(i*37)%len(ball.Vertices)], Label: fmt.Sprint(i + 1), Weight: MarkWeight(i % 3)})
			}
			p := draw(t, s, size[0], size[1])
			require.Len(t, p.Callouts, n)
			audit(t, p.Callouts, p.view.columns())
			for _, c := range p.Callouts {
				require.GreaterOrEqual(t, c.X-c.R, -1e-9)
				require.LessOrEqual(t, c.X+c.R, float64(size[0])+1e-9)
				if r := p.view.drawing; c.Left {
					require.LessOrEqual(t, c.X+c.R, r.x0, "circle on the drawing")
				} else {
					require.GreaterOrEqual(t, c.X-c.R, r.x1, "circle on the drawing")
				}
			}
		}
	}
}

func TestLowerPrefersTheNearerOfTwoInLine(t *testing.T) {
	q := point{100, 50}
	assert.True(t, lower(q, point{80, 60}, point{60, 70}))
	assert.False(t, lower(q, point{60, 70}, point{80, 60}))
	assert.True(t, lower(q, point{60, 71}, point{80, 60}))
	assert.True(t, lower(point{0, 50}, point{40, 70}, point{20, 50}), "also to the right")
}
