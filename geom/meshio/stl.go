package meshio

import (
	"encoding/binary"
	"fmt"
	"math"

	"pourproof/geom"
)

// unfilled is the count a program leaves that wrote the header first and never
// came back.
const unfilled = math.MaxUint32

// readBinarySTL reads the layout described at stlHeader. The corner order counts,
// not the stored normal; the attribute word is ignored (some programs keep a
// colour there).
func (f *File) readBinarySTL(in *input, head []byte) error {
	if f.Size < stlHeader {
		return f.refuse(f.Size, "the file ends inside the header of a binary STL", remedyCopy)
	}
	n, err := f.facetCount(int64(binary.LittleEndian.Uint32(head[80:])))
	if err != nil {
		return err
	}
	if _, err := in.next(stlHeader); err != nil {
		return err
	}
	w := geom.NewWelder32(int(n))
	against := 0
	for done := int64(0); done < n; {
		piece, err := in.next(int(min(pieceLength, (n-done)*stlFacet)))
		if err != nil {
			return err
		}
		for ; len(piece) >= stlFacet; piece = piece[stlFacet:] {
			c, ok := stlCorners((*[stlFacet]byte)(piece))
			if !ok {
				return f.refuse(stlHeader+stlFacet*done,
					"facet %d has a corner that is not a finite number", remedyExport, done+1)
			}
			if normal := stlNormal(piece); mayFaceAway(&c, &normal) && facesAway(&c, &normal) {
				against++
			}
			w.Add(&c)
			done++
		}
	}
	f.warnNormals(against, int(n))
	f.Bodies = []Body{{Mesh: w.Mesh()}}
	return nil
}

// facetCount settles how many facets to read where the stated count and the
// file's size disagree.
func (f *File) facetCount(stated int64) (int64, error) {
	has, rest := (f.Size-stlHeader)/stlFacet, (f.Size-stlHeader)%stlFacet
	n := stated
	switch {
	case has == 0 && rest == 0 && (stated == 0 || stated == unfilled):
		return 0, f.refuse(80, "the file holds no facets", remedyExport)
	case (stated == 0 || stated == unfilled) && rest == 0:
		f.warn("count-missing", "the header's facet count was never filled in; the file's size says %d facets", has)
		n = has
	case stated == 0 || stated == unfilled:
		return 0, f.refuse(80, "neither a known format nor a whole binary STL: the count is missing and the size fits no number of facets", remedyCopy)
	case stated > has:
		return 0, f.refuse(f.Size, "the file ends after %d of the %d facets its header states", remedyCopy, has, stated)
	case stated < has && rest == 0:
		f.warn("count-wrong", "the header states %d facets, the file's size says %d; all are read", stated, has)
		n = has
	case stated*stlFacet != f.Size-stlHeader:
		f.warn("trailing-bytes", "%d bytes after the last of %d facets ignored", f.Size-stlHeader-stated*stlFacet, stated)
	}
	if n > MaxFacets {
		return 0, f.refuseSize(n)
	}
	return n, nil
}

// refuse makes a ReadError at a byte of a file without lines.
func (f *File) refuse(at int64, what, remedy string, args ...any) error {
	return &ReadError{File: f.Name, Byte: at, What: fmt.Sprintf(what, args...), Remedy: remedy}
}

func (f *File) refuseSize(facets int64) error {
	return f.refuse(-1, "%d facets are more than the %d that can be read", "export it coarser", facets, MaxFacets)
}

// warnNormals reports stored normals that point against the corner order.
func (f *File) warnNormals(against, n int) {
	if against > 0 {
		f.warn("normals", "the stored normals of %d of %d facets point against their corner order; the corner order counts", against, n)
	}
}

// stlCorners decodes the three corners of a facet; ok is false where one is not
// finite.
func stlCorners(b *[stlFacet]byte) (c [9]float32, ok bool) {
	var bad uint32
	for i := range c {
		u := binary.LittleEndian.Uint32(b[12+4*i:])
		bad |= u&0x7FFFFFFF + 0x00800000 // reaches the top bit where the exponent is all ones
		c[i] = math.Float32frombits(u)
	}
	return c, bad>>31 == 0
}

// stlNormal decodes the stored normal of a facet.
func stlNormal(b []byte) (n [3]float32) {
	for i := range n {
		n[i] = math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:]))
	}
	return n
}

// mayFaceAway is the quick half of facesAway: the sign alone, in float32. Nearly
// all facets end here.
func mayFaceAway(c *[9]float32, n *[3]float32) bool {
	ux, uy, uz := c[3]-c[0], c[4]-c[1], c[5]-c[2]
	vx, vy, vz := c[6]-c[0], c[7]-c[1], c[8]-c[2]
	x := float32(uy*vz) - float32(uz*vy)
	y := float32(uz*vx) - float32(ux*vz)
	z := float32(ux*vy) - float32(uy*vx)
	return float32(x*n[0])+float32(y*n[1])+float32(z*n[2]) < 0
}

// facesAway reports whether a stated normal, of any length, points more than 120
// degrees away from the side from which the corners run counter-clockwise. The
// normals of slivers are noise: between 60 and 120 degrees says nothing.
func facesAway(c *[9]float32, normal *[3]float32) bool {
	v := func(x, y, z float32) geom.Vec { return geom.Vec{X: float64(x), Y: float64(y), Z: float64(z)} }
	t := geom.Triangle{A: v(c[0], c[1], c[2]), B: v(c[3], c[4], c[5]), C: v(c[6], c[7], c[8])}
	n, m := t.AreaVec().Unit(), v(normal[0], normal[1], normal[2]).Unit()
	return n.Dot(m) < -0.5
}
