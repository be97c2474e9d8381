package flood

import (
	"math"
	"testing"
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

// BenchmarkRun floods about 1.2 million runs with 2.8 million links.
func BenchmarkRun(b *testing.B) {
	g := bumpy(1000)
	b.ReportAllocs()
	b.ReportMetric(float64(len(g.Lo)), "runs")
	b.ReportMetric(float64(len(g.Links)), "links")
	for b.Loop() {
		r, err := Run(g)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(r.Seals)), "pockets")
	}
}
