package render

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"pourproof/geom"
)

// Mark is a place in space that gets a callout: a circle with a label beside
// the drawing and a leader to the place.
type Mark struct {
	At     geom.Vec
	Label  string // a number of one to three digits as a rule
	Color  color.RGBA
	Weight MarkWeight
}

// MarkWeight is how loudly a callout speaks, told by shape as well as by colour.
type MarkWeight uint8

const (
	StrongMark MarkWeight = iota // filled disc, white label
	MediumMark                   // double ring
	LightMark                    // thin ring
)

// Callout says where a mark's circle stands and where its leader runs, in
// picture pixels. Leaders never cross each other and circles never overlap;
// leaders of different anchors share no point.
type Callout struct {
	X, Y, R          float64 // the circle
	PortX, PortY     float64 // where the leader leaves the circle
	AnchorX, AnchorY float64 // where it ends
	Left             bool    // stands left of the drawing
	Hidden           bool    // the place is behind something, cut away, or outside the picture
}

// point is a place in the picture, pixels.
type point struct{ x, y float64 }

// callouts places the marks' circles and adds them to the overlay.
func (p *Picture) callouts(marks []Mark) {
	if len(marks) == 0 {
		return
	}
	anchors := make([]point, len(marks))
	hidden := make([]bool, len(marks))
	for i, m := range marks {
		x, y, _, seen := p.Project(m.At)
		anchors[i], hidden[i] = point{x, y}, !seen
	}
	p.Callouts = placeCallouts(anchors, p.view.columns())
	u := p.view.units
	o := &p.Overlay
	for i := range p.Callouts {
		c := &p.Callouts[i]
		c.Hidden = hidden[i]
		m := &marks[i]
		ring := m.Color
		if ring == (color.RGBA{}) {
			ring = Ink
		}
		l := Line{X0: c.PortX, Y0: c.PortY, X1: c.AnchorX, Y1: c.AnchorY, Width: u(1.5), Halo: u(4.5), Color: Ink}
		dot := Circle{X: c.AnchorX, Y: c.AnchorY, R: u(5.5), Width: u(1.3), Fill: ring, Rim: Paper}
		if c.Hidden {
			l.Dash = []float64{u(6), u(4)}
			dot.Fill, dot.Rim, dot.Width = Paper, ring, u(1.8)
		}
		o.Lines = append(o.Lines, l)
		o.Circles = append(o.Circles, dot)
		c.badge(o, m, ring, p.view.unit)
	}
}

// badge draws the circle and its label.
func (c *Callout) badge(o *Overlay, m *Mark, ring color.RGBA, u float64) {
	size := c.R * 0.82
	if n := len([]rune(m.Label)); n > 2 {
		size *= 2 / float64(n) * 1.1
	}
	t := Text{X: c.X, Y: c.Y, Size: size, S: m.Label, Color: Ink}
	switch m.Weight {
	case StrongMark:
		o.Circles = append(o.Circles, Circle{X: c.X, Y: c.Y, R: c.R, Fill: ring})
		t.Color = Paper
		if luminance(ring) > 0.35 {
			t.Color = Ink
		}
	case MediumMark:
		o.Circles = append(o.Circles,
			Circle{X: c.X, Y: c.Y, R: c.R, Width: min(4*u, c.R*0.2), Fill: Paper, Rim: ring},
			Circle{X: c.X, Y: c.Y, R: c.R, Width: min(1.2*u, c.R*0.06), Fill: color.RGBA{}, Rim: Ink})
	default:
		o.Circles = append(o.Circles, Circle{X: c.X, Y: c.Y, R: c.R, Width: min(1.8*u, c.R*0.1), Fill: Paper, Rim: ring})
	}
	o.Texts = append(o.Texts, t)
}

// columns says where callout circles may stand: two upright columns.
type columns struct {
	left, right float64 // x of the circles' centres
	top, bottom float64 // limits of the circles' edges
	radius      float64 // wanted; smaller when there are many
	reach       float64 // anchors keep this far from the columns' inner edges
}

// columns puts the callouts close to the drawing, inside the page.
func (v *view) columns() columns {
	r := v.units(calloutUnits)
	r = min(r, max((v.area.x1-v.area.x0)/8, 1))
	gap := v.units(gapUnits)
	c := columns{top: v.area.y0, bottom: v.area.y1, radius: r, reach: v.unit}
	c.left = max(v.area.x0+r, v.drawing.x0-gap-r)
	c.right = min(v.area.x1-r, v.drawing.x1+gap+r)
	if c.right-c.left < 4*r { // a drawing far outside the page
		c.left, c.right = v.area.x0+r, v.area.x1-r
	}
	return c
}

// spacing is the least distance of circle centres, in radii.
const spacing = 2.25

// placeCallouts is boundary labelling with straight leaders on two sides (Bekos,
// Kaufmann, Symvonis, Wolff, Boundary labeling: models and efficient algorithms
// for rectangular maps, Comput. Geom. 36, 2007).
//
// Anchors are split by x into a left and a right group: no leader leaves its
// side of the dividing line, so leaders of different sides do not meet. On a side
// the places of the circles are chosen first, then given out from the lowest up:
// each place takes, of the anchors left, the one whose leader leaves all others
// above it. The anchors and places still to come then lie above that line, and so
// does every later leader. Leaders end between the columns, so none meets a
// circle. Several sets of places are tried, and the one kept whose leaders run
// past the fewest other anchors. Quadratic in the number of anchors.
func placeCallouts(anchors []point, col columns) []Callout {
	n := len(anchors)
	out := make([]Callout, n)
	// the largest radius that lets half of the circles stand in a column
	half := (n + 1) / 2
	r := max(0, min(col.radius, (col.bottom-col.top)/(spacing*float64(half-1)+2)))
	inner := rect{col.left + r + col.reach, col.top, col.right - r - col.reach, col.bottom}
	at := make([]point, n)
	order := make([]int, n)
	for i, a := range anchors {
		order[i] = i
		at[i] = point{clamp(a.x, inner.x0, inner.x1), clamp(a.y, inner.y0, inner.y1)}
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(at[i].x, at[j].x), cmp.Compare(at[i].y, at[j].y), i-j)
	})
	fits := half // circles that fit into a column
	if r > 0 {
		fits = max(half, int(((col.bottom-col.top)/r-2)/spacing+1e-9)+1)
	}
	split := 0
	for split < n && at[order[split]].x < (col.left+col.right)/2 {
		split++
	}
	split = min(max(split, n-fits), fits)
	for k, ids := range [2][]int{order[:split], order[split:]} {
		x, port := col.left, col.left+r
		if k == 1 {
			x, port = col.right, col.right-r
		}
		for i, y := range bestSide(at, ids, col, r, port) {
			a := at[ids[i]]
			out[ids[i]] = Callout{X: x, Y: y, R: r, PortX: port, PortY: y, AnchorX: a.x, AnchorY: a.y, Left: k == 0}
		}
	}
	return out
}

// bestSide returns the heights of a column's circles, in the order of ids. It
// tries the nearest places and the same with wider spacing and shifted.
func bestSide(at []point, ids []int, col columns, r, port float64) []float64 {
	var best []float64
	least := math.Inf(1)
	room := col.bottom - col.top - 2*r
	for _, wide := range [3]float64{1, 1.25, 1.6} {
		step := spacing * r * wide
		if wide > 1 && step*float64(len(ids)-1) > room {
			continue
		}
		for _, shift := range [9]float64{0, 0.6, -0.6, 1.2, -1.2, 2, -2, 3, -3} {
			slots := spread(at, ids, col.top+r, col.bottom-r, step, shift*r)
			y := assign(at, ids, slots, port)
			if c := leaderCost(at, ids, y, port, r); c < least {
				best, least = y, c
			}
		}
	}
	return best
}

// leaderCost is the length of a side's leaders, plus a large amount for every
// anchor that another leader passes closer than 0.45 circle radii (two dots).
func leaderCost(at []point, ids []int, y []float64, port, r float64) float64 {
	cost := 0.0
	for i, a := range ids {
		dx, dy := at[a].x-port, at[a].y-y[i]
		len2 := float64(dx*dx) + float64(dy*dy)
		cost += math.Sqrt(len2)
		for _, b := range ids {
			if a == b {
				continue
			}
			px, py := at[b].x-port, at[b].y-y[i]
			t := clamp((float64(px*dx)+float64(py*dy))/len2, 0, 1)
			ex, ey := px-float64(t*dx), py-float64(t*dy)
			if float64(ex*ex)+float64(ey*ey) < 0.2*r*r {
				cost += float64(50 * r)
			}
		}
	}
	return cost
}

// spread returns increasing heights for the circles of a column, each as near
// to an anchor's height (plus shift) as the spacing allows: least squares under
// order constraints by pooling neighbours that violate them (Ayer et al. 1955).
func spread(at []point, ids []int, top, bottom, step, shift float64) []float64 {
	type pool struct {
		sum float64
		n   int
	}
	y := make([]float64, len(ids))
	for k, i := range ids {
		y[k] = at[i].y + shift
	}
	slices.Sort(y)
	var pools []pool
	for k := range y {
		pools = append(pools, pool{y[k] - float64(float64(k)*step), 1})
		for m := len(pools) - 1; m > 0 && pools[m-1].sum/float64(pools[m-1].n) >= pools[m].sum/float64(pools[m].n); m-- {
			pools[m-1] = pool{pools[m-1].sum + pools[m].sum, pools[m-1].n + pools[m].n}
			pools = pools[:m]
		}
	}
	k := 0
	last := bottom - float64(float64(len(y)-1)*step)
	for _, q := range pools {
		v := clamp(q.sum/float64(q.n), top, max(last, top))
		for range q.n {
			y[k] = v + float64(float64(k)*step)
			k++
		}
	}
	return y
}

// assign gives the places, which stand above each other at x = port, to the
// anchors; see placeCallouts. It returns the height for each of ids.
func assign(at []point, ids []int, slots []float64, port float64) []float64 {
	y := make([]float64, len(ids))
	left := make([]int, len(ids))
	for i := range left {
		left[i] = i
	}
	for k := len(slots) - 1; k >= 0; k-- {
		best := 0
		for j := 1; j < len(left); j++ {
			if lower(point{port, slots[k]}, at[ids[left[j]]], at[ids[left[best]]]) {
				best = j
			}
		}
		y[left[best]] = slots[k]
		left = slices.Delete(left, best, best+1)
	}
	return y
}

// lower reports whether the leader from q to a lies below the one to b, or in
// line with it and shorter.
func lower(q, a, b point) bool {
	ax, bx := abs(a.x-q.x), abs(b.x-q.x) // both positive: anchors keep clear of the port
	l, r := (a.y-q.y)*bx, (b.y-q.y)*ax
	if l != r {
		return l > r
	}
	return ax < bx
}

func clamp(v, lo, hi float64) float64 { return min(max(v, lo), hi) }

func abs(v float64) float64 { return max(v, -v) }
