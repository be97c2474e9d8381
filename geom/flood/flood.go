// Package flood lets a level rise through a graph of runs: vertical stretches of
// open space, each with one free surface, joined sideways by links.
//
// Liquid enters at sources and gathers in pools. It goes to the lowest place it
// can reach going down; a pool's level rises; at a saddle it spills into the
// neighbouring basin, which fills until the two pools merge (fill, spill, merge:
// Barnes, Callaghan, Wickert 2020 and 2021). Gas leaves through exits as long as
// a way to one is open; what is cut off from every exit stays, and liquid never
// displaces it. That is gravity-ordered invasion with trapping (Wilkinson and
// Willemsen 1983) with pools instead of cells.
//
// Method: (1) the tree of basins by one upward sweep of the links (Carr,
// Snoeyink, Axen 2003); (2) the order in which its arcs fill, as if nothing were
// ever trapped; (3) the same events backward with a union-find of the gas
// (Masson 2016): gas is cut off at the event whose reversal joins it to an exit; runs are
// first joined to the summits that their gas rises to, as a run's own gas is never cut off
// from there.
// Step 2 may ignore trapping because whatever liquid could do beyond trapped gas
// happens in gas that is trapped with it.
//
// Heights are integers; all results are exact for the graph. Cost: O(n log n) in
// runs + links for the sorting, near linear for the rest.
package flood

import (
	"fmt"
	"math"
)

// Link joins runs A and B: liquid passes once its level reaches Lo, gas as long
// as the level has not passed Hi. Lo is at least both runs' Lo, Hi at most both
// runs' Hi, and Lo <= Hi.
type Link struct{ A, B, Lo, Hi int32 }

// Exit joins a run to the outside between heights Lo and Hi. Gas leaves through
// it until the level passes Hi; it takes no liquid. Port is the caller's name for
// it.
type Exit struct{ Run, Lo, Hi, Port int32 }

// Graph is the space to be filled. Runs are numbered by their place in Lo and Hi.
type Graph struct {
	Lo, Hi  []int32
	Links   []Link
	Exits   []Exit
	Sources []int32 // runs that liquid enters at their bottom
}

// Time is a moment of the pour: the arc that is filling and its level. Earlier
// is smaller.
type Time int64

const (
	// Never is later than every moment of the pour.
	Never = Time(1<<63 - 1)
	// Start is before every moment.
	Start = Time(-1 << 62)
)

func timeOf(arc, level int32) Time { return Time(arc)<<32 + Time(level) - math.MinInt32 }

func (t Time) arc() Time    { return t >> 32 }
func (t Time) level() int32 { return int32(t&(1<<32-1) + math.MinInt32) }

// Result is what the flood did.
type Result struct {
	g *Graph
	// Cut is, for every run, when its gas was cut off: Never if it always had a way
	// out, Start if it never had one.
	Cut []Time
	// Reached tells which runs liquid can get to at all.
	Reached []bool
	// Pocket numbers the gas cut off together: at one moment, and joined. -1 stands
	// for gas that was never cut off or has no volume. Pockets are numbered in the
	// order of their first run.
	Pocket []int32
	// Seals names, for every pocket, what closed last.
	Seals []Seal

	tree   tree
	closes []Time  // per link, then per exit: when it is passed, Never out of the liquid's reach
	end    []int32 // per run: the level when nothing more goes in
}

// Seal is the event that cut a pocket off.
type Seal struct {
	When Time
	Link int32 // index in Links, -1 if it was an exit or if there never was a way out
	Exit int32 // index in Exits, -1 if it was a link
}

// Run floods the graph.
func Run(g *Graph) (*Result, error) {
	r, err := Levels(g)
	if err != nil {
		return nil, err
	}
	r.Number()
	return r, nil
}

// Levels floods the graph and leaves the pockets unnumbered: Pocket and Seals are nil
// until Number is called. It takes about two thirds of the time of Run.
func Levels(g *Graph) (*Result, error) {
	if err := g.check(); err != nil {
		return nil, err
	}
	r := &Result{g: g}
	r.tree.build(g)
	r.tree.order(g)
	r.reach()
	var full []Time
	r.closes, full = r.closing()
	r.trap(full)
	r.settle()
	return r, nil
}

// Number tells the pockets apart and finds what sealed them.
func (r *Result) Number() {
	r.pockets()
	r.seals()
}

func (g *Graph) check() error {
	for i, l := range g.Links {
		if l.Lo > l.Hi || l.Lo < max(g.Lo[l.A], g.Lo[l.B]) || l.Hi > min(g.Hi[l.A], g.Hi[l.B]) {
			return fmt.Errorf("flood: link %d (%d to %d) lies outside its runs' overlap", i, l.Lo, l.Hi)
		}
	}
	for i, e := range g.Exits {
		if e.Lo > e.Hi || e.Lo < g.Lo[e.Run] || e.Hi > g.Hi[e.Run] {
			return fmt.Errorf("flood: exit %d (%d to %d) lies outside its run", i, e.Lo, e.Hi)
		}
	}
	return nil
}

// reach marks the runs whose basin tree holds the source.
func (r *Result) reach() {
	r.Reached = make([]bool, len(r.g.Lo))
	for i, node := range r.tree.node {
		r.Reached[i] = r.tree.arc[node] >= 0
	}
}

// settle works out where the levels stand in the end.
func (r *Result) settle() {
	r.end = make([]int32, len(r.g.Lo))
	for i, cut := range r.Cut {
		switch {
		case !r.Reached[i]:
			r.end[i] = r.g.Lo[i]
		case cut == Never:
			r.end[i] = r.g.Hi[i]
		default:
			r.end[i] = r.tree.level(int32(i), cut, r.g.Lo[i], r.g.Hi[i])
		}
	}
}

// When returns the moment at which the level of run passes height z, as if
// nothing were trapped; Never for a run that liquid cannot reach.
func (r *Result) When(run, z int32) Time { return r.tree.when(run, z) }

// Level returns the height of the liquid in run at the moment t, or at the
// moment its gas was cut off if that was earlier. Its Lo means dry.
func (r *Result) Level(run int32, t Time) int32 {
	if t >= r.Cut[run] || !r.Reached[run] {
		return r.end[run]
	}
	return r.tree.level(run, t, r.g.Lo[run], r.g.Hi[run])
}

// find returns the root of i in a union-find forest, halving the path.
func find(parent []int32, i int32) int32 {
	for parent[i] != i {
		parent[i] = parent[parent[i]]
		i = parent[i]
	}
	return i
}

// SealLevel returns the level of the pool that cut pocket k off; the lowest
// int32 for gas that never had a way out.
func (r *Result) SealLevel(k int32) int32 {
	if r.Seals[k].When == Start {
		return -1 << 31
	}
	return r.Seals[k].When.level()
}

// Saddle tells what holds the level of a cut-off run where it stands: if its pool
// had risen to a saddle and was spilling over it when the gas was cut off, the
// node of that saddle, the pool below it that the run is in, and one link over
// it. ok is false for a dry run and for one whose own pool was rising.
func (r *Result) Saddle(run int32) (node, pool, link int32, ok bool) {
	t := &r.tree
	w := r.Cut[run]
	n := t.node[run]
	if !r.Reached[run] || w <= timeOf(t.arc[n], r.g.Lo[run]) || w == Never {
		return 0, 0, 0, false
	}
	for p := t.parent[n]; p >= 0 && w >= timeOf(t.arc[p], t.birth[p]); p = t.parent[n] {
		n = p
	}
	p := t.parent[n]
	if Time(t.arc[n]) == w.arc() || p < 0 {
		return 0, 0, 0, false
	}
	return p, n, t.saddle[p], true
}

// Pool returns the child of a saddle's node in whose pool run lies, -1 if it lies
// elsewhere or not below the saddle.
func (r *Result) Pool(run, node int32) int32 {
	t := &r.tree
	if r.g.Lo[run] >= t.birth[node] {
		return -1
	}
	for n := t.node[run]; n >= 0; n = t.parent[n] {
		if t.parent[n] == node {
			return n
		}
	}
	return -1
}

// Rising tells whether the pool that run belongs to was the one rising when the
// run's gas was cut off; its bottom may lie above or below the level.
func (r *Result) Rising(run int32) bool {
	t := &r.tree
	w := r.Cut[run]
	if !r.Reached[run] || w == Never || w == Start {
		return false
	}
	n := t.node[run]
	for p := t.parent[n]; p >= 0 && w >= timeOf(t.arc[p], t.birth[p]); p = t.parent[n] {
		n = p
	}
	return Time(t.arc[n]) == w.arc()
}

// Rises tells how the level of run rose until its gas was cut off: visit gets
// each arc in the order of filling with the heights between which it rose.
func (r *Result) Rises(run int32, visit func(arc, lo, hi int32)) {
	if !r.Reached[run] {
		return
	}
	t := &r.tree
	end := r.Level(run, Never)
	z := r.g.Lo[run]
	for n := t.node[run]; z < end; n = t.parent[n] {
		if top := min(t.top[n], end); top > z {
			visit(t.arc[n], z, top)
			z = top
		}
	}
}

// Arcs returns the number of arcs that fill.
func (r *Result) Arcs() int { return len(r.tree.birth) }

// Split returns the arc that fills at the moment t and its level.
func (t Time) Split() (arc, level int32) { return int32(t.arc()), t.level() }
