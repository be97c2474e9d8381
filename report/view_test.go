package report

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"io"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// unpacked reads a page's view as its script does.
func unpacked(t *testing.T, page string) (h viewHead, bodies []*geom.Mesh, rest []byte) {
	t.Helper()
	m := regexp.MustCompile(`<script type="application/octet-stream">([^<]*)</script>`).FindStringSubmatch(page)
	require.Len(t, m, 2)
	packed, err := base64.StdEncoding.DecodeString(m[1])
	require.NoError(t, err)
	z, err := gzip.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	data, err := io.ReadAll(z)
	require.NoError(t, err)
	n := binary.LittleEndian.Uint32(data)
	require.NoError(t, json.Unmarshal(data[4:4+n], &h))
	in := bytes.NewReader(data[4+n:])
	for _, b := range h.Bodies {
		bodies = append(bodies, unpackedBody(t, in, &h, b))
	}
	rest, err = io.ReadAll(in)
	require.NoError(t, err)
	return h, bodies, rest
}

func unpackedBody(t *testing.T, in *bytes.Reader, h *viewHead, b viewBody) *geom.Mesh {
	m := &geom.Mesh{Vertices: make([]geom.Vec, b.Vertices), Facets: make([][3]int32, b.Facets)}
	used := uint64(0)
	for f := range m.Facets {
		for k := range 3 {
			back, err := binary.ReadUvarint(in)
			require.NoError(t, err)
			if back == 0 {
				used++
				back = 1
			}
			m.Facets[f][k] = int32(used - back)
		}
	}
	require.EqualValues(t, b.Vertices, used)
	for axis := range 3 {
		last := int64(0)
		for v := range m.Vertices {
			d, err := binary.ReadVarint(in)
			require.NoError(t, err)
			last += d
			x := h.Low[axis] + float64(h.Step*float64(last))
			switch axis {
			case 0:
				m.Vertices[v].X = x
			case 1:
				m.Vertices[v].Y = x
			default:
				m.Vertices[v].Z = x
			}
		}
	}
	return m
}

// The page holds the mold: every body closed, with its facets and, to the rounding of
// its vertices, its volume; the moments; every finding with its place.
func TestViewHoldsTheMold(t *testing.T) {
	d := document(t, 5)
	h, bodies, rest := unpacked(t, viewOf(t, d))
	s := d.studio()
	halves := 0
	for i, b := range h.Bodies {
		assert.Zero(t, openEdges(bodies[i]), b.Name)
		if b.Kind != "half" {
			continue
		}
		want := s.mold.Halves[halves].Mesh
		halves++
		assert.Len(t, bodies[i].Facets, len(want.Facets))
		assert.InDelta(t, want.Volume(), bodies[i].Volume(), want.Area()*h.Step)
	}
	assert.Equal(t, 2, halves)
	require.NotNil(t, h.Moments)
	n := h.Moments.N
	require.Len(t, rest, n[0]*n[1]*n[2], "no tilts were searched")
	assert.LessOrEqual(t, len(rest), viewMoments)
	assert.Equal(t, []viewTilt{}, h.Tilts, "an empty list, not null: the script walks it")
	require.Len(t, h.Findings, 5)
	for i, f := range h.Findings {
		assert.Equal(t, d.Outcome.Findings[i].ID, f.ID)
		require.NotNil(t, f.At)
	}
	assert.InDelta(t, s.fill.Filled, 1000*h.Resin, 0.02*s.fill.Filled)
}

// Of a mold of many facets a coarser one is shown: closed, within the bound, and no
// vertex farther off than is said.
func TestViewOfManyFacets(t *testing.T) {
	ball := geomtest.Sphere(20, 200, 100)
	box := ball.Box()
	same, off := coarseEnough([]*geom.Mesh{ball}, box, len(ball.Facets))
	assert.Same(t, ball, same[0])
	assert.Zero(t, off)
	for _, most := range []int{8000, 1500} {
		got, off := coarseEnough([]*geom.Mesh{ball}, box, most)
		assert.LessOrEqual(t, len(got[0].Facets), most)
		assert.Greater(t, len(got[0].Facets), most/5)
		assert.Zero(t, openEdges(got[0]))
		tree := bvh.Build(got[0])
		for _, v := range ball.Vertices {
			hit, ok := tree.Nearest(v, 1e9)
			require.True(t, ok)
			require.LessOrEqual(t, hit.Dist, off)
		}
	}
}

// openEdges counts the edges that are not used as often one way as the other.
func openEdges(m *geom.Mesh) (n int) {
	uses := map[[2]int32]int{}
	for _, f := range m.Facets {
		for k := range f {
			a, b := f[k], f[(k+1)%3]
			if a < b {
				uses[[2]int32{a, b}]++
			} else {
				uses[[2]int32{b, a}]--
			}
		}
	}
	for _, u := range uses {
		if u != 0 {
			n++
		}
	}
	return n
}
