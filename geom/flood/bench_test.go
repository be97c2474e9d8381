package flood

import (
	"fmt"
	"math"
	"testing"

	"pourproof/geom"
	"pourproof/geom/column"
	"pourproof/geom/geomtest"
)

// bumpy builds a field of n x n columns: a rough floor and a rough roof far apart,
// and, in every fifth column, a pillar of solid with a second run above it. Exits
// stand on a coarse lattice of roof runs; liquid enters in a corner.
func bumpy(n int) *Graph {
	g := &Graph{Sources: []int32{0}}
	noise := uint32(1)
	rough := func(most int32) int32 { // xorshift (Marsaglia 2003)
		noise ^= noise << 13
		noise ^= noise >> 17
		noise ^= noise << 5
		return int32(noise % uint32(most))
	}
	first := make([]int32, n*n+1)
	for c := range n * n {
		x, y := float64(c%n), float64(c/n)
		wave := int32(40000*math.Sin(x/17)*math.Cos(y/23) + 8000*math.Sin(x/3+y/5))
		lo, hi := wave+rough(3000), 400000-wave/2+rough(3000)
		run := int32(len(g.Lo))
		if c%5 == 0 {
			mid := 150000 + wave + rough(5000)
			g.Lo, g.Hi = append(g.Lo, lo, mid+20000), append(g.Hi, mid, hi)
			run++
		} else {
			g.Lo, g.Hi = append(g.Lo, lo), append(g.Hi, hi)
		}
		if c%n%100 == 50 && c/n%100 == 50 {
			g.Exits = append(g.Exits, Exit{run, g.Lo[run], g.Hi[run], 0})
		}
		first[c+1] = int32(len(g.Lo))
	}
	join := func(c, e int) {
		for a := first[c]; a < first[c+1]; a++ {
			for b := first[e]; b < first[e+1]; b++ {
				if lo, hi := max(g.Lo[a], g.Lo[b]), min(g.Hi[a], g.Hi[b]); lo < hi {
					g.Links = append(g.Links, Link{a, b, lo, hi})
				}
			}
		}
	}
	for c := range n * n {
		if c%n+1 < n {
			join(c, c+1)
		}
		if c/n+1 < n {
			join(c, c+n)
		}
	}
	return g
}

// BenchmarkRun floods rough spaces of up to 4.8 million runs with 11 million links.
func BenchmarkRun(b *testing.B) {
	for _, n := range []int{130, 300, 1000, 2000} {
		g := bumpy(n)
		b.Run(fmt.Sprintf("%dk-columns", n*n/1000), func(b *testing.B) {
			if testing.Short() && n > 1000 {
				b.Skip("4 million columns are not for -short")
			}
			meter := geomtest.NewMeter(b)
			pockets := 0
			for meter.Loop() {
				r, err := Run(g)
				if err != nil {
					b.Fatal(err)
				}
				pockets = len(r.Seals)
			}
			meter.Per("run", len(g.Lo))
			meter.Per("link", len(g.Links))
			b.ReportMetric(float64(pockets), "pockets")
		})
	}
}

// BenchmarkMesh floods the void inside a mesh at 0.25 mm, from its lowest run with its
// highest run open: "link" builds the graph, "flood" floods it, "components" only finds
// what is joined. A cell is a cube of 0.25 mm in the mesh's box.
func BenchmarkMesh(b *testing.B) {
	const pitch = 0.25
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		lat, err := column.NewLattice(geom.Identity(), m.Box(), pitch)
		if err != nil {
			b.Fatal(err)
		}
		lines := column.Snap(lat, []*geom.Mesh{m}, nil).Cast(2)
		box := m.Box().Size()
		cells := int(box.X/pitch+1) * int(box.Y/pitch+1) * int(box.Z/pitch+1)
		g := inside(lines)
		for _, work := range []struct {
			name string
			do   func()
		}{
			{"link", func() { inside(lines) }},
			{"flood", func() {
				if _, err := Run(g); err != nil {
					b.Fatal(err)
				}
			}},
			{"components", func() { components(g) }},
		} {
			b.Run(work.name, func(b *testing.B) {
				meter := geomtest.NewMeter(b)
				for meter.Loop() {
					work.do()
				}
				meter.Per("cell", cells)
				meter.Per("run", len(g.Lo))
			})
		}
	})
}

// inside is the graph of the void between the stretches of material on every line, or
// of the material itself where there is no void.
func inside(l *column.Lines) *Graph {
	g := &Graph{}
	first := make([]int32, len(l.Start))
	solid := len(l.Lo) == lit(l)
	for c := range len(l.Start) - 1 {
		for i := l.Start[c]; i < l.Start[c+1]; i++ {
			switch {
			case solid:
				g.Lo, g.Hi = append(g.Lo, l.Lo[i]), append(g.Hi, l.Hi[i])
			case i+1 < l.Start[c+1]:
				g.Lo, g.Hi = append(g.Lo, l.Hi[i]), append(g.Hi, l.Lo[i+1])
			}
		}
		first[c+1] = int32(len(g.Lo))
	}
	join := func(c, e int) {
		for a, b := first[c], first[e]; a < first[c+1] && b < first[e+1]; {
			if lo, hi := max(g.Lo[a], g.Lo[b]), min(g.Hi[a], g.Hi[b]); lo < hi {
				g.Links = append(g.Links, Link{a, b, lo, hi})
			}
			if g.Hi[a] < g.Hi[b] {
				a++
			} else {
				b++
			}
		}
	}
	for c := range len(first) - 1 {
		if c/l.NV+1 < l.NU {
			join(c, c+l.NV)
		}
		if c%l.NV+1 < l.NV {
			join(c, c+1)
		}
	}
	low, high := int32(0), int32(0)
	for i := range g.Lo {
		if g.Lo[i] < g.Lo[low] {
			low = int32(i)
		}
		if g.Hi[i] > g.Hi[high] {
			high = int32(i)
		}
	}
	g.Sources, g.Exits = []int32{low}, []Exit{{high, g.Hi[high], g.Hi[high], 0}}
	return g
}

// lit counts the lines that meet material.
func lit(l *column.Lines) (n int) {
	for c := range len(l.Start) - 1 {
		if l.Start[c+1] > l.Start[c] {
			n++
		}
	}
	return n
}

// components counts what links join, by the union-find that gas is followed with.
func components(g *Graph) (n int) {
	parent := make([]int32, len(g.Lo))
	for i := range parent {
		parent[i] = int32(i)
	}
	for i := range g.Links {
		a, b := find(parent, g.Links[i].A), find(parent, g.Links[i].B)
		if a < b {
			parent[b] = a
		} else {
			parent[a] = b
		}
	}
	for i := range parent {
		if parent[i] == int32(i) {
			n++
		}
	}
	return n
}

// level builds n x n columns between a level floor and a level ceiling, with a pit
// and a tooth in every square of pitch x pitch. A flush exit and the source are in
// opposite corners.
func level(n, pitch int) *Graph {
	g := &Graph{Sources: []int32{int32(n*n - 1)}, Exits: []Exit{{0, 2000, 2000, 0}}}
	for c := range n * n {
		lo, hi := int32(1000), int32(2000)
		if c%n%pitch >= pitch/2 && c/n%pitch >= pitch/2 {
			lo, hi = int32(c*7919%900), 2500
		}
		g.Lo, g.Hi = append(g.Lo, lo), append(g.Hi, hi)
	}
	join := func(a, b int) {
		g.Links = append(g.Links, Link{int32(a), int32(b), max(g.Lo[a], g.Lo[b]), min(g.Hi[a], g.Hi[b])})
	}
	for c := range n * n {
		if c%n+1 < n {
			join(c, c+1)
		}
		if c/n+1 < n {
			join(c, c+n)
		}
	}
	return g
}

// BenchmarkLevel floods spaces with many pits in one level floor and many teeth in
// one level ceiling: everything happens at two heights.
func BenchmarkLevel(b *testing.B) {
	for _, c := range []struct{ n, pitch int }{{200, 100}, {200, 10}, {400, 100}, {400, 20}} {
		g := level(c.n, c.pitch)
		b.Run(fmt.Sprintf("%d runs, %d pits", c.n*c.n, c.n/c.pitch*(c.n/c.pitch)), func(b *testing.B) {
			for b.Loop() {
				if _, err := Run(g); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
