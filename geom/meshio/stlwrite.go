package meshio

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"pourproof/geom"
)

// WriteBinarySTL writes the mesh in millimetres, coordinates rounded to float32,
// normals computed from the corners (zero for a facet without area). title fills
// the 80-byte header, cut to fit; a title that begins like a text STL is set off
// by a blank. The bytes depend on the mesh and the title alone.
func WriteBinarySTL(w io.Writer, m *geom.Mesh, title string) error {
	if len(m.Facets) > math.MaxUint32 {
		return errors.New("more facets than a binary STL can count")
	}
	var head [stlHeader]byte
	for i := range 80 {
		head[i] = ' '
	}
	if textSTL.MatchString(title) {
		title = "- " + title
	}
	copy(head[:80], title)
	binary.LittleEndian.PutUint32(head[80:], uint32(len(m.Facets)))
	out := bufio.NewWriterSize(w, 1<<16)
	out.Write(head[:]) // a bufio.Writer keeps its first error for Flush
	var b [stlFacet]byte
	for f := range m.Facets {
		t := m.Triangle(f)
		if err := fitsFloat32(t, f); err != nil {
			return err
		}
		for i, v := range [4]geom.Vec{t.Normal(), t.A, t.B, t.C} {
			putFloat32(b[12*i:], v.X)
			putFloat32(b[12*i+4:], v.Y)
			putFloat32(b[12*i+8:], v.Z)
		}
		out.Write(b[:])
	}
	return out.Flush()
}

// WriteTextSTL writes the mesh as text, coordinates as the shortest decimal that
// reads back as the same float32. name must be free of line ends.
func WriteTextSTL(w io.Writer, m *geom.Mesh, name string) error {
	out := bufio.NewWriterSize(w, 1<<16)
	fmt.Fprintf(out, "solid %s\n", name)
	var b []byte
	for f := range m.Facets {
		t := m.Triangle(f)
		if err := fitsFloat32(t, f); err != nil {
			return err
		}
		b = appendVec(append(b[:0], "facet normal"...), t.Normal())
		b = append(b, "outer loop\n"...)
		for _, v := range [3]geom.Vec{t.A, t.B, t.C} {
			b = appendVec(append(b, "vertex"...), v)
		}
		b = append(b, "endloop\nendfacet\n"...)
		out.Write(b)
	}
	fmt.Fprintf(out, "endsolid %s\n", name)
	return out.Flush()
}

func putFloat32(b []byte, x float64) {
	binary.LittleEndian.PutUint32(b, math.Float32bits(float32(x)+0))
}

func appendVec(b []byte, v geom.Vec) []byte {
	for _, x := range [3]float64{v.X, v.Y, v.Z} {
		b = strconv.AppendFloat(append(b, ' '), float64(float32(x)+0), 'g', -1, 32)
	}
	return append(b, '\n')
}

// fitsFloat32 refuses what would be written as infinity.
func fitsFloat32(t geom.Triangle, f int) error {
	b := t.Box()
	far := max(-b.Min.X, -b.Min.Y, -b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z)
	if far <= math.MaxFloat32 && b.Min.Finite() && b.Max.Finite() {
		return nil
	}
	return fmt.Errorf("facet %d has a corner that float32 cannot hold", f)
}
