package flood

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// shuffled returns the same links and exits in another order, links with their
// ends swapped at random.
func shuffled(rng *rand.Rand, g Graph) Graph {
	c := mapped(g, func(v int32) int32 { return v })
	rng.Shuffle(len(c.Links), func(i, j int) { c.Links[i], c.Links[j] = c.Links[j], c.Links[i] })
	rng.Shuffle(len(c.Exits), func(i, j int) { c.Exits[i], c.Exits[j] = c.Exits[j], c.Exits[i] })
	for i := range c.Links {
		if l := &c.Links[i]; rng.IntN(2) == 0 {
			l.A, l.B = l.B, l.A
		}
	}
	return c
}

// renumbered gives run r the number to[r].
func renumbered(g Graph, to []int) Graph {
	c := mapped(g, func(v int32) int32 { return v })
	for r, k := range to {
		c.Lo[k], c.Hi[k] = g.Lo[r], g.Hi[r]
	}
	for i := range c.Links {
		c.Links[i].A, c.Links[i].B = int32(to[g.Links[i].A]), int32(to[g.Links[i].B])
	}
	for i := range c.Exits {
		c.Exits[i].Run = int32(to[g.Exits[i].Run])
	}
	c.Sources = nil
	for _, s := range g.Sources {
		c.Sources = append(c.Sources, int32(to[s]))
	}
	return c
}

// apart moves bottoms to different heights, so that numbers decide nothing. Links
// that opened at a bottom still do. Only the order of heights is kept.
func apart(rng *rand.Rand, g Graph) Graph {
	const scale = 1024
	c := mapped(g, func(v int32) int32 { return v*scale + scale - 1 })
	for r, k := range rng.Perm(len(g.Lo)) {
		c.Lo[r] = g.Lo[r]*scale + int32(k)
	}
	for i, l := range g.Links {
		if l.Lo == max(g.Lo[l.A], g.Lo[l.B]) {
			c.Links[i].Lo = max(c.Lo[l.A], c.Lo[l.B])
		}
	}
	var heights []int32
	mapped(c, func(v int32) int32 { heights = append(heights, v); return v })
	slices.Sort(heights)
	heights = slices.Compact(heights)
	return mapped(c, func(v int32) int32 { return int32(slices.Index(heights, v)) })
}

// same asks that b, whose run to[r] is run r of a, floods as a does, higher by up.
func same(t *testing.T, seed uint64, a, b *Graph, to []int, up int32) {
	t.Helper()
	p, err := Run(a)
	require.NoError(t, err)
	q, err := Run(b)
	require.NoError(t, err)
	require.Len(t, q.Seals, len(p.Seals), "seed %d", seed)
	pocket := make(map[int32]int32)
	for r, k := range to {
		run, other := int32(r), int32(k)
		require.Equal(t, p.Reached[run], q.Reached[other], "seed %d", seed)
		require.Equal(t, p.Level(run, Never)+up, q.Level(other, Never), "seed %d, run %d", seed, run)
		require.Equal(t, p.Level(run, p.Cut[run])+up, q.Level(other, q.Cut[other]), "seed %d, run %d", seed, run)
		if p.Cut[run] != Never && p.Cut[run] != Start {
			require.Equal(t, p.Cut[run]+Time(up), q.Cut[other], "seed %d, run %d", seed, run)
		}
		require.Equal(t, p.Pocket[run] < 0, q.Pocket[other] < 0, "seed %d, run %d", seed, run)
		if p.Pocket[run] >= 0 {
			if _, known := pocket[p.Pocket[run]]; !known {
				pocket[p.Pocket[run]] = q.Pocket[other]
			}
			require.Equal(t, pocket[p.Pocket[run]], q.Pocket[other], "seed %d, run %d", seed, run)
		}
	}
}

func identity(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func TestNumbersDoNotMatter(t *testing.T) {
	for seed := range uint64(1500) {
		rng := rand.New(rand.NewPCG(seed, 3))
		draw := randomGrid
		if seed%2 == 0 {
			draw = randomGraph
		}
		g := draw(rng)
		all := identity(len(g.Lo))
		s := shuffled(rng, g)
		same(t, seed, &g, &s, all, 0)

		d := apart(rng, g)
		require.Empty(t, disagree(&d), "seed %d", seed)
		to := rng.Perm(len(g.Lo))
		s = renumbered(shuffled(rng, d), to)
		same(t, seed, &d, &s, to, 0)
	}
}

func TestHeightsMayBeNegative(t *testing.T) {
	for seed := range uint64(300) {
		g := randomGrid(rand.New(rand.NewPCG(seed, 4)))
		for _, up := range []int32{-1 << 30, -7, 1 << 30} {
			h := raised(g, up)
			same(t, seed, &g, &h, identity(len(g.Lo)), up)
		}
	}
}
