// Package mold holds the facts of one job: the closed mold around the part, its
// cavity and channels, and what a pour at a given tilt fills. It judges nothing:
// what is acceptable is decided in package checks.
//
// The closed mold is worked out once, in the CAD frame (Close); every pour
// (Mold.Pour) turns the same facts so that up is the third axis.
package mold

import (
	"errors"
	"fmt"
	"math"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// Mold is the closed mold: part, halves, and the space between them sorted into
// cavity, channels and outside. All coordinates are in the CAD frame. It is not
// changed after Close; Pour may be called from several goroutines.
type Mold struct {
	Job    Job
	Part   Body
	Halves []Body

	Up       geom.Vec // of the pour, unit
	Rest     geom.Vec // up before tilting
	Cell     float64  // column pitch, mm
	CellWhy  string   // how the cell was chosen
	Seal     float64  // mm
	Skin     float64  // mm around the fitted part that still counts as cavity
	Reach    float64  // mm
	Fit      PartFit
	Pulls    []geom.Vec // per half
	Channels []Channel
	Stopped  []StoppedBore // by how much rubber is left
	Warnings []string

	fixed   *fixed // what does not change when a vent is tried out
	space   *column.Space
	labels  *labels
	walked  *walked
	nodes   channelNodes
	bores   []bore
	before  *Mold // the mold that With added bores to, nil otherwise
	molding moldingFaces
	prints  *prints

	pullFrom []pullFrom // of Pulls
}

// fixed is the part of a closed mold that trying out a vent does not change.
type fixed struct {
	halves   []*geom.Mesh
	joined   *geom.Mesh       // all halves in one mesh
	owner    []int32          // first facet of each half in joined, and the total
	trees    []*bvh.Tree      // of halves
	tree     *bvh.Tree        // of joined
	part     *geom.Mesh       // the part fitted to the cavity
	faced    func() facedPart // places on it and the halves' faces opposite, worked out when first asked for
	partTree *bvh.Tree
	outside  *outside
	near     *nearMap             // of the fitted part's surface
	chords   func() *geom.Chords  // of the fitted part, worked out when first asked for
	shells   func() *geom.Defects // of the fitted part, likewise
	box      geom.Box             // of halves and part
	coarse   standIns
	windows  seenWindows
}

// Limits of the cell by design: a third of the narrowest channel, within these.
const (
	finestCell   = 0.10
	coarsestCell = 0.25
	// maxNodes bounds the memory of one lattice: a label byte, four bits and the
	// runs of a node come to under 3 bytes, a pour needs about as much again, so
	// 6e8 nodes stay below 4 GB.
	maxNodes = 600_000_000
	// maxCrossings bounds what a cast holds of lines along one axis that meet the
	// halves: 16 bytes each as they are found, as much to sort them, and 16 as spans,
	// 2 GB.
	maxCrossings = 40_000_000
)

// ErrNoCavity says that the halves leave no room where the part should be.
var ErrNoCavity = errors.New("the halves leave no empty space where the part lies")

// Close works out the closed mold. Errors say what makes the answer meaningless.
func Close(job Job, part Body, halves []Body) (*Mold, error) {
	m := &Mold{Job: job, Part: part, Halves: halves}
	if len(halves) < 2 {
		return nil, fmt.Errorf("a closed mold needs at least two halves, got %d", len(halves))
	}
	m.stand()
	m.defaults()
	if s := m.box().Size(); max(s.X, s.Y, s.Z) > mostReaches*m.Reach {
		return nil, m.tooWide()
	}
	m.fixed = m.prepare()
	m.Fit = m.fitPart()
	m.Skin = max(m.Seal, 2*m.chordError(), 1.5*m.Fit.Quantile90)
	m.molding = make(moldingFaces, len(m.fixed.joined.Facets))
	m.prints = &prints{make([]halfPrint, len(halves))}
	var err error
	sideBySide(3, func(i int) {
		switch i {
		case 0:
			if m.fixed.outside = rollBall(m.fixed, m.Reach); m.fixed.outside == nil {
				err = m.tooWide()
			}
		case 1:
			m.Pulls = m.pulls()
		default:
			m.fixed.near = newNearMap(m.fixed.part, m.Skin)
		}
	})
	if err != nil {
		return nil, err
	}
	if err := m.addBores(job.Vents); err != nil {
		return nil, err
	}
	if err := m.chooseCell(); err != nil {
		return nil, err
	}
	m.assignRoles()
	m.Stopped = m.stoppedBores()
	return m, nil
}

// box holds part and halves.
func (m *Mold) box() geom.Box {
	b := m.Part.Mesh.Box()
	for i := range m.Halves {
		b = b.Union(m.Halves[i].Mesh.Box())
	}
	return b
}

// stand works out the pour's up from rest direction and tilt.
func (m *Mold) stand() {
	m.Rest = geom.Vec{Z: 1}
	if m.Job.Up != nil {
		m.Rest = m.Job.Up.Unit()
	}
	t := Tilt{}
	if m.Job.Tilt != nil {
		t = *m.Job.Tilt
	}
	m.Up = UpFor(m.Rest, t)
}

// UpFor returns the direction away from gravity in the mold's frame when the
// block, resting with rest up, is tilted by t: the side facing azimuth t.Side is
// raised by t.Angle. For a rest direction other than +Z the azimuth is measured
// in the frame carried by the shortest turn of +Z onto rest (for -Z: about X).
// Entries are rounded to 2^-40.
func UpFor(rest geom.Vec, t Tilt) geom.Vec {
	st, ct := math.Sincos(t.Angle)
	sa, ca := math.Sincos(t.Side)
	up := geom.Vec{X: roundAngle(st * ca), Y: roundAngle(st * sa), Z: roundAngle(ct)}
	return geom.FrameFor(rest).TurnBack(up).Unit()
}

// roundAngle rounds a trigonometric result to 2^-40, so that CPUs whose
// functions differ in the last bits agree.
func roundAngle(x float64) float64 {
	const q = 1 << 40
	return math.Round(x*q) / q
}

// TiltOf returns the tilt that stands the block with up, given its rest.
func TiltOf(rest, up geom.Vec) Tilt {
	d := geom.FrameFor(rest).Turn(up)
	t := Tilt{Angle: roundAngle(math.Atan2(math.Hypot(d.X, d.Y), d.Z))}
	if t.Angle > 1e-9 {
		t.Side = roundAngle(math.Atan2(d.Y, d.X))
		if t.Side < 0 {
			t.Side += 2 * math.Pi
		}
	} else {
		t.Angle = 0
	}
	return t
}

// chordError returns the largest chord error of the part and the halves.
func (m *Mold) chordError() float64 {
	e := m.Part.ChordError
	for _, h := range m.Halves {
		e = max(e, h.ChordError)
	}
	return e
}

func (m *Mold) defaults() {
	m.Seal, m.Reach = m.Job.Seal, m.Job.Reach
	if m.Seal == 0 {
		m.Seal = max(0.12, 2.4*m.chordError())
	}
	if m.Reach == 0 {
		m.Reach = 8
	}
}

func (m *Mold) prepare() *fixed {
	f := &fixed{joined: &geom.Mesh{}, box: m.box(), trees: treesOf(m.Halves)}
	vertices, facets := 0, 0
	for _, h := range m.Halves {
		vertices, facets = vertices+len(h.Mesh.Vertices), facets+len(h.Mesh.Facets)
	}
	f.joined.Vertices, f.joined.Facets = make([]geom.Vec, 0, vertices), make([][3]int32, 0, facets)
	for _, h := range m.Halves {
		f.halves = append(f.halves, h.Mesh)
		f.owner = append(f.owner, int32(len(f.joined.Facets)))
		f.joined.Append(h.Mesh)
	}
	f.owner = append(f.owner, int32(len(f.joined.Facets)))
	f.tree = bvh.Join(f.joined, f.trees...)
	return f
}

// half returns the number of the half that owns a facet of the joined mesh.
func (f *fixed) half(facet int32) int {
	h := 0
	for facet >= f.owner[h+1] {
		h++
	}
	return h
}

// chooseCell sorts the space at the coarsest cell, and again at a finer one
// where a channel found is narrower than three cells.
func (m *Mold) chooseCell() error {
	want, why := m.Job.Cell, "given"
	if want == 0 {
		want, why = coarsestCell, fmt.Sprintf("by rule: at most %.2f mm", coarsestCell)
	}
	for {
		cell := m.boundCell(want)
		if cell > want {
			why = fmt.Sprintf("coarsened from %.3f mm to stay within memory", want)
		}
		if err := m.sort(cell); err != nil {
			return err
		}
		m.Cell, m.CellWhy = cell, why
		if m.Job.Cell != 0 || cell > want {
			return nil
		}
		narrowest, need := math.Inf(1), math.Inf(1)
		for i := range m.Channels {
			// A bore stays connected at any slope with three lines across it, a slit with
			// one: runs of neighbouring columns overlap where it is wider than the pitch.
			n := m.Channels[i].Diameter / 3
			if m.Channels[i].Slit {
				n = 0.8 * m.Channels[i].Diameter
			}
			if n < need {
				narrowest, need = m.Channels[i].Diameter, n
			}
		}
		fine := min(max(need, finestCell), coarsestCell)
		if !(fine < 0.98*want) {
			return nil
		}
		want = fine
		why = fmt.Sprintf("by rule: a third of the narrowest channel (%.2f mm)", narrowest)
	}
}

// boundCell coarsens a cell until its lattice and the crossings of its lines with the
// halves fit the memory bound.
func (m *Mold) boundCell(h float64) float64 {
	s := m.fixed.box.Size()
	var facing seen
	for i := range m.Halves {
		facing.merge(m.Halves[i].amounts().shadow)
	}
	h = max(h, pitchFor(facing.value(), maxCrossings))
	for (s.X/h+4)*(s.Y/h+4)*(s.Z/h+4) > maxNodes || max(s.X, s.Y, s.Z)/h > 8000 {
		h *= 1.05
	}
	return h
}

// sort casts the columns at pitch h and sorts the space into cavity, channels
// and outside, then measures the channels.
func (m *Mold) sort(h float64) error {
	lat, err := column.NewLattice(geom.Identity(), m.fixed.box, h)
	if err != nil {
		return err
	}
	m.space = column.NewSpace(column.Snap(lat, m.fixed.halves, m.cuts()), m.Seal, m.openWay)
	if err := m.label(); err != nil {
		return err
	}
	m.measureChannels()
	return nil
}

// openWay tells whether the straight way from a to b crosses no surface of the
// halves, bores that are tried out taken as already drilled.
func (m *Mold) openWay(a, b geom.Vec) bool {
	if len(m.bores) == 0 {
		return !m.fixed.tree.Blocked(a, b)
	}
	d := b.Sub(a)
	n := d.Norm()
	if n == 0 {
		return true
	}
	for _, h := range m.fixed.tree.All(a, d.Scale(1/n), n, nil) {
		inBore := false
		for i := range m.bores {
			inBore = inBore || m.bores[i].holds(h.Point)
		}
		if !inBore {
			return false
		}
	}
	return true
}
