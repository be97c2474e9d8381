package mold

import (
	"math"

	"pourproof/geom"
)

// Stub is what stays on the cast part after demolding: where a gate or a vent was
// cut off, and the line where the halves met.
type Stub struct {
	What    string // gate 1, vent 2, parting line
	Channel int    // 0 for the parting line
	Area    float64
	Length  float64 // of the parting line, mm; 0 for a stub
	At      geom.Vec
	Normal  geom.Vec // of the part there
	Show    string   // the show face it stands on, empty for none
}

// CastSize says how large the cast part comes out. The two errors are kept apart:
// the printer makes the cavity smaller or larger than drawn, then the resin
// shrinks in it.
type CastSize struct {
	Drawn  geom.Vec // of the part
	Cavity geom.Vec // as the halves are drawn
	Print  float64  // size printed over size drawn
	Shrink float64  // linear share that the resin loses
	Size   geom.Vec // expected
}

// stubs lists what will stand on the part.
func (m *Mold) stubs(c *Closing) []Stub {
	var out []Stub
	for i := range m.Channels {
		ch := &m.Channels[i]
		if ch.Slit {
			continue // flash, which the gap stands for
		}
		s := Stub{What: channelName(ch), Channel: ch.ID, At: ch.Mouth, Area: m.mouthArea(ch)}
		s.Normal = m.fixed.normalAt(ch.Mouth)
		s.Show = m.showFace(s.At, s.Normal)
		out = append(out, s)
	}
	return append(out, m.partingLines(c)...)
}

// normalAt returns the mean normal of the part's facets around a place of its
// surface: on an edge of theirs no facet comes first.
func (f *fixed) normalAt(p geom.Vec) geom.Vec {
	const around = 0.02 // mm
	var sum geom.Vec
	f.partTree.Overlapping(geom.Box{Min: p, Max: p}.Grow(around), func(facet int32) {
		if t := f.part.Triangle(int(facet)); t.Closest(p).Dist(p) <= around {
			sum = sum.Add(t.Normal())
		}
	})
	return sum.Unit()
}

// mouthRays is the number of lines that measure a mouth: of a square's area they
// miss 0.1 %.
const mouthRays = 128

// mouthArea returns the cross-section of a channel just beyond its mouth, square
// to its axis, as far as it is seen from its middle.
func (m *Mold) mouthArea(c *Channel) float64 {
	round := math.Pi / 4 * c.MouthDiameter * c.MouthDiameter
	if c.Tried || c.Axis == (geom.Vec{}) {
		return round
	}
	// Beyond the skin and a slanting mouth, where rubber is all around.
	p := c.Mouth.AddScaled(c.Axis, min(m.Skin+0.1+c.MouthDiameter/2, max(c.Length/2, m.Skin)))
	u, v := c.Axis.Perpendicular()
	far := 1.5 * c.MouthDiameter // of a mouth in a corner the other side is no wall
	sum := 0.0
	for k := 0; k < mouthRays; k++ {
		s, co := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / mouthRays)
		r := far
		if h, ok := m.fixed.tree.First(p, u.Scale(roundAngle(co)).AddScaled(v, roundAngle(s)).Unit(), far); ok {
			r = h.Dist
		}
		sum += float64(r * r)
	}
	return math.Round(math.Pi/mouthRays*sum*1e4) / 1e4
}

// partingLines measures, pair by pair, the line on the part where two halves
// meet: edges of map cells between the face and the part, each as long as a cell
// times what a slanting line's steps are longer than it (pi/4 on average over all
// directions; Cauchy 1832, Crofton 1868), along axes 1.
func (m *Mold) partingLines(c *Closing) []Stub {
	var out []Stub
	for i := range c.Faces {
		f := &c.Faces[i]
		line := f.borders()
		if len(line.at) == 0 {
			continue
		}
		s := Stub{What: "parting line", Length: line.length, At: line.at[0]}
		for _, p := range line.at {
			h, ok := m.fixed.partTree.Nearest(p, math.Inf(1))
			if !ok {
				continue
			}
			n := m.fixed.normalAt(h.Point)
			if name := m.showFace(h.Point, n); name != "" {
				s.Show, s.At, s.Normal = name, h.Point, n
				break
			}
		}
		s.Area = s.Length * max(line.gap, 0)
		out = append(out, s)
	}
	return out
}

// border is the line between the face and the part.
type border struct {
	at     []geom.Vec // on the face's side
	length float64
	gap    float64 // largest beside it
}

// borders walks a face map. The steps of a digital line along direction t are
// |cos t| + |sin t| times as long as the line; the local direction comes from the
// steps within a window around each.
func (f *FaceMap) borders() border {
	var b border
	step := make([]uint8, len(f.Kind)) // steps of the border beside a cell, along u and v
	for c, k := range f.Kind {
		if k != Facing {
			continue
		}
		n := 0
		f.around(c, func(d int) {
			if d >= 0 && f.Kind[d] == OverPart {
				if abs32(int32(d-c)) == 1 { // the edge between them runs along u
					step[c] |= 1 << 4
				} else {
					step[c] |= 1
				}
				n++
			}
		})
		if n > 0 {
			b.at = append(b.at, f.At(c/f.NV, c%f.NV, float64(f.LowA[c])))
			b.gap = max(b.gap, float64(f.Gap[c]))
		}
	}
	const window = 3
	for c := range f.Kind {
		if step[c] == 0 {
			continue
		}
		su, sv := 0.0, 0.0
		u, v := c/f.NV, c%f.NV
		for x := max(u-window, 0); x <= min(u+window, f.NU-1); x++ {
			for y := max(v-window, 0); y <= min(v+window, f.NV-1); y++ {
				s := step[x*f.NV+y]
				su += float64(s >> 4)
				sv += float64(s & 15)
			}
		}
		own := float64(step[c]>>4) + float64(step[c]&15)
		b.length += own * f.Pitch * math.Sqrt(float64(su*su)+float64(sv*sv)) / (su + sv)
	}
	return b
}

// showFace returns the name of the show face that a place of the part lies on, empty
// for none; n is the part's outward normal there.
func (m *Mold) showFace(p, n geom.Vec) string { return m.showName(m.showFaceAt(p, n)) }

// showFaceAt returns the number, from 1, of the first show face of the job that a
// place of the part lies on, 0 for none.
func (m *Mold) showFaceAt(p, n geom.Vec) int {
	for i := range m.Job.Show {
		if m.Job.Show[i].holds(p, n) {
			return i + 1
		}
	}
	return 0
}

// showName is what reports call show face number i.
func (m *Mold) showName(i int) string {
	switch {
	case i == 0:
		return ""
	case m.Job.Show[i-1].Name != "":
		return m.Job.Show[i-1].Name
	}
	return "show face " + itoa(i)
}

// holds tells whether a place with outward normal n is on the show face.
func (s *ShowFace) holds(p, n geom.Vec) bool {
	if b := s.Box; len(b) == 6 {
		box := geom.Box{Min: geom.Vec{X: b[0], Y: b[1], Z: b[2]}, Max: geom.Vec{X: b[3], Y: b[4], Z: b[5]}}
		if !box.Contains(p) {
			return false
		}
	}
	if s.Direction != nil {
		within := s.Within
		if within == 0 {
			within = 20 * math.Pi / 180
		}
		if n.Dot(s.Direction.Unit()) < roundAngle(math.Cos(within)) {
			return false
		}
	}
	return s.Box != nil || s.Direction != nil
}

// castSize predicts the size of the cast part along x, y and z.
func (m *Mold) castSize() CastSize {
	c := CastSize{Drawn: m.Part.Mesh.Box().Size(), Cavity: m.fixed.part.Box().Size(), Print: 1 - m.Job.Printer.Undersize/100, Shrink: m.Job.Liquid.ShrinkPercent / 100}
	c.Size = c.Cavity.Scale(c.Print * (1 - c.Shrink))
	return c
}
