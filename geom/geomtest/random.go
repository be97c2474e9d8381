package geomtest

import (
	"math"
	"math/rand/v2"

	"pourproof/geom"
)

// Blocks returns the operations of a random rectilinear solid: two to nine boxes on
// a lattice of 1 mm, added and cut. It is never empty. Print the seed in a failure.
func Blocks(seed uint64) []Op {
	for r := rand.New(rand.NewPCG(seed, 1)); ; {
		ops := []Op{randomBox(r, true)}
		for range 1 + r.IntN(8) {
			ops = append(ops, randomBox(r, r.IntN(3) > 0))
		}
		if GridVolume(ops...) > 0 {
			return ops
		}
	}
}

func randomBox(r *rand.Rand, solid bool) Op {
	var lo, hi [3]float64
	for a := range lo {
		lo[a] = float64(r.IntN(8))
		hi[a] = lo[a] + float64(1+r.IntN(5))
	}
	return Op{geom.Vec{X: lo[0], Y: lo[1], Z: lo[2]}, geom.Vec{X: hi[0], Y: hi[1], Z: hi[2]}, solid}
}

// ManifoldBlocks is Blocks among solids that nowhere touch themselves in an edge
// only.
func ManifoldBlocks(seed uint64) []Op {
	for r := rand.New(rand.NewPCG(seed, 2)); ; {
		ops := Blocks(r.Uint64())
		uses := map[[2]int32]int{}
		crowded := false
		for _, t := range Grid(ops...).Facets {
			for k := range t {
				e := [2]int32{min(t[k], t[(k+1)%3]), max(t[k], t[(k+1)%3])}
				uses[e]++
				crowded = crowded || uses[e] > 2
			}
		}
		if !crowded {
			return ops
		}
	}
}

// RandomTurn returns a rigid move drawn from the seed: a turn about a random axis and
// a shift of up to 50 mm along each axis.
func RandomTurn(seed uint64) geom.Rigid {
	r := rand.New(rand.NewPCG(seed, 3))
	axis := geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}.Unit()
	t := geom.AxisTurn(axis, r.Float64()*2*math.Pi)
	t.T = geom.Vec{X: r.Float64()*100 - 50, Y: r.Float64()*100 - 50, Z: r.Float64()*100 - 50}
	return t
}

// Bumpy returns a sphere with corners on n meridians and rings-1 parallels, each
// moved out or in by up to bump of the radius in smooth waves: a closed free-form
// shell of 2*n*(rings-1) facets.
func Bumpy(radius, bump float64, n, rings int) *geom.Mesh {
	return Sphere(radius, n, rings).Map(func(v geom.Vec) geom.Vec {
		u := v.Scale(1 / radius)
		wave := math.Sin(float64(9*u.X)+1) + math.Sin(float64(11*u.Y)+2) + math.Sin(float64(7*u.Z)+3)
		return v.Scale(1 + float64(bump*math.Round(wave*0x1p40)*0x1p-40)/3)
	})
}
