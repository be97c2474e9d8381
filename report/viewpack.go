package report

import (
	"encoding/base64"
	"encoding/binary"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// viewPack writes bodies as bytes that squeeze well: vertices on a grid of 65535 steps
// along the longest side, in the order in which facets that hang together first use
// them, as differences from the one before; all numbers in variable length (LEB128),
// signed ones folded (zigzag).
type viewPack struct {
	low  geom.Vec
	step float64 // mm
	out  []byte
}

func newViewPack(box geom.Box) *viewPack {
	size := box.Size()
	longest := max(size.X, size.Y, size.Z, 1e-3)
	p := &viewPack{low: box.Min, step: longest / math.MaxUint16}
	r := rounded(box.Min) // as the head says it
	p.low = geom.Vec{X: r[0], Y: r[1], Z: r[2]}
	return p
}

// whole returns a vertex in steps; what lies outside the box is drawn to it.
func (p *viewPack) whole(v geom.Vec) [3]int64 {
	d := v.Sub(p.low).Scale(1 / p.step)
	q := func(x float64) int64 { return int64(math.Round(min(max(x, 0), math.MaxUint16))) }
	return [3]int64{q(d.X), q(d.Y), q(d.Z)}
}

// mesh adds a body: first the corners of all facets, a new vertex as 0 and a known one
// as how far back it is; then the vertices axis by axis. It returns their number.
func (p *viewPack) mesh(m *geom.Mesh) int {
	number := make([]int32, len(m.Vertices)) // in the order of use, from 1
	var used []int32
	for _, f := range together(m) {
		for _, v := range m.Facets[f] {
			if number[v] == 0 {
				used = append(used, v)
				number[v] = int32(len(used))
				p.out = append(p.out, 0)
				continue
			}
			p.out = binary.AppendUvarint(p.out, uint64(int32(len(used))-number[v]+1))
		}
	}
	all := make([][3]int64, len(used))
	for i, v := range used {
		all[i] = p.whole(m.Vertices[v])
	}
	for axis := range 3 {
		last := int64(0)
		for _, q := range all {
			p.out = binary.AppendVarint(p.out, q[axis]-last)
			last = q[axis]
		}
	}
	return len(used)
}

// together orders the facets so that neighbours follow each other: depth first over the
// edges.
func together(m *geom.Mesh) []int32 {
	mates := m.Mates()
	seen := make([]bool, len(m.Facets))
	order := make([]int32, 0, len(m.Facets))
	var stack []int32
	for f := range m.Facets {
		stack = append(stack, int32(f))
		for len(stack) > 0 {
			g := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			if seen[g] {
				continue
			}
			seen[g] = true
			order = append(order, g)
			for k := 2; k >= 0; k-- {
				if h := mates[3*g+int32(k)]; h >= 0 && !seen[h/3] {
					stack = append(stack, h/3)
				}
			}
		}
	}
	return order
}

// columns adds the columns of a pocket, each as four differences from the one before in
// steps of viewColumn.
func (p *viewPack) columns(list []mold.TiltColumn) {
	var last [4]int64
	for _, c := range list {
		for i, x := range [4]float32{c.X, c.Y, c.Lo, c.Hi} {
			q := int64(math.Round(float64(x) / viewColumn))
			p.out = binary.AppendVarint(p.out, q-last[i])
			last[i] = q
		}
	}
}

// viewText is bytes as a page holds them.
func viewText(data []byte) string { return base64.StdEncoding.EncodeToString(data) }
