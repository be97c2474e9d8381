package meshio_test

import (
	"encoding/binary"
	"strings"
	"testing"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// The corpus under testdata/fuzz holds one input for each way through a reader,
// and every input that once broke one.

func FuzzSTL(f *testing.F) {
	for _, c := range stlCases(f) {
		if len(c.content) < 1<<14 {
			f.Add(c.content)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := read(b, meshio.Options{})
		sound(t, file, err)
	})
}

// FuzzTextSTL changes what stands after the first word, which makes any text an STL.
func FuzzTextSTL(f *testing.F) {
	for _, c := range stlCases(f) {
		if s := string(c.content); len(s) < 1<<14 && strings.HasPrefix(s, "solid") && !strings.Contains(s, "\x00") {
			f.Add(s[len("solid"):])
		}
	}
	f.Fuzz(func(t *testing.T, s string) {
		file, err := read([]byte("solid"+s), meshio.Options{})
		sound(t, file, err)
	})
}

// FuzzBinarySTL makes every input a binary STL of whole facets, so that the corners
// are changed and not only the frame around them.
func FuzzBinarySTL(f *testing.F) {
	for _, m := range []*geom.Mesh{cube(0, 20), joined(cube(0, 20), cube(5, 3)), withoutFacet(cube(0, 20), 3), turnFacet(cube(0, 20), 2, 7)} {
		f.Add(binarySTL(f, m, "")[84:])
	}
	f.Fuzz(func(t *testing.T, facets []byte) {
		n := len(facets) / 50
		b := binary.LittleEndian.AppendUint32(make([]byte, 80), uint32(n))
		file, err := read(append(b, facets[:50*n]...), meshio.Options{})
		sound(t, file, err)
	})
}

func FuzzOBJ(f *testing.F) {
	for _, c := range objCases() {
		if len(c.content) < 1<<14 {
			f.Add(string(c.content))
		}
	}
	f.Fuzz(func(t *testing.T, s string) {
		// a first line that makes any text an OBJ
		file, err := read([]byte("v 0 0 0\n"+s), meshio.Options{})
		sound(t, file, err)
	})
}

// Fuzz3MF changes the model inside a sound package; FuzzZip changes the package.
func Fuzz3MF(f *testing.F) {
	model := modelXML("", objectXML(`id="1" name="part"`, cube(0, 20)), `<item objectid="1"/>`)
	f.Add(model)
	f.Add(modelXML(`unit="inch"`, `<object id="2"><components><component objectid="1" transform="1 0 0 0 -1 0 0 0 1 10 0 0"/></components></object>`, `<item objectid="2"/>`))
	f.Add("<model><resources><object id='1'><mesh><vertices><!-- a --></vertices><triangles/></mesh></object></resources></model>")
	f.Fuzz(func(t *testing.T, model string) {
		file, err := read(package3MF(t, model), meshio.Options{})
		sound(t, file, err)
	})
}

func FuzzZip(f *testing.F) {
	for _, c := range foreignCases(f) {
		f.Add(c.content)
	}
	f.Add(samples(f)["3mf"])
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := read(append([]byte("PK\x03\x04"), b[min(4, len(b)):]...), meshio.Options{})
		sound(t, file, err)
	})
}
