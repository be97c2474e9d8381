package flood

import (
	"fmt"
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
	pockets := 0
	for b.Loop() {
		r, err := Run(g)
		if err != nil {
			b.Fatal(err)
		}
		pockets = len(r.Seals)
	}
	b.ReportMetric(float64(len(g.Lo)), "runs")
	b.ReportMetric(float64(len(g.Links)), "links")
	b.ReportMetric(float64(pockets), "pockets")
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
