package mold

import (
	"fmt"
	"math"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// PrintOptions sets how a half is printed. Zero fields are taken from the job.
type PrintOptions struct {
	Flat    bool     // stands on the platform instead of on supports
	Printer *Printer // nil = the job's
	Cell    float64  // mm, column pitch, coarsened to stay within memory; 0 = the job's, else by rule from the half's size
	NoHoles bool     // leave out the suggested relief holes

	over *cupBounds // end at the first cup above these, and leave out starts, scars and steps; nil = the whole print
	sums bool       // nothing is asked of cups but areas and volumes
}

// Printed is what happens while one half is printed bottom-up: the platform is at
// the lowest build height, the newest layer is the highest and is sealed by the
// film. Heights are in mm above the half's lowest point, along Build.
type Printed struct {
	Half    int
	Name    string
	Build   geom.Vec // from the platform into the growing print, unit
	Given   bool     // Build was stated by the user
	Flat    bool
	Extent  float64 // mm of the half along Build
	Height  float64 // mm above the platform, supports included
	Base    float64 // Build . p of the half's lowest point p, so height = Build . p - Base
	Cell    float64 // mm
	Cups    []Cup
	Sealed  []SealedVoid
	Curve   []SealedArea // by height, of the cups that no passage relieves
	Starts  []Start
	Loose   []LoosePiece // largest first
	Scars   Scars
	Step    LayerStep
	Bores   []PrintedBore
	Printer Printer // as used

	air *airField // one list of columns a cup
}

// Cup is a hollow that reaches the outside, while it is printed, only through the
// newest layer, or through passages beside it.
type Cup struct {
	ID       int
	Area     float64 // mm2, largest opening sealed by the film
	AreaAt   float64 // the lowest height at which it is that large
	Volume   float64 // mm3 enclosed when it ends
	From, To float64 // heights of its floor and of the layer that frees it
	Deepest  geom.Vec
	Middle   geom.Vec  // of its largest opening
	Lip      *geom.Vec // where the outside breaks in at To; nil where a roof closes it
	Bound    float64   // N, air pressure times Area: no more than this
	Into     int       // ID of the cup that it merges with at To, 0 for none
	Void     int       // ID of the sealed void that it becomes, 0 for none
	Molding  bool      // its floor shapes the part
	Platform bool      // the platform closes it from below: on supports it is open there
	Relieved bool      // by Passage
	Passage  *Passage  // widest way out beside the film; nil for none
	Hole     *ReliefHole
}

// Passage is a way from a cup to the outside other than through the film.
type Passage struct {
	Width   float64 // mm, of the largest ball that passes
	Error   float64 // mm
	At      geom.Vec
	Length  float64  // mm of it that is about as narrow
	Drop    float64  // kPa at the lift speed, the flow shared by all passages
	Count   int      // of passages that share it, this one the widest
	Channel int      // ID of the channel that it is, 0 for none
	Axis    geom.Vec // unit, outward at At
}

// ReliefHole is a straight bore that relieves a cup, proven by printing again.
type ReliefHole struct {
	At        geom.Vec // mouth in the cup, at the end printed first
	Exit      geom.Vec
	Direction geom.Vec // unit, from At to Exit
	Diameter  float64
	Length    float64
	Drop      float64 // kPa as expected printed
	Left      float64 // mm2 of the cup that stay sealed once the hole is printed
	Molding   bool    // opens on a face that shapes the part: plug it before casting
}

// SealedVoid is a hollow without any way out.
type SealedVoid struct {
	ID     int
	Volume float64 // mm3
	At     geom.Vec
}

// SealedArea is the area of unrelieved cups at a height.
type SealedArea struct{ Height, Area float64 }

// The bounds of a print's lattice: a pitch under finestPrint shows nothing more,
// and maxPrintNodes of 8 bytes or so keep a half within 100 MB and about a
// second.
const (
	finestPrint   = 0.25
	maxPrintNodes = 8_000_000
)

// leastCup is the volume in mm3 from which a hollow counts as a cup: a cube of a
// millimetre, as for the pour's pockets.
const leastCup = 1.0

// DefaultBuild returns the direction in which a half is printed unless the user
// states one (then given is true): its parting face looks away from the platform.
func (m *Mold) DefaultBuild(half int) (build geom.Vec, given bool) {
	if half < len(m.Job.Halves) && m.Job.Halves[half].Build != nil {
		return m.Job.Halves[half].Build.Unit(), true
	}
	return m.Pulls[half].Neg(), false
}

// Print works out what happens while a half is printed with direction build from
// the platform into the print. The answer depends on the half alone, not on the
// closed mold, but for which faces shape the part and which bores it has.
func (m *Mold) Print(half int, build geom.Vec, o PrintOptions) (*Printed, error) {
	if half < 0 || half >= len(m.Halves) {
		return nil, fmt.Errorf("there is no half %d", half)
	}
	build = build.Unit()
	if build == (geom.Vec{}) || !build.Finite() {
		return nil, fmt.Errorf("half %s: the build direction has no length; give x,y,z that are not all zero", m.Halves[half].Name)
	}
	if o.Printer == nil {
		o.Printer = &m.Job.Printer
	}
	if o.Cell == 0 {
		o.Cell = m.Job.Cell
	}
	r := m.rubber(half)
	p, err := r.print(build, o)
	if err != nil {
		return nil, fmt.Errorf("half %s: %w", m.Halves[half].Name, err)
	}
	p.Half, p.Name = half, m.Halves[half].Name
	_, p.Given = m.DefaultBuild(half)
	m.namePassages(p)
	p.Bores = m.printedBores(half, build, o.Printer)
	return p, nil
}

// rubber is one half as the printer sees it.
type rubber struct {
	mesh    *geom.Mesh
	span    float64 // mm across its box
	solid   *solid
	molding func(facet int32) bool // a facet that shapes the part
	parting func(facet int32) bool // a facet that meets another half
	tree    *bvh.Tree
	finest  float64                                        // mm, the least pitch that the user asks for; 0 = none
	rooms   [len(passageWidths)]func() (*clearance, error) // by width of passages, worked out when first asked for
}

// print is Print for a half alone.
func (r *rubber) print(build geom.Vec, o PrintOptions) (*Printed, error) {
	w, err := r.begin(build, o, nil)
	if err != nil {
		return nil, err
	}
	defer w.releaseAll()
	w.sealedVoids()
	if err := w.cups(); err != nil || o.over != nil {
		return w.p, err
	}
	w.curve()
	p := w.p
	s := w.bulk()
	p.Starts, p.Loose = w.starts(s), w.loose(s)
	bulks.Put(s)
	p.Scars = r.scars(p)
	shares := r.solid.shares(len(r.mesh.Facets))
	p.Step = newStepped(r.solid).steps(build, o.Printer.Layer, shares, r.molding, make([]float32, len(r.mesh.Facets)))
	return p, nil
}

// begin casts the half, with the plugs of room added, for a print; room may be nil.
func (r *rubber) begin(build geom.Vec, o PrintOptions, room *clearance) (*printing, error) {
	low, high := r.extent(build)
	if !(high > low) {
		return nil, fmt.Errorf("has no height along the build direction (%.3f, %.3f, %.3f)", build.X, build.Y, build.Z)
	}
	p := &Printed{Build: build, Flat: o.Flat, Extent: high - low, Height: high - low, Base: low, Printer: *o.Printer}
	if !o.Flat {
		p.Height += o.Printer.Raise
	}
	w := &printing{rubber: r, p: p, o: o, frame: PourFrame(build)}
	return w, w.cast(room)
}

// extent returns the least and the greatest p . d over the half's points p.
func (r *rubber) extent(d geom.Vec) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range r.mesh.Vertices {
		z := d.Dot(v)
		low, high = min(low, z), max(high, z)
	}
	return low, high
}

// printing is one print being worked out.
type printing struct {
	*rubber
	p     *Printed
	o     PrintOptions
	frame geom.Rigid
	lat   column.Lattice
	alone *column.Solids // the half without plugs and holes
	base  int32          // quanta of the half's lowest point
	open  *hollow        // the half as it is
	made  []*hollow      // that one and others still in use
	found []foundAt      // of p.Cups: where each was found

	corners []float64 // of the mesh: how high along Build, worked out when first asked for
}

// cast chooses the lattice and casts the half.
func (w *printing) cast(room *clearance) error {
	box := geom.EmptyBox()
	for _, v := range w.mesh.Vertices {
		box = box.Include(w.frame.Turn(v))
	}
	h := printCell(box, finestPrint, maxPrintNodes)
	if w.o.Cell > 0 {
		h = printCell(box, w.o.Cell, maxNodes/8)
	}
	var err error
	if w.lat, err = column.NewLattice(w.frame, box, h); err != nil {
		return err
	}
	w.p.Cell = h
	w.base = w.lat.Quanta(w.p.Base)
	w.alone = column.Snap(w.lat, []*geom.Mesh{w.mesh}, nil)
	w.open = w.hollow(room, nil, nil)
	return nil
}

// printCell returns the pitch from finest up at which a box has at most so many
// nodes.
func printCell(box geom.Box, finest, most float64) float64 {
	s := box.Size()
	for h := finest; ; h *= 1.05 {
		if (s.X/h+4)*(s.Y/h+4)*(s.Z/h+4) <= most && max(s.X, s.Y, s.Z)/h < 8000 {
			return h
		}
	}
}

// height turns quanta along the build direction into mm above the platform's end
// of the half.
func (w *printing) height(q int32) float64 { return w.lat.Height(q) - w.p.Base }

// solid holds what the halves' facets are, apart from any direction.
type solid struct {
	mesh   *geom.Mesh
	area   []float64  // mm2 a facet
	normal []geom.Vec // outward unit normals
	mates  []int32
	around stars
	flat   []int32 // per facet: number of its flat face

	byFace, firstOf []int32 // facets face by face, and where each face begins
}
