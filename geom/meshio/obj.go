package meshio

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"pourproof/geom"
)

// objReader gathers vertices and polygons; polygons are cut into triangles at the
// end, for a face may name a vertex that comes after it.
type objReader struct {
	file     *File
	lines    *lines
	vertices []geom.Vec
	corners  []int32 // vertex indices of all polygons, one after the other
	polygons []objPolygon
	bodies   []objBody
	bodyOf   map[objBody]int32
	body     int32 // of the polygons being read
	objects  bool  // the file uses "o": then "g" only marks parts of an object
	joined   []byte
	skipped  int // polygons of fewer than three different corners
	unknown  int // lines that begin with no word of the format
}

type objPolygon struct {
	end  int32 // of its corners
	line int32
	body int32
}

type objBody struct {
	name   string
	object bool // begun by "o"
}

// readOBJ reads polygons. Objects become bodies, or groups where there are no
// objects, if each of them is closed by itself; otherwise all are one body.
func (f *File) readOBJ(in *input) error {
	l, err := newLines(in)
	if err != nil {
		return err
	}
	r := &objReader{file: f, lines: l, bodies: []objBody{{}}, bodyOf: map[objBody]int32{}}
	for {
		line, ok, err := r.next()
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

// next returns the next line with its continuations, which end in a backslash.
func (r *objReader) next() (line []byte, ok bool, err error) {
	line, ok, err = r.lines.next()
	if err != nil || !ok || !continues(line) {
		return line, ok, err
	}
	r.joined = r.joined[:0]
	for ok && continues(line) {
		line = bytes.TrimRight(line, " \t\r")
		r.joined = append(append(r.joined, line[:len(line)-1]...), ' ')
		if len(r.joined) > maxLine {
			return nil, false, r.lines.fault("the line is longer than a megabyte", remedyExport)
		}
		if line, ok, err = r.lines.next(); err != nil {
			return nil, false, err
		}
	}
	r.joined = append(r.joined, line...)
	return r.joined, true, nil
}

func continues(line []byte) bool {
	line = bytes.TrimRight(line, " \t\r")
	return len(line) > 0 && line[len(line)-1] == '\\'
}

// objIgnored are words whose lines say nothing of the shape.
var objIgnored = map[string]bool{"vt": true, "vn": true, "vp": true, "s": true, "mg": true, "l": true, "p": true,
	"mtllib": true, "usemtl": true, "usemap": true, "maplib": true, "bevel": true, "c_interp": true,
	"d_interp": true, "lod": true, "shadow_obj": true, "trace_obj": true}

func (r *objReader) line(line []byte) error {
	w, rest := word(line)
	if len(w) == 0 || w[0] == '#' {
		return nil
	}
	switch string(w) {
	case "v":
		return r.vertex(rest)
	case "f", "fo":
		return r.polygon(rest)
	case "o", "g":
		r.begin(string(bytes.TrimSpace(rest)), w[0] == 'o')
		return nil
	case "surf", "curv", "curv2", "cstype":
		return r.lines.fault("the file holds free-form curves or surfaces", "export it as polygons or triangles")
	}
	if !objIgnored[string(w)] {
		if r.unknown++; r.unknown == 1 {
			r.file.warn("unknown-word", "line %d begins with the unknown word %s; such lines are ignored", r.lines.number, quote(w))
		}
	}
	return nil
}

// begin starts or resumes a body. The first "o" ends the use of "g".
func (r *objReader) begin(name string, object bool) {
	if object && !r.objects {
		r.objects = true
	} else if !object && r.objects {
		return
	}
	b := objBody{name, object}
	i, seen := r.bodyOf[b]
	if !seen {
		i = int32(len(r.bodies))
		r.bodies, r.bodyOf[b] = append(r.bodies, b), i
	}
	r.body = i
}

// vertex reads three numbers; what follows (a weight, a colour) is ignored.
func (r *objReader) vertex(rest []byte) error {
	var v geom.Vec
	for _, x := range [3]*float64{&v.X, &v.Y, &v.Z} {
		var w []byte
		if w, rest = word(rest); len(w) == 0 {
			return r.lines.fault("a vertex has fewer than three numbers", remedyExport)
		}
		number, ok := parseNumber(w)
		if !ok {
			return r.lines.fault(numberFault(w))
		}
		if *x = number; math.Abs(number) > math.MaxFloat32 {
			return r.lines.fault(quote(w)+" is too large for a coordinate", remedyExport)
		}
	}
	if len(r.vertices) >= math.MaxInt32 {
		return r.lines.fault("more vertices than can be counted", "export it coarser")
	}
	r.vertices = append(r.vertices, v)
	return nil
}

// polygon reads the corners of one face, each vertex[/texture[/normal]].
func (r *objReader) polygon(rest []byte) error {
	start := len(r.corners)
	for {
		var w []byte
		if w, rest = word(rest); len(w) == 0 || w[0] == '#' {
			break
		}
		if i := bytes.IndexByte(w, '/'); i >= 0 {
			w = w[:i]
		}
		i, err := r.index(w)
		if err != nil {
			return err
		}
		if n := len(r.corners); n > start && r.corners[n-1] == i {
			continue
		}
		r.corners = append(r.corners, i)
	}
	for len(r.corners)-start > 1 && r.corners[len(r.corners)-1] == r.corners[start] {
		r.corners = r.corners[:len(r.corners)-1]
	}
	n := len(r.corners) - start
	switch {
	case n < 3:
		r.corners = r.corners[:start]
		r.skipped++
		return nil
	case n > maxCorners:
		return r.lines.fault(fmt.Sprintf("a polygon has %d corners, more than %d", n, maxCorners), "export it as triangles")
	case len(r.corners) > math.MaxInt32:
		return r.file.refuseSize(int64(len(r.corners)))
	}
	r.polygons = append(r.polygons, objPolygon{int32(len(r.corners)), int32(r.lines.number), r.body})
	return nil
}

// index reads a vertex number: from 1, or negative to count back from the last
// vertex read so far. It returns the index from 0.
func (r *objReader) index(w []byte) (int32, error) {
	i, err := strconv.ParseInt(string(w), 10, 32)
	if err != nil || i == 0 {
		return 0, r.lines.fault(quote(w)+" is not a vertex number", remedyExport)
	}
	if i > 0 {
		return int32(i - 1), nil
	}
	if i += int64(len(r.vertices)); i < 0 {
		return 0, r.lines.fault(fmt.Sprintf("vertex number %s, but only %d vertices stand before it", w, len(r.vertices)), remedyExport)
	}
	return int32(i), nil
}

// finish cuts the polygons and makes the bodies.
func (r *objReader) finish() error {
	if len(r.polygons) == 0 {
		return r.lines.fault("the file holds no faces", remedyExport)
	}
	if r.skipped > 0 {
		r.file.warn("thin-face", "%d faces with fewer than three different corners ignored", r.skipped)
	}
	facets, err := r.triangulate()
	if err != nil {
		return err
	}
	several := r.several()
	if several && r.separate(facets) {
		return nil
	}
	whole := weldFacets(r.vertices, facets)
	if !r.lines.ended && !geom.Inspect(whole).Closed() {
		r.file.warn("no-line-end", "the last line has no end and the surface is open: the file may be cut short")
	}
	name := r.bodies[r.polygons[0].body].name
	if several {
		name = ""
		r.file.warn("groups-joined", "the file's groups are not closed one by one; they are read as one body")
	}
	r.file.Bodies = []Body{{Name: name, Mesh: whole}}
	return nil
}

// several reports whether polygons belong to different bodies.
func (r *objReader) several() bool {
	return slices.ContainsFunc(r.polygons, func(p objPolygon) bool { return p.body != r.polygons[0].body })
}

// triangulate cuts all polygons, in order: n corners give n-2 facets.
func (r *objReader) triangulate() ([][3]int32, error) {
	total := len(r.corners) - 2*len(r.polygons)
	if total > MaxFacets {
		return nil, r.file.refuseSize(int64(total))
	}
	cutter := polygonCutter{vertices: r.vertices}
	facets := make([][3]int32, 0, total)
	start := int32(0)
	for _, p := range r.polygons {
		corners := r.corners[start:p.end]
		start = p.end
		var err error
		if i := slices.Max(corners); int(i) >= len(r.vertices) {
			err = fmt.Errorf("vertex number %d, but the file has %d vertices", i+1, len(r.vertices))
		} else {
			facets, err = cutter.cut(corners, facets)
		}
		if err != nil {
			return nil, &ReadError{File: r.file.Name, Line: int(p.line), Byte: -1, What: err.Error(), Remedy: "export it as triangles"}
		}
	}
	cutter.warn(r.file)
	return facets, nil
}

// separate makes one body of each group, if each is closed.
func (r *objReader) separate(facets [][3]int32) bool {
	parts := make([][][3]int32, len(r.bodies))
	start := int32(0)
	for _, p := range r.polygons {
		n := p.end - start - 2
		parts[p.body] = append(parts[p.body], facets[:n]...)
		facets, start = facets[n:], p.end
	}
	var bodies []Body
	for i, part := range parts {
		if len(part) == 0 {
			continue
		}
		b := Body{r.bodies[i].name, weldFacets(r.vertices, part)}
		if !geom.Inspect(b.Mesh).Closed() {
			return false
		}
		bodies = append(bodies, b)
	}
	r.file.Bodies = bodies
	return true
}

// weldFacets welds facets that index vertices; unused vertices are left out.
func weldFacets(vertices []geom.Vec, facets [][3]int32) *geom.Mesh {
	w := geom.NewWelder(len(facets))
	for _, t := range facets {
		w.Add(vertices[t[0]], vertices[t[1]], vertices[t[2]])
	}
	return w.Mesh()
}
