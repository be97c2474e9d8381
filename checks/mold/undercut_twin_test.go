package mold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// boxCells are the cells of a quarter of a millimetre of a mold made of boxes, by plain
// containment: its slow twin knows no mesh, no column and no transform.
type boxCells struct {
	b          *blockMold
	nx, ny, nz int
}

const twinCell = 0.25

func (c *boxCells) middle(i, j, k int) (x, y, z float64) {
	at := func(lo float64, i int) float64 { return lo + (float64(i)+0.5)*twinCell }
	return at(c.b.block.lo.X, i), at(c.b.block.lo.Y, j), at(c.b.block.lo.Z, k)
}

func inAny(boxes []box, x, y, z float64) bool {
	for _, b := range boxes {
		if x > b.lo.X && y > b.lo.Y && z > b.lo.Z && x < b.hi.X && y < b.hi.Y && z < b.hi.Z {
			return true
		}
	}
	return false
}

func (c *boxCells) part(i, j, k int) bool {
	x, y, z := c.middle(i, j, k)
	return inAny(c.b.rooms, x, y, z)
}

// rubber tells whether a cell is rubber of the lower (0) or upper half (1).
func (c *boxCells) rubber(half, i, j, k int) bool {
	x, y, z := c.middle(i, j, k)
	return z > c.b.split == (half == 1) && !inAny(c.b.rooms, x, y, z) && !inAny(append([]box{c.b.gate}, c.b.cuts...), x, y, z)
}

// undercut returns the depth and the volume of the rubber with part ahead: every cell
// asks every column.
func (c *boxCells) undercut(half int) (depth, volume float64) {
	shadow := make([]bool, c.nx*c.ny) // columns with part ahead
	for n := range c.nz {
		k := n
		if half == 1 {
			k = c.nz - 1 - n
		}
		for i := range c.nx {
			for j := range c.ny {
				if !shadow[i*c.ny+j] || !c.rubber(half, i, j, k) {
					continue
				}
				volume += twinCell * twinCell * twinCell
				nearest := math.Inf(1)
				for u := range c.nx {
					for v := range c.ny {
						if !shadow[u*c.ny+v] {
							nearest = min(nearest, math.Hypot(float64(u-i), float64(v-j))*twinCell)
						}
					}
				}
				depth = max(depth, nearest)
			}
		}
		for i := range c.nx {
			for j := range c.ny {
				shadow[i*c.ny+j] = shadow[i*c.ny+j] || c.part(i, j, k)
			}
		}
	}
	return depth, volume
}

// Random parts of boxes: depth and volume of the undercuts as the slow twin has them.
func TestUndercutsMatchCells(t *testing.T) {
	t.Parallel()
	locked := 0
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 9))
		b := smallBlock()
		half := func(lo, hi float64) float64 { return lo + 0.5*float64(r.IntN(int(2*(hi-lo))+1)) }
		for range 3 { // each meets the first room
			x, y, z := half(3, 8), half(3, 8), half(4.5, 8)
			b.rooms = append(b.rooms, boxAt(x, y, z, half(8.5, 15), half(8.5, 13), half(9, 12)))
		}
		b.cuts = []box{boxAt(7, 7, 9, 9, 9, 16)}
		m := b.setup().close(t)
		cells := &boxCells{b, 80, 64, 64}
		for h, release := range demold(t, m).Halves {
			depth, volume := cells.undercut(h)
			found, sum := 0.0, 0.0
			for i := range release.Undercuts {
				found = max(found, release.Undercuts[i].Depth)
				sum += release.Undercuts[i].Volume
			}
			what := fmt.Sprintf("seed %d half %d", seed, h)
			assert.InDelta(t, depth, found, 0.15, what) // a diagonal between cells is up to 0.1 longer, a middle up to half a cell
			assert.InDelta(t, volume, sum, 0.05*volume+0.3, what)
			if depth > 0 {
				locked++
			}
		}
	}
	assert.GreaterOrEqual(t, locked, 8, "there was something to find")
}
