package meshio_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"pourproof/geom"
)

func TestSTLCases(t *testing.T) { runCases(t, stlCases(t)) }

// put32 overwrites four bytes of a copy.
func put32(b []byte, at int, v uint32) []byte {
	b = bytes.Clone(b)
	binary.LittleEndian.PutUint32(b[at:], v)
	return b
}

// written is a text STL of a mesh with each number by the given verb and each line
// by the given end.
func written(m *geom.Mesh, verb, end string) []byte {
	s := "solid part" + end
	for f := range m.Facets {
		t := m.Triangle(f)
		s += "facet normal " + numbers(verb, t.Normal()) + end + "outer loop" + end
		for _, v := range [3]geom.Vec{t.A, t.B, t.C} {
			s += "vertex " + numbers(verb, v) + end
		}
		s += "endloop" + end + "endfacet" + end
	}
	return []byte(s + "endsolid part" + end)
}

func stlCases(t testing.TB) []fileCase {
	box := boxMesh(geom.Vec{X: 10, Y: 10, Z: 10}, geom.Vec{X: 50, Y: 30, Z: 20}) // the part of mold B0: 8000 mm3
	b, txt := binarySTL(t, box, "part"), string(textSTL(t, box, "part"))
	replace := func(pairs ...string) []byte { return []byte(strings.NewReplacer(pairs...).Replace(txt)) }
	comma := strings.ReplaceAll(string(written(box, "%.1f", "\n")), ".", ",")
	float := math.Float32bits
	many := &geom.Mesh{} // 6660 facets, a count with the byte 0x1A in it
	for i := range 555 {
		many.Append(boxMesh(geom.Vec{X: float64(2 * i)}, geom.Vec{X: float64(2*i + 1), Y: 1, Z: 1}))
	}
	colored := bytes.Clone(b)
	for i := range 12 {
		binary.LittleEndian.PutUint16(colored[84+50*i+48:], uint16(0x8000+977*i))
	}
	noNormals := bytes.Clone(b)
	for i := range 12 {
		clear(noNormals[84+50*i : 84+50*i+12])
	}
	minusZero := binarySTL(t, moved(cube(0, 20), -20), "")
	for i := 84; i+4 <= len(minusZero); i += 2 { // some of the +0 become -0
		if (i-84)%50 < 48 && (i-84)%50%4 == 0 && binary.LittleEndian.Uint32(minusZero[i:]) == 0 && i%3 == 0 {
			minusZero[i+3] = 0x80
		}
	}
	return []fileCase{
		// binary
		{name: "binary", content: b, volume: 8000},
		{name: "binary, header solid exported by CAD", content: append([]byte(fmt.Sprintf("%-80s", "solid exported by CAD")), b[80:]...), volume: 8000},
		{name: "binary, header all zero", content: append(make([]byte, 80), b[80:]...), volume: 8000},
		{name: "binary, header like a zip", content: append([]byte("PK\x03\x04"), b[4:]...), volume: 8000},
		{name: "binary, header like a STEP file", content: append([]byte("ISO-10303-21;"), b[13:]...), volume: 8000},
		{name: "binary, colours in the attribute words", content: colored, volume: 8000},
		{name: "binary, normals all zero", content: noNormals, volume: 8000},
		{name: "binary, one normal wrong", content: put32(b, 84+8, float(1)), volume: 8000, notes: "normals"},
		{name: "binary, a normal that is no number", content: put32(b, 84+8, 0x7FC00000), volume: 8000},
		{name: "binary, minus zeros", content: minusZero, volume: 8000},
		{name: "binary, 6660 facets", content: binarySTL(t, many, ""), volume: 555},
		{name: "binary, count zero", content: put32(b, 80, 0), volume: 8000, notes: "count-missing"},
		{name: "binary, count never filled in", content: put32(b, 80, 0xFFFFFFFF), volume: 8000, notes: "count-missing"},
		{name: "binary, count too small", content: put32(b, 80, 5), volume: 8000, notes: "count-wrong"},
		{name: "binary, count too large", content: put32(b, 80, 13), refused: "byte 684: the file ends after 12 of the 13 facets its header states; the file is cut short"},
		{name: "binary, count of 4 billion", content: put32(b, 80, 0xFFFFFFFE), refused: "of the 4294967294 facets"},
		{name: "binary, count missing and odd size", content: put32(b, 80, 0)[:650], refused: "size fits no number of facets"},
		{name: "binary, bytes after the last facet", content: append(bytes.Clone(b), 0, 0, 0), volume: 8000, notes: "trailing-bytes"},
		{name: "binary, cut inside a facet", content: b[:651], refused: "byte 651: the file ends after 11 of the 12 facets"},
		{name: "binary, cut in the header", content: b[:60], refused: "too short to hold a mesh"},
		{name: "binary, no facets", content: put32(b, 80, 0)[:84], refused: "byte 80: the file holds no facets"},
		{name: "binary, not a number", content: put32(b, 84+50*3+16, 0x7FC00001), refused: "byte 234: facet 4 has a corner that is not a finite number"},
		{name: "binary, infinite", content: put32(b, 84+50*11+44, 0xFF800000), refused: "byte 634: facet 12 has a corner that is not a finite number"},
		{name: "binary, all corners equal", content: make([]byte, 84+50*4)[:284], refused: "no facet of three different corners"},
		{name: "binary, open", content: binarySTL(t, withoutFacet(box, 3), ""), volume: open, notes: "open-edge"},
		{name: "binary, inside-out", content: binarySTL(t, box.Reversed(), ""), volume: 8000, notes: "inside-out"},
		{name: "binary, a face inside-out", content: binarySTL(t, turnFacet(box, 2, 3), ""), volume: 8000, notes: "turned-facet"},
		{name: "binary, sealed void", content: binarySTL(t, joined(cube(0, 20), cube(5, 2).Reversed()), ""), volume: 7992, notes: "sealed-void"},
		{name: "binary, solid in solid", content: binarySTL(t, joined(cube(0, 20), cube(5, 2)), ""), volume: 8000, notes: "nested-solid"},
		{name: "binary, every facet twice", content: binarySTL(t, joined(box, box), ""), volume: 8000, notes: "duplicate-facet"},
		// size and place
		{name: "in inches", content: binarySTL(t, boxMesh(geom.Vec{}, geom.Vec{X: 4, Y: 2, Z: 1}), ""), units: "in", volume: 8 * 25.4 * 25.4 * 25.4},
		{name: "in inches, not said", content: binarySTL(t, boxMesh(geom.Vec{}, geom.Vec{X: 4, Y: 2, Z: 1}), ""), volume: 8, notes: "size-small"},
		{name: "in micrometres, not said", content: binarySTL(t, boxMesh(geom.Vec{}, geom.Vec{X: 40000, Y: 20000, Z: 10000}), ""), volume: 8e12, notes: "size-large"},
		{name: "unknown unit", content: b, units: "yd", refused: `unknown unit "yd"`},
		{name: "at 100 m", content: binarySTL(t, moved(box, 1e5), ""), volume: 8000},
		{name: "at 200 m", content: binarySTL(t, moved(box, 2e5), ""), volume: 8000, notes: "far-from-origin"},
		{name: "at 5 km", content: binarySTL(t, moved(box, 5e6), ""), refused: "so far from the origin that its coordinates are 0.5 mm apart"},
		// text
		{name: "text", content: []byte(txt), volume: 8000},
		{name: "text, byte order mark", content: []byte("\xEF\xBB\xBF" + txt), volume: 8000},
		{name: "text, upper case", content: bytes.ToUpper([]byte(txt)), volume: 8000},
		{name: "text, blanks in the end words", content: replace("endsolid", "end solid", "endloop", "end loop", "endfacet", "end facet"), volume: 8000},
		{name: "text, CR LF", content: replace("\n", "\r\n"), volume: 8000},
		{name: "text, CR alone", content: replace("\n", "\r"), volume: 8000},
		{name: "text, tabs and many blanks", content: replace(" ", "\t  ", "\n", "  \n\n\t"), volume: 8000},
		{name: "text, blank lines before", content: []byte("\n\n  " + txt), volume: 8000},
		{name: "text, a facet on one line", content: replace("\nouter", " outer", "\nvertex", " vertex", "\nendloop\nendfacet", " endloop endfacet"), volume: 8000},
		{name: "text, exponents of three digits", content: []byte(strings.ReplaceAll(string(written(box, "%E", "\n")), "E+01", "E+001")), volume: 8000},
		{name: "text, capital exponents and bare points", content: replace(" 10\n", " +10.\n", " 10 ", " .1E2 ", " 50 ", " 5.e+1 "), volume: 8000},
		{name: "text, seventeen digits", content: written(box, "%.17g", "\n"), volume: 8000},
		{name: "text, decimal commas", content: []byte(comma), refused: `line 4: decimal comma in "10,0"; export it with decimal points`},
		{name: "text, commas between numbers", content: replace("vertex 10 ", "vertex 10, "), refused: `decimal comma in "10,"`},
		{name: "text, nan", content: edit(t, []byte("solid a\n"+tri("0 0 0", "1 0 0", "0 1 1")), "0 1 1", "0 nan 1"), refused: `line 6: "nan" is not a finite number`},
		{name: "text, infinity", content: edit(t, []byte("solid a\n"+tri("0 0 0", "1 0 0", "0 1 1")), "0 1 1", "0 1 -Inf"), refused: `"-Inf" is not a finite number`},
		{name: "text, too large for float32", content: []byte("solid a\n" + tri("0 0 0", "1e39 0 0", "0 1 1")), refused: `line 5: "1e39" is too large for a coordinate`},
		{name: "text, too large for float64", content: []byte("solid a\n" + tri("0 0 0", "1e999 0 0", "0 1 1")), refused: `"1e999" is too large for a coordinate`},
		{name: "text, a word for a number", content: []byte("solid a\n" + tri("0 0 0", "one 0 0", "0 1 1")), refused: `line 5: "one" is not a number`},
		{name: "text, hexadecimal", content: []byte("solid a\n" + tri("0 0 0", "0x1p2 0 0", "0 1 1")), refused: `"0x1p2" is not a number`},
		{name: "text, two numbers in a corner", content: []byte("solid a\n" + tri("0 0 0", "1 0", "0 1 1")), refused: "line 5: a corner has fewer than three numbers"},
		{name: "text, two corners", content: []byte("solid a\n" + tri("0 0 0", "1 0 0")), refused: "line 6: facet 1 has 2 corners"},
		{name: "text, four corners", content: []byte("solid a\n" + tri("0 0 0", "1 0 0", "1 1 0", "0 1 0")), refused: "line 7: facet 1 has more than three corners; export it as triangles"},
		{name: "text, no facet words", content: replace("endfacet\n", "", "facet normal ", "normal "), volume: 8000},
		{name: "text, no endsolid", content: replace("endsolid part\n", ""), volume: 8000, notes: "no-endsolid"},
		{name: "text, no solid", content: []byte(strings.TrimPrefix(txt, "solid part\n")), volume: 8000},
		{name: "text, no solid and no endsolid", content: []byte(strings.TrimPrefix(strings.TrimSuffix(txt, "endsolid part\n"), "solid part\n")), volume: 8000, notes: "no-endsolid"},
		{name: "text, cut after a facet", content: []byte(txt[:strings.LastIndex(txt, "facet normal")]), refused: "the file ends after facet 11 without endsolid, and the surface is open; the file is cut short"},
		{name: "text, cut inside a corner", content: []byte(txt[:strings.LastIndex(txt, "vertex")+9]), refused: "the file ends inside a corner"},
		{name: "text, cut after a whole shell", content: []byte(strings.TrimSuffix(txt, "endsolid part\n") + "facet normal 0 0"), refused: "the file ends inside a facet"},
		{name: "text, two solids", content: []byte(txt + string(textSTL(t, moved(box, 100), "b"))), volume: 16000},
		{name: "text, a solid without facets before", content: []byte("solid none\nendsolid none\n" + txt), volume: 8000},
		{name: "text, only a solid without facets", content: []byte("solid none\nendsolid none\n"), refused: "line 2: the file holds no facets"},
		{name: "text, a second solid cut off", content: []byte(txt + "solid b\n"), refused: "ends inside a solid that has no facets yet"},
		{name: "text, names of keywords and digits", content: replace("solid part", "solid facet 12 endsolid vertex (%$) Ø8"), volume: 8000},
		{name: "text, name in another encoding", content: replace("solid part", "solid Geh\xE4use"), volume: 8000},
		{name: "text, colour and comment lines", content: replace("outer loop", "color 1 0 0\n# a\n// b\nouter loop"), volume: 8000},
		{name: "text, a word no STL has", content: replace("outer loop", "outer circle"), refused: `line 3: unknown word "circle"`},
		{name: "text, normals all zero", content: []byte("solid a\n" + tri("0 0 0", "9 0 0", "0 9 0") + "endsolid a\n"), volume: open, notes: "open-edge"},
		{name: "text, a normal that is no number", content: edit(t, []byte("solid a\n"+tri("0 0 0", "9 0 0", "0 9 0")+"endsolid a\n"), "normal 0 0 0", "normal nan nan nan"), volume: open, notes: "open-edge"},
		{name: "text, wrong normals", content: replace("normal 0 0 1", "normal 0 0 -1", "normal 0 0 -1", "normal 0 0 1"), volume: 8000, notes: "normals"},
		{name: "text, end of file mark", content: []byte(txt + "\x1A"), volume: 8000},
		{name: "text, a line without end", content: []byte("solid a\n" + strings.Repeat("x", 2<<20)), refused: "line 2: the line is longer than a megabyte"},
	}
}
