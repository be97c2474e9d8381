package mold

import (
	"math"
	"sync"

	"pourproof/geom"
)

// Closing says how the closed mold fits: half against half, and the part against
// the cavity. Lengths mm, areas mm2, volumes mm3, points in the CAD frame.
type Closing struct {
	// Tolerance is the largest distance at which two faces of this mold still
	// count as touching: the chord errors of both facets, and what coordinates are
	// rounded to in files. Each place is held against its own.
	Tolerance float64

	Overlaps      []Overlap // deepest first
	OverlapVolume float64
	OverlapDepth  float64

	Touching float64   // mm2 of parting face where halves touch or gap by less than the seal
	GapMax   float64   // largest gap between parting faces, keys left out; 0 where all touch
	GapAt    *geom.Vec // its place
	GapArea  float64   // mm2 with a gap beyond its tolerance
	Faces    []FaceMap // one for each two halves that meet
	Leaks    []Leak    // narrowest land first
	Keys     []Key
	Turns    []Turn // ways in which the mold can be closed wrongly
	NoKeys   bool   // nothing registers the halves: every turn of a like outline closes

	HalvesOffset *HalvesOffset // nil where nothing tells it

	Deviation Deviation // the fitted part against the cavity, all cavities
	Cavities  []Cavity  // one by one
	Features  []Feature // what one has and the other lacks, largest first
	Mirrored  bool      // the cavity is a mirrored copy of the part
	Cast      CastSize
	Sections  []Section // thin places of the part, thinnest first
	Stubs     []Stub
}

// Overlap is rubber of two halves in one place.
type Overlap struct {
	A, B   string
	Volume float64
	Depth  float64
	At     geom.Vec // where it is deepest
}

// Reversible tells whether the mold can be closed with a half turned or mirrored, so
// that a part would come out wrong or not at all.
func (c *Closing) Reversible() bool { return len(c.Turns) > 0 }

// LandMin returns the narrowest land, and false where no leak path exists.
func (c *Closing) LandMin() (float64, bool) {
	if len(c.Leaks) == 0 {
		return 0, false
	}
	return c.Leaks[0].Land, true
}

// fileRounding is what coordinates in mesh files may be rounded to, mm: text
// files are written with three decimals at worst, and two faces each lie up to
// half a step off, in each of up to three coordinates.
const fileRounding = 0.002

// closingPitch returns the pitch of the lines that look at the parting faces:
// a 4 mm key is met by more than a hundred, and the longest side by at most 480,
// so that the work is bounded whatever the size. Widths do not depend on it.
func (m *Mold) closingPitch() float64 {
	s := m.fixed.box.Size()
	return max(coarsestCell, max(s.X, s.Y, s.Z)/480)
}

// Closing works out how the mold fits. It may be called from several goroutines;
// cost grows with facets + lines + samples.
func (m *Mold) Closing() (*Closing, error) {
	c := &Closing{}
	var partSide error
	var group sync.WaitGroup
	group.Go(func() {
		m.compare(c)
		c.Sections, partSide = thinSections(m.Part.Mesh)
	})
	err := m.halfAgainstHalf(c)
	group.Wait()
	if err != nil {
		return nil, err
	}
	if partSide != nil {
		return nil, partSide
	}
	c.Cast = m.castSize()
	c.Stubs = m.stubs(c)
	return c, nil
}

// halfAgainstHalf fills in what concerns the halves alone.
func (m *Mold) halfAgainstHalf(c *Closing) error {
	l, err := m.newLineup(m.Pulls[0], m.closingPitch())
	if err != nil {
		return err
	}
	meet, over := l.meetings(m)
	c.Tolerance = meet.tolerance
	m.overlaps(c, over)
	for _, pair := range meet.pairs(len(m.Halves)) {
		face, err := m.faceMap(pair)
		if err != nil {
			return err
		}
		keys := m.keysOf(face, pair)
		c.Keys = append(c.Keys, keys...)
		c.Turns = append(c.Turns, m.turnsOf(face, keys)...)
		c.Faces = append(c.Faces, *face)
	}
	c.NoKeys = len(c.Keys) == 0
	c.gaps(meet.list, m.fixed.part.Box().Center())
	c.Leaks = m.leaks(meet.list, l.lat.Pitch())
	c.HalvesOffset = m.halvesOffset(meet.list)
	return nil
}

// gaps finds the largest gap between parting faces. Meetings inside a key are
// its clearance.
func (c *Closing) gaps(list []meeting, middle geom.Vec) {
	least := math.Inf(1)
	for i := range list {
		s := &list[i]
		if s.inKey {
			continue
		}
		if s.gap <= s.tol {
			c.Touching += s.area
			continue
		}
		c.GapArea += s.area
		// Of gaps equal to a micrometre the place nearest to the part's middle counts,
		// of equals the first in order.
		g, far := math.Round(s.gap*1000)/1000, math.Round(s.p.Dist(middle)*1000)
		if g > c.GapMax || g == c.GapMax && c.GapAt != nil && (far < least || far == least && s.p.Less(*c.GapAt)) {
			p := s.p
			c.GapMax, c.GapAt, least = g, &p, far
		}
	}
}
