package measure

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
)

// shares is how many goroutines take directions by default: more than four gain
// little and cost memory.
func shares() int { return min(runtime.GOMAXPROCS(0), 4) }

// face is what a stretch needs of the facet at its end, and the best that was found
// there: 32 bytes, for stretches come to facets in no order that memory could follow.
// Three numbers of four digits less serve to choose among samples; what is chosen is
// measured anew.
type face struct {
	normal [3]float32
	size   float32 // mm: its longest edge

	least float32 // mm: diameter of the best ball so far, rounded; Most where there is none
	on    int32   // facet opposite, plus 1; 0 where no column met the facet, unopposed where none found anything
	line  uint32  // direction and line of the best stretch
	z     int32   // quanta: the end of that stretch on the facet
}

const unopposed = -1

// lineBits are the bits of face.line that count lines: two numbers below 2^13.
const (
	lineBits       = 26
	mostDirections = 1 << (32 - lineBits)
)

// rounded leaves 12 binary digits of a diameter, 0.025 %: so of samples that find
// the same all but the first are done with at once.
func rounded(d float64) float32 {
	return math.Float32frombits(math.Float32bits(float32(d)) &^ (1<<11 - 1))
}

// take replaces the best ball by a better one, of equals by that of the earlier line.
func (f *face) take(least float32, on int32, line uint32, z int32) {
	if least < f.least || least == f.least && (line < f.line || line == f.line && z < f.z) {
		f.least, f.on, f.line, f.z = least, on+1, line, z
	}
}

// meet notes that a column met the facet.
func (f *face) meet() {
	if f.on == 0 {
		f.on = unopposed
	}
}

func (f *face) inward() geom.Vec {
	return geom.Vec{X: -float64(f.normal[0]), Y: -float64(f.normal[1]), Z: -float64(f.normal[2])}
}

// samples is the best of what was found at every facet.
type samples struct {
	faces    []face
	lattices []column.Lattice // by direction
}

// at returns the end of a facet's best stretch.
func (s *samples) at(f *face) geom.Vec {
	lat := &s.lattices[f.line>>lineBits]
	line := int(f.line & (1<<lineBits - 1))
	return lat.Point(lat.At(0, line/lat.N[1]), lat.At(1, line%lat.N[1]), f.z)
}

// lines returns n lines spread evenly over the half sphere (the spiral of Swinbank
// and Purser, 2006: equal steps of height, the golden angle around).
func lines(n int) []geom.Vec {
	golden := math.Pi * (3 - math.Sqrt(5))
	out := make([]geom.Vec, n)
	for i := range out {
		z := (float64(i) + 0.5) / float64(n)
		r := math.Sqrt(1 - float64(z*z))
		sin, cos := math.Sincos(float64(golden * float64(i)))
		const q = 1 << 40
		round := func(x float64) float64 { return math.Round(x*q) / q }
		out[i] = geom.Vec{X: round(r * cos), Y: round(r * sin), Z: round(z)}.Unit()
	}
	return out
}

// casting is what all directions share.
type casting struct {
	t      *Thickness
	given  *geom.Mesh
	box    geom.Box
	radius float64 // of the ball about the box's middle that holds the mesh
	ridge  []bool  // by given facet: a piece of it borders an inner edge
	pieces *pieces
}

// sample casts all directions, shared out to goroutines. Of all samples of a facet
// the one with the least ball wins, of equals that of the earliest line: so the
// answer does not depend on who looked at which direction.
func (t *Thickness) sample(given *geom.Mesh) (*samples, error) {
	dirs := lines(min(t.Options.Directions, mostDirections))
	box := given.Box()
	in := &casting{t, given, box, radiusOf(given, box), make([]bool, len(given.Facets)), newPieces(given, t.Mesh, t.Parent)}
	for f, r := range t.ridge {
		if r {
			in.ridge[t.Parent[f]] = true
		}
	}
	out := &samples{t.faces(), make([]column.Lattice, len(dirs))}
	n := max(1, min(t.Options.Shares, len(dirs)))
	list := make([]*sampler, n)
	for k := range list {
		list[k] = &sampler{casting: in, samples: samples{out.faces, out.lattices}}
		if k > 0 {
			list[k].faces = slices.Clone(out.faces)
		}
	}
	var group sync.WaitGroup
	for k, s := range list {
		group.Go(func() {
			for i := k; i < len(dirs) && s.err == nil; i += n {
				s.err = s.cast(i, dirs[i])
			}
		})
	}
	group.Wait()
	for k, s := range list {
		if s.err != nil {
			return nil, s.err
		}
		t.Samples += s.count
		if k > 0 {
			t.each(len(s.faces), func(from, to int) { merge(out.faces[from:to], s.faces[from:to]) })
		}
	}
	return out, nil
}

// merge takes what others found.
func merge(faces, others []face) {
	for f := range others {
		if c := &others[f]; c.on > 0 {
			faces[f].take(c.least, c.on-1, c.line, c.z)
		} else if faces[f].on == 0 {
			faces[f].on = c.on
		}
	}
}

// faces returns the facets with nothing found yet.
func (t *Thickness) faces() []face {
	out := make([]face, len(t.Normal))
	t.each(len(out), func(from, to int) {
		for f := from; f < to; f++ {
			n, tri := t.Normal[f], t.Mesh.Triangle(f)
			longest := max(tri.A.Sub(tri.B).Norm2(), tri.B.Sub(tri.C).Norm2(), tri.C.Sub(tri.A).Norm2())
			out[f] = face{normal: [3]float32{float32(n.X), float32(n.Y), float32(n.Z)}, size: float32(math.Sqrt(longest)), least: float32(t.Options.Most)}
		}
	})
	return out
}

// sampler collects the samples of some of the directions.
type sampler struct {
	*casting
	samples
	solid *column.Solids // of the given mesh
	lines column.Lines   // along the direction in hand
	lat   *column.Lattice
	d     geom.Vec
	code  uint32 // of its line 0
	line  int    // of the stretch in hand
	count int
	list  []wanted
	err   error

	touched float32 // keeps loads that are done early from being optimised away
}

// ahead is how many stretches are looked at one after the other in each of the three
// rounds, so that the waits for the facets at their ends overlap.
const ahead = 64

// cast samples along direction number k.
func (s *sampler) cast(k int, d geom.Vec) error {
	lat, err := s.t.lattice(d, s.box, s.radius)
	if err != nil {
		return err
	}
	s.lattices[k] = lat
	s.lat, s.d, s.code = &s.lattices[k], lat.Frame.Z, uint32(k)<<lineBits
	if s.solid == nil {
		s.solid = column.Snap(lat, []*geom.Mesh{s.given}, nil)
	} else {
		s.solid.Move(lat)
	}
	s.solid.CastInto(&s.lines, 2)
	s.line = 0
	for from := 0; from < len(s.lines.Lo); from += ahead {
		to := min(from+ahead, len(s.lines.Lo))
		s.touch(from, to)
		s.list = s.list[:0]
		for i := from; i < to; i++ {
			s.stretch(int32(i))
		}
		s.measure()
	}
	return nil
}

// touch loads the facets at the ends of stretches.
func (s *sampler) touch(from, to int) {
	x := float32(0)
	lo, hi := s.lines.LoFacet[from:to], s.lines.HiFacet[from:to]
	for i := range lo {
		x += s.faces[s.pieces.first(lo[i])].least + s.faces[s.pieces.first(hi[i])].least
	}
	s.touched += x
}
