package mold

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLedgerAgainstWalk: elements, their neighbours and ends are those that a walk from
// node to node finds, block by block.
func TestLedgerAgainstWalk(t *testing.T) {
	s := storedSetup(t, "comb")
	s.job.Cell = 0.5
	open := storedSetup(t, "comb")
	open.job.Cell, open.job.GateOpen = 0.5, true
	for i, m := range []*Mold{s.close(t), open.close(t), chimneys(18, 18).rocked(t, 1), chimneys(0, 9).rocked(t, 1)} {
		for _, n := range []int{300, 3000} {
			l := m.newLedger(n)
			w := walkLedger(m, l)
			require.Len(t, l.at, len(w.first), "mold %d", i)
			for e := range l.at {
				slices.Sort(w.near[e])
				assert.Equal(t, slices.Compact(w.near[e]), slices.Clone(l.beside(int32(e))), "mold %d, element %d", i, e)
			}
			assert.Equal(t, w.exit, l.exit, "mold %d", i)
			assert.Equal(t, w.source, l.source, "mold %d", i)
			assert.Contains(t, l.exit, true)
			assert.Contains(t, l.source, true)
		}
	}
}

type walkedLedger struct {
	first        []int32 // node of each element
	near         [][]int32
	exit, source []bool
}

// walkLedger spreads from node to node within blocks, in the order of the nodes.
func walkLedger(m *Mold, l *ledger) walkedLedger {
	g := gathering{sorter: &sorter{m: m, sp: m.space, labels: *m.labels}}
	g.list()
	step := int(l.block/g.lat.Pitch() + 0.5)
	listed := map[int32]bool{}
	for _, x := range g.nodes {
		listed[x] = true
	}
	block := func(x int32) [3]int {
		i, j, k := g.node(x)
		return [3]int{i / step, j / step, k / step}
	}
	var w walkedLedger
	id := map[int32]int32{}
	for _, x := range g.nodes {
		if _, known := id[x]; known {
			continue
		}
		e := int32(len(w.first))
		w.first = append(w.first, x)
		id[x] = e
		for queue := []int32{x}; len(queue) > 0; queue = queue[1:] {
			from := queue[0]
			g.around(from, func(y int32) {
				if _, known := id[y]; !known && listed[y] && block(y) == block(from) && (g.of[y] == cavity) == (g.of[from] == cavity) {
					id[y] = e
					queue = append(queue, y)
				}
			})
		}
	}
	w.near, w.exit, w.source = make([][]int32, len(w.first)), make([]bool, len(w.first)), make([]bool, len(w.first))
	for _, x := range g.nodes {
		e := id[x]
		g.around(x, func(y int32) {
			switch {
			case listed[y]:
				if id[y] != e {
					w.near[e] = append(w.near[e], id[y])
				}
			case g.sealedGate(g.of[y]):
				w.source[e] = true
			case g.of[y] == beyond && g.of[x] >= firstChannel:
				w.exit[e] = true
				w.source[e] = w.source[e] || g.m.Channels[g.of[x]-firstChannel].Role == Gate
			}
		})
	}
	return w
}
