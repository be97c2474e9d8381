package meshio_test

import (
	"strings"
	"testing"
)

func TestOBJCases(t *testing.T) { runCases(t, objCases()) }

// Pieces of OBJ files: corners and faces of a 20 mm cube, outward.
const (
	cubeV = "v 0 0 0\nv 20 0 0\nv 20 20 0\nv 0 20 0\nv 0 0 20\nv 20 0 20\nv 20 20 20\nv 0 20 20\n"
	cubeF = "f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n"
	// the same faces, counted back from the eight vertices before them
	cubeBack = "f -5 -6 -7 -8\nf -4 -3 -2 -1\nf -8 -7 -3 -4\nf -7 -6 -2 -3\nf -6 -5 -1 -2\nf -5 -8 -4 -1\n"
	// an L: 40 x 20 x 10 less 20 x 10 x 10, both caps one concave face of six corners
	ell = "v 0 0 0\nv 40 0 0\nv 40 10 0\nv 20 10 0\nv 20 20 0\nv 0 20 0\n" +
		"v 0 0 10\nv 40 0 10\nv 40 10 10\nv 20 10 10\nv 20 20 10\nv 0 20 10\n" +
		"f 6 5 4 3 2 1\nf 7 8 9 10 11 12\nf 1 2 8 7\nf 2 3 9 8\nf 3 4 10 9\nf 4 5 11 10\nf 5 6 12 11\nf 6 1 7 12\n"
)

// shiftX adds 100 to the x of each vertex of cubeV.
var cubeV2 = strings.NewReplacer("v 0 ", "v 100 ", "v 20 ", "v 120 ").Replace(cubeV)

func objCases() []fileCase {
	file := func(s ...string) []byte { return []byte(strings.Join(s, "")) }
	faces := strings.NewReplacer("f 4 3 2 1\n", "")
	return []fileCase{
		{name: "cube of quads", content: file(cubeV, cubeF), volume: 8000},
		{name: "comments, materials, smoothing", content: file("# made by hand\nmtllib a.mtl\ns off\n", cubeV, "usemtl red\ns 1\n", cubeF, "l 1 2\np 3\n"), volume: 8000},
		{name: "byte order mark and CR LF", content: []byte("\xEF\xBB\xBF" + strings.ReplaceAll(cubeV+cubeF, "\n", "\r\n")), volume: 8000},
		{name: "texture and normal numbers", content: file(cubeV, "vt 0 0\nvn 0 0 1\n", strings.NewReplacer(" 4", " 4/1/1", " 3", " 3//1", " 2", " 2/1").Replace(cubeF)), volume: 8000},
		{name: "colours after the coordinates", content: file(strings.ReplaceAll(cubeV, "\n", " 0.5 0.25 1\n"), cubeF), volume: 8000},
		{name: "a weight after the coordinates", content: file(strings.ReplaceAll(cubeV, "\n", " 1.0\n"), cubeF), volume: 8000},
		{name: "concave caps", content: file(ell), volume: 6000},
		{name: "concave caps, begun elsewhere", content: file(strings.NewReplacer("f 6 5 4 3 2 1", "f 4 3 2 1 6 5", "f 7 8 9 10 11 12", "f 10 11 12 7 8 9").Replace(ell)), volume: 6000},
		{name: "negative numbers", content: file(cubeV, cubeBack), volume: 8000},
		{name: "negative numbers, relative to what was read so far", content: file("o a\n", cubeV, cubeBack, "o b\n", cubeV2, cubeBack), volume: 16000, bodies: "a|b"},
		{name: "faces before their vertices", content: file(cubeF, cubeV), volume: 8000},
		{name: "continued lines", content: file(strings.ReplaceAll(cubeV, " 20\n", " \\\n20\n"), strings.ReplaceAll(cubeF, " 7 ", " \\  \r\n 7 ")), volume: 8000},
		{name: "two objects", content: file("o top half\n", cubeV, cubeF, "o bottom\n", cubeV2, strings.NewReplacer("1", "9", "2", "10", "3", "11", "4", "12", "5", "13", "6", "14", "7", "15", "8", "16").Replace(cubeF)), volume: 16000, bodies: "top half|bottom"},
		{name: "groups that are bodies", content: file("g a\n", cubeV, cubeBack, "g b\n", cubeV2, cubeBack), volume: 16000, bodies: "a|b"},
		{name: "groups that are faces", content: file(cubeV, "g bottom\nf 4 3 2 1\ng rest\n", faces.Replace(cubeF)), volume: 8000, notes: "groups-joined"},
		{name: "groups inside an object", content: file("o cube\n", cubeV, "g bottom\nf 4 3 2 1\ng rest\n", faces.Replace(cubeF)), volume: 8000, bodies: "cube"},
		{name: "a group resumed", content: file(cubeV, "g a\nf 4 3 2 1\ng\ng a\n", faces.Replace(cubeF)), volume: 8000, bodies: "a"},
		{name: "one named object", content: file("o Gehäuse Ø8\n", cubeV, cubeF), volume: 8000, bodies: "Gehäuse Ø8"},
		{name: "a face of two corners", content: file(cubeV, cubeF, "f 1 2\n"), volume: 8000, notes: "thin-face"},
		{name: "a corner twice in a face", content: file(cubeV, strings.Replace(cubeF, "f 4 3 2 1", "f 4 3 3 2 1 4", 1)), volume: 8000},
		{name: "a square hole joined by a slit", content: file(slitPlate), volume: (20*20 - 10*10) * 5},
		{name: "a warped quad", content: file(strings.Replace(cubeV, "v 20 20 20", "v 20 20 21", 1), cubeF), volume: warpedCube, notes: "warped-face"},
		{name: "a face that crosses itself", content: file(cubeV, strings.Replace(cubeF, "f 5 6 7 8", "f 5 6 8 7", 1)), volume: open, notes: "crossed-face open-edge crowded-edge opposed-facet"},
		{name: "a straight corner in an edge", content: file(cubeV, "v 10 0 0\n", strings.NewReplacer("f 4 3 2 1", "f 4 3 2 9 1", "f 1 2 6 5", "f 1 9 2 6 5").Replace(cubeF)), volume: 8000},
		{name: "open", content: file(cubeV, faces.Replace(cubeF)), volume: open, notes: "open-edge"},
		{name: "open, last line without end", content: file(cubeV, strings.TrimSuffix(faces.Replace(cubeF), "\n")), volume: open, notes: "no-line-end open-edge"},
		{name: "last line without end", content: file(cubeV, strings.TrimSuffix(cubeF, "\n")), volume: 8000},
		{name: "an unknown word", content: file(cubeV, "xyzzy 1\nxyzzy 2\n", cubeF), volume: 8000, notes: "unknown-word"},
		{name: "twins of vertices", content: file(cubeV, cubeV, strings.NewReplacer("f 5 6 7 8", "f 13 14 15 16").Replace(cubeF)), volume: 8000},
		{name: "vertex zero", content: file(cubeV, strings.Replace(cubeF, "f 4 3 2 1", "f 4 3 2 0", 1)), refused: `line 9: "0" is not a vertex number`},
		{name: "vertex too far", content: file(cubeV, strings.Replace(cubeF, "f 4 3 2 1", "f 4 3 2 9", 1)), refused: "line 9: vertex number 9, but the file has 8 vertices"},
		{name: "vertex too far back", content: file(cubeV, "f -1 -2 -9\n"), refused: "line 9: vertex number -9, but only 8 vertices stand before it"},
		{name: "vertex number of 4 billion", content: file(cubeV, "f 1 2 4294967297\n"), refused: `"4294967297" is not a vertex number`},
		{name: "vertex of two numbers", content: file("v 1 2\n", cubeV, cubeF), refused: "line 1: a vertex has fewer than three numbers"},
		{name: "decimal commas in a vertex", content: file("v 1,5 2 3\n", cubeF), refused: `line 1: decimal comma in "1,5"`},
		{name: "vertex not a number", content: file("v 0 0 0\nv 1 2 NaN\n", cubeF), refused: `line 2: "NaN" is not a finite number`},
		{name: "no faces", content: file(cubeV), refused: "the file holds no faces"},
		{name: "free-form surface", content: file(cubeV, "cstype bspline\n"), refused: "line 9: the file holds free-form curves or surfaces"},
		{name: "only flat faces", content: file("v 0 0 0\nv 1 1 1\nv 0 0 0\nf 1 2 3\n"), refused: "no facet of three different corners"},
		{name: "a polygon of too many corners", content: file("v 0 0 0\n", "v 1 0 0\n", "f", strings.Repeat(" 1 2", 11000), "\n"), refused: "line 3: a polygon has 22000 corners"},
	}
}

// slitPlate is a plate 20 x 20 x 5 with a square hole of 10, each cap one face that
// runs around the outline, through a slit, around the hole and back.
const slitPlate = "v 0 0 0\nv 20 0 0\nv 20 20 0\nv 0 20 0\nv 5 5 0\nv 15 5 0\nv 15 15 0\nv 5 15 0\n" +
	"v 0 0 5\nv 20 0 5\nv 20 20 5\nv 0 20 5\nv 5 5 5\nv 15 5 5\nv 15 15 5\nv 5 15 5\n" +
	"f 9 10 11 12 9 13 16 15 14 13\nf 1 5 6 7 8 5 1 4 3 2\n" +
	"f 1 2 10 9\nf 2 3 11 10\nf 3 4 12 11\nf 4 1 9 12\nf 5 13 14 6\nf 6 14 15 7\nf 7 15 16 8\nf 8 16 13 5\n"

// warpedCube: the lifted corner's quads are cut along their shorter diagonals. The
// top has its diagonal beside the corner (28.28 against 28.30): it gains a
// tetrahedron over half the top, 1/3 * 200 * 1. The side faces stay plane.
const warpedCube = 8000 + 200.0/3
