package mold

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// slowRoom is the squared distance of every node to the nearest one of material, axis by
// axis over all nodes of a line; 0 for the outermost nodes and between rows.
func slowRoom(c *clearance) []int32 {
	d := make([]int32, 64*len(c.solid))
	for n := range d {
		if !c.solid.has(int32(n)) {
			d[n] = 1 << 28
		}
	}
	steps := c.steps()
	for a, by := range [3]int32{steps[1].by, steps[3].by, steps[5].by} {
		old := append([]int32(nil), d...)
		c.each(func(n int32, at [3]int) {
			for k := range c.lat.N[a] {
				off := k - at[a]
				d[n] = min(d[n], old[n+int32(off)*by]+int32(off*off))
			}
		})
	}
	for n := range d {
		at := c.split(int32(n))
		for a := range at {
			if at[a] <= 0 || at[a] >= c.lat.N[a]-1 {
				d[n] = 0
			}
		}
	}
	return d
}

func (r *nodeRows) each(visit func(n int32, at [3]int)) {
	for i := range r.lat.N[0] {
		for j := range r.lat.N[1] {
			for k := range r.lat.N[2] {
				at := [3]int{i, j, k}
				visit(r.numberAt(at), at)
			}
		}
	}
}

// slowPlugs finds the walls of newPlugs with one number a node, every offer kept until
// its turn.
func slowPlugs(c *clearance, d2 []int32) *geom.Mesh {
	from := make([]int32, len(d2))
	var rows [][]waitingNode
	var sources [][]int32
	push := func(w waitingNode, source int32) {
		d := float64(int(w.x)*int(w.x) + int(w.y)*int(w.y) + int(w.z)*int(w.z))
		r := int(2 * math.Sqrt(d))
		for len(rows) <= r {
			rows, sources = append(rows, nil), append(sources, nil)
		}
		rows[r], sources[r] = append(rows[r], w), append(sources[r], source)
	}
	for n, d := range d2 {
		if from[n] = -1; d >= c.most() {
			from[n] = int32(n)
		}
	}
	for n, d := range d2 {
		for _, s := range c.steps() {
			if d >= c.most() && d2[int32(n)+s.by] > 0 && d2[int32(n)+s.by] < c.most() {
				push(waitingNode{int32(n) + s.by, s.x, s.y, s.z}, int32(n))
			}
		}
	}
	for r := 0; r < len(rows); r++ {
		for i := 0; i < len(rows[r]); i++ {
			w, source := rows[r][i], sources[r][i]
			if from[w.n] >= 0 {
				continue
			}
			from[w.n] = source
			for _, s := range c.steps() {
				if m := w.n + s.by; from[m] < 0 && d2[m] > 0 {
					push(waitingNode{m, w.x + s.x, w.y + s.y, w.z + s.z}, source)
				}
			}
		}
	}
	var wall []int32
	radius := c.width / 2 / c.lat.Pitch()
	for n := range int32(len(from)) {
		for a := 1; a < 6 && from[n] >= 0 && from[n] != n; a += 2 {
			m := n + c.steps()[a].by
			if from[m] >= 0 && from[m] != m && apart2(c.split(from[n]), c.split(from[m])) > int(radius*radius) && !c.rolls(from[n], from[m]) {
				wall = append(wall, n)
				break
			}
		}
	}
	if len(wall) == 0 {
		return nil
	}
	return c.boxes(wall)
}

// Room, plugs and the nearest material are those found without sets of bits, whichever
// way a row falls on words.
func TestClearanceNodeByNode(t *testing.T) {
	plugs, longest := 0, map[int]bool{}
	for seed := range uint64(5) {
		m := carved(seed).Map(func(p geom.Vec) geom.Vec { return xyz(p.X, p.Y, p.Z*(0.4+0.6*float64(seed))) })
		for _, width := range []float64{1.1, 2.3} {
			c, err := newClearance(m, width, 0)
			require.NoError(t, err)
			longest[c.stride] = true
			d2 := slowRoom(c)
			c.each(func(n int32, _ [3]int) {
				if min(d2[n], c.most()) != c.roomAt(n) {
					t.Fatalf("seed %d, width %g, node %d: %d, %d node by node", seed, width, n, c.roomAt(n), d2[n])
				}
			})
			require.Equal(t, slowPlugs(c, d2), c.plugs, "seed %d, width %g", seed, width)
			if c.plugs != nil {
				plugs++
			}
			r := rand.New(rand.NewPCG(seed, 5))
			for range 300 {
				at := [3]int{1 + r.IntN(c.lat.N[0]-2), 1 + r.IntN(c.lat.N[1]-2), 1 + r.IntN(c.lat.N[2]-2)}
				d, foot := c.nearestSolid(at)
				if d != int(d2[c.numberAt(at)]) || d != apart2(at, foot) || !c.solid.has(c.numberAt(foot)) {
					t.Fatalf("seed %d, width %g, node %v: %d from %v, %d node by node", seed, width, at, d, foot, d2[c.numberAt(at)])
				}
			}
		}
	}
	assert.Greater(t, plugs, 3, "bodies with a passage to plug")
	assert.Greater(t, len(longest), 2, "lengths of rows")
}

// slowWay goes on where there is most room, node by node.
func slowWay(s *ways, d2 []int32) []int32 {
	from := map[int32]int32{s.start: s.start}
	waiting := []int32{s.start}
	room := func(n int32) int32 { return min(d2[n], s.room.most()) }
	for len(waiting) > 0 {
		best := len(waiting) - 1
		for i := best; i >= 0; i-- {
			if room(waiting[i]) > room(waiting[best]) {
				best = i
			}
		}
		n := waiting[best]
		waiting = append(waiting[:best], waiting[best+1:]...)
		if s.meet(n)&isOpen != 0 {
			way := []int32{n}
			for ; from[n] != n; n = from[n] {
				way = append([]int32{from[n]}, way...)
			}
			return way
		}
		for _, t := range s.room.steps() {
			m := n + t.by
			if _, met := from[m]; !met && s.meet(m)&justRoom > 0 && !s.closed.has(m) {
				from[m] = n
				waiting = append(waiting, m)
			}
		}
	}
	return nil
}

// The roomiest node of a cup and the way out from it are those found node by node.
func TestWaysNodeByNode(t *testing.T) {
	m := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(12, 10, 8)), geomtest.Cut(xyz(1, 1, 1), xyz(11, 9, 8)),
		geomtest.Cut(xyz(0, 4, 2), xyz(1, 5, 3)), geomtest.Cut(xyz(11, 6, 4), xyz(12, 8, 5.5)))
	w, err := newRubber(m, 2, 0).begin(upZ, PrintOptions{Printer: printer(), Cell: 0.5}, nil)
	require.NoError(t, err)
	room, err := newClearance(m, 2.2, 0)
	require.NoError(t, err)
	h := w.hollow(room, nil, nil)
	found := 0
	basins := h.rise.run(w.least())
	for i := range basins {
		f := foundAt{h, &basins[i], room}
		if !f.b.open || f.b.into >= 0 {
			continue
		}
		s := w.waysFrom(&f)
		d2 := slowRoom(room)
		most := int32(0)
		for n := range d2 {
			if k := h.pieceAt(room.point(int32(n))); k >= 0 && s.in[k] && room.point(int32(n)).Z < 8 {
				most = max(most, d2[n])
			}
		}
		require.LessOrEqual(t, most, d2[s.start])
		for range 3 {
			way, neck := s.widest()
			require.Equal(t, slowWay(s, d2), way)
			if way == nil {
				break
			}
			found++
			for _, n := range way {
				require.LessOrEqual(t, d2[way[neck]], d2[n])
			}
			for _, n := range way {
				z, q := s.placeOf(n)
				p := room.point(n)
				require.Less(t, math.Abs(z-p.Dot(upZ))+q.Dist(w.lat.Place(p))*w.lat.Q, 1e-9)
			}
			s.close(room.point(way[neck]), 1.5)
			assert.True(t, s.closed.has(way[neck]))
		}
	}
	assert.GreaterOrEqual(t, found, 2, "both bores")
}
