package report

import (
	"bytes"
	"fmt"
	"image/color"
	"math"

	"pourproof/checks"
	"pourproof/geom"
	"pourproof/geom/meshio"
	"pourproof/report/render"
)

// marked.3mf holds part and halves in the CAD frame, coloured where a finding is,
// and one object a finding: a ball at its place, a pin to above the block, and its
// number. Colours of severity differ in lightness too: red dark, amber light, blue
// between.

// The palette of marked.3mf, by index.
const (
	inkResin = iota
	inkRubber1
	inkRubber2
	inkStop
	inkDiscuss
	inkNote
	inkAccepted
)

var markedPalette = []meshio.PaletteColor{
	{Name: "part", Color: render.Resin}, {Name: "half", Color: render.Rubber1}, {Name: "other half", Color: render.Rubber2},
	{Name: "stop", Color: render.Strong}, {Name: "discuss", Color: color.RGBA{0xf2, 0xcf, 0x7c, 0xff}}, {Name: "note", Color: noteInk},
	{Name: "accepted", Color: quietInk},
}

// maxMarkers bounds the markers; findings are in order of harm.
const maxMarkers = 200

// Marked returns marked.3mf, nil without a closed mold. Linear in facets times
// findings with a place.
func Marked(d *Document) ([]byte, error) {
	s := d.studio()
	if s == nil {
		return nil, nil
	}
	bodies := []meshio.ColoredBody{s.markedPart(d)}
	for i := range s.mold.Halves {
		bodies = append(bodies, s.markedHalf(d, i))
	}
	bodies = append(bodies, s.markers(d)...)
	var b bytes.Buffer
	err := meshio.WriteThreeMF(&b, d.Title+", findings of "+ToolName, markedPalette, bodies)
	return b.Bytes(), err
}

func markInk(f *checks.Finding) uint8 {
	switch {
	case f.Accepted != nil:
		return inkAccepted
	case f.Severity == checks.Stop:
		return inkStop
	case f.Severity == checks.Discuss:
		return inkDiscuss
	}
	return inkNote
}

// markedPart is the part with the surface in colour that air touches, cut where the
// resin stands, and the places of its other findings.
func (s *studio) markedPart(d *Document) meshio.ColoredBody {
	m := s.mold.FittedPart()
	body := meshio.ColoredBody{Name: d.bodyName(0, "part"), About: "The part as it lies in the mold.", Mesh: m, Color: inkResin}
	if s.stained != nil {
		body.Mesh = s.stained.mesh
	}
	body.Facet = d.near(body.Mesh, body.Name, inkResin)
	if s.stained == nil {
		return body
	}
	for f, of := range s.stained.of {
		if of > 0 {
			body.Facet[f] = inkDiscuss
			if g := d.airFinding(s.fill.Pockets[of-1].ID); g != nil {
				body.Facet[f] = markInk(g)
			}
		}
	}
	return body
}

func (d *Document) airFinding(pocket int) *checks.Finding {
	for i := range d.Outcome.Findings {
		if f := &d.Outcome.Findings[i]; f.Check == "air" && f.Pocket == pocket {
			return f
		}
	}
	return nil
}

func (s *studio) markedHalf(d *Document, i int) meshio.ColoredBody {
	h := &s.mold.Halves[i]
	ink := uint8(inkRubber1 + i%2)
	return meshio.ColoredBody{Name: h.Name, About: "A half in its place.", Mesh: h.Mesh, Color: ink, Facet: d.near(h.Mesh, h.Name, ink)}
}

// bodyName is the name of the i-th input.
func (d *Document) bodyName(i int, otherwise string) string {
	if i < len(d.Outcome.Inputs) {
		return d.Outcome.Inputs[i].Name
	}
	return otherwise
}

// near colours the facets that lie within touch of the place of a finding about a
// body, the most harmful last.
func (d *Document) near(m *geom.Mesh, name string, base uint8) []uint8 {
	const touch = 0.75 // mm: a finding's place is known to better than that
	out := bytes.Repeat([]byte{base}, len(m.Facets))
	for i := min(len(d.Outcome.Findings), maxMarkers) - 1; i >= 0; i-- {
		f := &d.Outcome.Findings[i]
		if f.Where.At == nil || f.Where.Body != name {
			continue
		}
		at := *f.Where.At
		for k := range m.Facets {
			t := m.Triangle(k)
			lo, hi := t.A.Min(t.B).Min(t.C), t.A.Max(t.B).Max(t.C)
			if at.X < lo.X-touch || at.Y < lo.Y-touch || at.Z < lo.Z-touch || at.X > hi.X+touch || at.Y > hi.Y+touch || at.Z > hi.Z+touch {
				continue
			}
			if t.Closest(at).Dist(at) <= touch {
				out[k] = markInk(f)
			}
		}
	}
	return out
}

// markers are the balls, pins and numbers.
func (s *studio) markers(d *Document) []meshio.ColoredBody {
	frame := geom.FrameFor(s.mold.Rest)
	block := geom.EmptyBox()
	for _, p := range s.box.Corners() {
		block = block.Include(frame.Turn(p))
	}
	size := min(max(0.07*block.Diagonal(), 3), 12) // of a number, mm
	var out []meshio.ColoredBody
	var taken []geom.Box
	for i := range d.Outcome.Findings {
		f := &d.Outcome.Findings[i]
		if f.Where.At == nil || len(out) == maxMarkers {
			continue
		}
		m := &marker{frame: frame, mesh: &geom.Mesh{}, size: size}
		at := frame.Turn(*f.Where.At)
		plate := m.plate(f.ID, at, block.Max.Z+float64(0.6*size))
		for clash := true; clash; {
			clash = false
			for _, t := range taken {
				if t.Touches(plate) {
					lift := t.Max.Z + float64(0.2*size) - plate.Min.Z
					plate.Min.Z, plate.Max.Z, clash = plate.Min.Z+lift, plate.Max.Z+lift, true
				}
			}
		}
		taken = append(taken, plate)
		m.ball(at, 0.22*size)
		m.bar(at.Add(geom.Vec{X: -0.04 * size, Y: -0.04 * size}), geom.Vec{X: at.X + float64(0.04*size), Y: at.Y + float64(0.04*size), Z: plate.Min.Z + float64(0.02*size)})
		m.number(f.ID, plate)
		out = append(out, meshio.ColoredBody{Name: fmt.Sprintf("%d %s: %s", f.ID, f.Severity, f.Title), About: f.Advice, Mesh: m.mesh, Color: markInk(f)})
	}
	return out
}

// marker builds one finding's marker in a frame whose third axis points up while the
// block rests: x to the right and y away from the reader of the number.
type marker struct {
	frame geom.Rigid
	mesh  *geom.Mesh
	size  float64 // height of a digit, mm
}

func (m *marker) add(v geom.Vec) { m.mesh.Vertices = append(m.mesh.Vertices, m.frame.TurnBack(v)) }

// bar adds a box.
func (m *marker) bar(lo, hi geom.Vec) {
	n := int32(len(m.mesh.Vertices))
	for _, v := range (geom.Box{Min: lo, Max: hi}).Corners() {
		m.add(v)
	}
	for _, f := range [12][3]int32{{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4}, {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}} {
		m.mesh.Facets = append(m.mesh.Facets, [3]int32{n + f[0], n + f[1], n + f[2]})
	}
}

// ball adds a sphere of 12 by 6 patches.
func (m *marker) ball(at geom.Vec, r float64) {
	const around, down = 12, 6
	n := int32(len(m.mesh.Vertices))
	m.add(at.Add(geom.Vec{Z: r}))
	for j := 1; j < down; j++ {
		sin, cos := math.Sincos(math.Pi * float64(j) / down)
		for i := range around {
			s, c := math.Sincos(2 * math.Pi * float64(i) / around)
			m.add(at.Add(geom.Vec{X: float64(r * sin * c), Y: float64(r * sin * s), Z: float64(r * cos)}))
		}
	}
	m.add(at.Add(geom.Vec{Z: -r}))
	ring := func(j, i int) int32 { return n + 1 + int32((j-1)*around+i%around) }
	last := n + 1 + (down-1)*around
	for i := range around {
		m.mesh.Facets = append(m.mesh.Facets, [3]int32{n, ring(1, i), ring(1, i+1)}, [3]int32{last, ring(down-1, i+1), ring(down-1, i)})
		for j := 1; j < down-1; j++ {
			m.mesh.Facets = append(m.mesh.Facets, [3]int32{ring(j, i), ring(j+1, i), ring(j+1, i+1)}, [3]int32{ring(j, i), ring(j+1, i+1), ring(j, i+1)})
		}
	}
}

// The digits are written with up to seven bars, from the top, then clockwise, the
// middle one last.
var digitBars = [10]string{"1111110", "0110000", "1101101", "1111001", "0110011", "1011011", "1011111", "1110000", "1111111", "1111011"}

const (
	digitWide = 0.55 // of its height
	digitStep = 0.8
	digitBar  = 0.13
)

// plate is the room that a number takes, standing at height z over a place.
func (m *marker) plate(n int, at geom.Vec, z float64) geom.Box {
	digits := len(fmt.Sprint(n))
	w := float64(m.size * (float64(digitStep*float64(digits-1)) + digitWide))
	d := m.size * digitBar / 2
	return geom.Box{Min: geom.Vec{X: at.X - w/2, Y: at.Y - d, Z: z}, Max: geom.Vec{X: at.X + w/2, Y: at.Y + d, Z: z + m.size}}
}

// number writes a number into its plate.
func (m *marker) number(n int, plate geom.Box) {
	h, w, t := m.size, float64(m.size*digitWide), float64(m.size*digitBar)
	for k, c := range fmt.Sprint(n) {
		x, z := plate.Min.X+float64(float64(k)*m.size*digitStep), plate.Min.Z
		bars := [7][4]float64{ // x, z from, x, z to
			{t, h - t, w - t, h}, {w - t, h / 2, w, h}, {w - t, 0, w, h / 2}, {t, 0, w - t, t},
			{0, 0, t, h / 2}, {0, h / 2, t, h}, {t, (h - t) / 2, w - t, (h + t) / 2}}
		for i, b := range bars {
			if digitBars[c-'0'][i] == '1' {
				m.bar(geom.Vec{X: x + b[0], Y: plate.Min.Y, Z: z + b[1]}, geom.Vec{X: x + b[2], Y: plate.Max.Y, Z: z + b[3]})
			}
		}
	}
}
