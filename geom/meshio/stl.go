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

// stlBatch is how many facets are decoded before they are welded: both loops stay
// short, and the corners in the cache.
const stlBatch = 16

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
	var corners [3 * stlBatch]geom.Vec32
	for done := int64(0); done < n; {
		piece, err := in.next(int(min(pieceLength, (n-done)*stlFacet)))
		if err != nil {
			return err
		}
		for len(piece) > 0 {
			k := 0
			for ; k < len(corners) && len(piece) >= stlFacet; k += 3 {
				c, facet := (*[3]geom.Vec32)(corners[k:]), (*[stlFacet]byte)(piece)
				piece = piece[stlFacet:]
				if !decodeCorners(facet, c) {
					return f.refuse(stlHeader+stlFacet*(done+int64(k/3)),
						"facet %d has a corner that is not a finite number", remedyExport, done+int64(k/3)+1)
				}
				if normal := decodeNormal(facet); mayFaceAway(c, &normal) && facesAway(c, &normal) {
					against++
				}
			}
			w.Add(corners[:k])
			done += int64(k / 3)
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

// decodeCorners decodes the three corners of a facet; it reports whether all are
// finite.
func decodeCorners(b *[stlFacet]byte, c *[3]geom.Vec32) bool {
	var bad uint32
	at := func(i int) float32 {
		u := binary.LittleEndian.Uint32(b[i:])
		bad |= u&0x7FFFFFFF + 0x00800000 // reaches the top bit where the exponent is all ones
		return math.Float32frombits(u)
	}
	c[0] = geom.Vec32{X: at(12), Y: at(16), Z: at(20)}
	c[1] = geom.Vec32{X: at(24), Y: at(28), Z: at(32)}
	c[2] = geom.Vec32{X: at(36), Y: at(40), Z: at(44)}
	return bad>>31 == 0
}

// decodeNormal decodes the stored normal of a facet.
func decodeNormal(b *[stlFacet]byte) geom.Vec32 {
	at := func(i int) float32 { return math.Float32frombits(binary.LittleEndian.Uint32(b[i:])) }
	return geom.Vec32{X: at(0), Y: at(4), Z: at(8)}
}

// mayFaceAway is the quick half of facesAway: the sign alone, in float32. Nearly
// all facets end here.
func mayFaceAway(c *[3]geom.Vec32, n *geom.Vec32) bool {
	ux, uy, uz := c[1].X-c[0].X, c[1].Y-c[0].Y, c[1].Z-c[0].Z
	vx, vy, vz := c[2].X-c[0].X, c[2].Y-c[0].Y, c[2].Z-c[0].Z
	x := float32(uy*vz) - float32(uz*vy)
	y := float32(uz*vx) - float32(ux*vz)
	z := float32(ux*vy) - float32(uy*vx)
	return float32(x*n.X)+float32(y*n.Y)+float32(z*n.Z) < 0
}

// facesAway reports whether a stated normal, of any length, points more than 120
// degrees away from the side from which the corners run counter-clockwise. The
// normals of slivers are noise: between 60 and 120 degrees says nothing.
func facesAway(c *[3]geom.Vec32, normal *geom.Vec32) bool {
	v := func(p *geom.Vec32) geom.Vec { return geom.Vec{X: float64(p.X), Y: float64(p.Y), Z: float64(p.Z)} }
	t := geom.Triangle{A: v(&c[0]), B: v(&c[1]), C: v(&c[2])}
	return t.AreaVec().Unit().Dot(v(normal).Unit()) < -0.5
}
