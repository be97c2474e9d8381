package meshio

import (
	"fmt"
	"math"
	"strings"

	"pourproof/geom"
)

// textSTLReader holds what a text STL leaves open from one line to the next. Only
// the corners matter; the words around them are checked just enough to notice a
// facet with too few or too many corners, so that upper case, blanks inside
// "end solid" and missing "endfacet" lines do no harm.
type textSTLReader struct {
	file    *File
	lines   *lines
	weld    *geom.Welder32
	normal  geom.Vec32 // of the facet under way; zero where it states none
	corner  [3]geom.Vec32
	waiting []geom.Vec32 // corners that are yet to be welded
	corners int          // seen of the facet under way
	facets  int
	against int  // facets whose stated normal points against their corner order
	solid   bool // inside a solid that has not been ended
	inSolid int  // facets of this solid
	begun   bool // a facet has begun and has no third corner yet
}

// readTextSTL reads all solids of a text STL as one body.
func (f *File) readTextSTL(in *input) error {
	l, err := newLines(in)
	if err != nil {
		return err
	}
	// A facet takes at least about 100 bytes; more are added as they come.
	r := &textSTLReader{file: f, lines: l, weld: geom.NewWelder32(int(min(f.Size/200, MaxFacets)))}
	for {
		line, ok, err := l.next()
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		if err := r.line(line); err != nil {
			return err
		}
	}
	return r.finish()
}

// line takes one line. A name may hold any words, so solid and endsolid use up
// their line; other words may stand on one line or on many.
func (r *textSTLReader) line(line []byte) error {
	for {
		var w []byte
		if w, line = word(line); len(w) == 0 {
			return nil
		}
		switch key := lowerKey(w); key {
		case "vertex":
			var err error
			if line, err = r.vertex(line); err != nil {
				return err
			}
		case "facet":
			if err := r.boundary(); err != nil {
				return err
			}
			if !r.solid {
				r.solid, r.inSolid = true, 0
			}
			r.begun, r.normal = true, geom.Vec32{}
		case "normal":
			r.normal, line = statedNormal(line)
		case "outer", "loop", "endloop", "endfacet":
			if err := r.boundary(); err != nil {
				return err
			}
		case "end": // "end loop", "end solid"
			next, rest := word(line)
			if lowerKey(next) != "solid" {
				line = rest
				continue
			}
			r.solid = false
			return r.boundary()
		case "endsolid":
			r.solid = false
			return r.boundary()
		case "solid":
			r.solid, r.inSolid = true, 0
			return r.boundary()
		case "color", "#", "//":
			return nil
		default:
			switch {
			case r.endsHere() && strings.HasPrefix("endsolid", key):
				return nil
			case r.endsHere():
				return r.lines.fault("the file ends with "+quote(w), remedyCopy)
			}
			return r.lines.fault("unknown word "+quote(w), remedyExport)
		}
	}
}

// endsHere reports whether the line under way is the file's last.
func (r *textSTLReader) endsHere() bool {
	return len(r.lines.rest) == 0 && r.lines.in.off == r.lines.in.size
}

// boundary is a word between facets or around a loop: the facet before it has
// three corners, or none has begun.
func (r *textSTLReader) boundary() error {
	if r.corners != 0 && r.corners != 3 {
		return r.lines.fault(fmt.Sprintf("facet %d has %d corners", r.facets+1, r.corners), remedyExport)
	}
	r.corners = 0
	return nil
}

// vertex reads the three numbers of a corner and adds the facet with its third.
func (r *textSTLReader) vertex(line []byte) (rest []byte, err error) {
	if r.corners == 3 {
		return nil, r.lines.fault(fmt.Sprintf("facet %d has more than three corners", r.facets), "export it as triangles")
	}
	var at [3]float32
	for i := range at {
		var w []byte
		if w, line = word(line); len(w) == 0 {
			if r.endsHere() {
				return nil, r.lines.fault("the file ends inside a corner", remedyCopy)
			}
			return nil, r.lines.fault("a corner has fewer than three numbers", remedyExport)
		}
		number, ok := parseNumber(w)
		if !ok {
			return nil, r.lines.fault(numberFault(w))
		}
		// STL is float32 by nature; a text with more digits must weld like its
		// binary twin.
		x := float32(number)
		if at[i] = x; math.IsInf(float64(x), 0) {
			return nil, r.lines.fault(quote(w)+" is too large for a coordinate", remedyExport)
		}
	}
	r.corner[r.corners] = geom.Vec32{X: at[0], Y: at[1], Z: at[2]}
	if r.corners++; r.corners == 3 {
		r.add()
		if r.facets > MaxFacets {
			return nil, r.file.refuseSize(int64(r.facets))
		}
	}
	return line, nil
}

func (r *textSTLReader) add() {
	if mayFaceAway(&r.corner, &r.normal) && facesAway(&r.corner, &r.normal) {
		r.against++
	}
	if r.waiting = append(r.waiting, r.corner[:]...); len(r.waiting) >= 3*stlBatch {
		r.weld.Add(r.waiting)
		r.waiting = r.waiting[:0]
	}
	r.facets++
	r.inSolid++
	r.begun = false
}

// statedNormal reads the three numbers after "normal". A normal that cannot be
// read is no fault and counts as none stated.
func statedNormal(line []byte) (normal geom.Vec32, rest []byte) {
	var n [3]float32
	whole := true
	for i := range n {
		w, after := word(line)
		if key := lowerKey(w); key == "outer" || key == "vertex" {
			return geom.Vec32{}, line
		}
		number, ok := parseNumber(w)
		n[i], whole, line = float32(number), whole && ok, after
	}
	if !whole {
		return geom.Vec32{}, line
	}
	return geom.Vec32{X: n[0], Y: n[1], Z: n[2]}, line
}

// textKeys holds the words of a text STL by their length.
var textKeys = [9][]string{3: {"end"}, 4: {"loop"}, 5: {"facet", "outer", "solid", "color"}, 6: {"vertex", "normal"},
	7: {"endloop"}, 8: {"endfacet", "endsolid"}}

// lowerKey returns a word in lower case; a word longer than any keyword is
// returned as one that is not known.
func lowerKey(w []byte) string {
	if len(w) >= len(textKeys) {
		return "?"
	}
	for _, key := range textKeys[len(w)] {
		same := true
		for i := range w {
			same = same && w[i]|0x20 == key[i] // maps only A-Z and a few signs that no keyword has
		}
		if same {
			return key
		}
	}
	return strings.ToLower(string(w))
}

// finish judges the end of the file. A file without a last endsolid is whole only
// if its surface is closed.
func (r *textSTLReader) finish() error {
	switch {
	case r.begun || r.corners != 0 && r.corners != 3:
		return r.lines.fault("the file ends inside a facet", remedyCopy)
	case r.facets == 0:
		return r.lines.fault("the file holds no facets", remedyExport)
	case r.solid && r.inSolid == 0:
		return r.lines.fault("the file ends inside a solid that has no facets yet", remedyCopy)
	}
	r.weld.Add(r.waiting)
	mesh := r.weld.Mesh()
	if r.solid {
		if !geom.Inspect(mesh).Closed() {
			return r.lines.fault(fmt.Sprintf("the file ends after facet %d without endsolid, and the surface is open", r.facets), remedyCopy)
		}
		r.file.warn("no-endsolid", "the file does not end with endsolid; the surface is closed, so it is taken as whole")
	}
	r.file.warnNormals(r.against, r.facets)
	r.file.Bodies = []Body{{Mesh: mesh}}
	return nil
}
