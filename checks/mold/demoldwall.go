package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// SteepWall is a patch of a half's faces that shape the part and stand along its pull:
// without draft.
type SteepWall struct {
	Depth float64 // mm along the pull
	Area  float64 // mm2
	At    geom.Vec
	// Core is the section in mm2, square to the pull, of the rubber that the patch goes
	// around; 0 where it goes around the part, or around nothing.
	Core   float64
	Facets []int32 // of the half
}

// draftless is the sine of the draft up to which a wall has none: 0.5 deg, twice what a
// wall drawn upright may lean by the rounding of a file over a millimetre.
const draftless = 0.0087265

// leastSteep is the depth in mm from which an undrafted wall is listed.
const leastSteep = 1.0

// steepWalls finds the undrafted walls of a half, deepest first. Linear in the facets.
func (m *Mold) steepWalls(half int, pull geom.Vec) []SteepWall {
	mesh, base := m.fixed.halves[half], m.fixed.owner[half]
	steep := make([]bool, len(mesh.Facets))
	for f := range mesh.Facets {
		a := mesh.Triangle(f).AreaVec()
		steep[f] = math.Abs(a.Dot(pull)) < draftless*a.Norm() && m.molds(base+int32(f))
	}
	mates := mesh.Mates()
	var out []SteepWall
	for f := range steep {
		if !steep[f] {
			continue
		}
		steep[f] = false
		list := []int32{int32(f)}
		for n := 0; n < len(list); n++ {
			for k := range int32(3) {
				if g := mates[3*list[n]+k]; g >= 0 && steep[g/3] {
					steep[g/3] = false
					list = append(list, g/3)
				}
			}
		}
		slices.Sort(list)
		if w := steepWall(mesh, list, pull); w.Depth >= leastSteep {
			out = append(out, w)
		}
	}
	slices.SortStableFunc(out, func(a, b SteepWall) int { return cmp.Compare(b.Depth, a.Depth) })
	return out
}

// closedRound is how little the normals of a wall that goes all around may sum up to, as
// a share of its area.
const closedRound = 0.02

// steepWall measures one patch. For a wall that goes all around, with normals n out of
// the rubber, the integral of n.x over it is twice its depth times the section of the
// rubber inside (divergence theorem in the plane), negative where the part is inside.
func steepWall(mesh *geom.Mesh, list []int32, pull geom.Vec) SteepWall {
	w := SteepWall{Facets: list}
	low, high := math.Inf(1), math.Inf(-1)
	var sum, middle geom.Vec
	for _, f := range list {
		t := mesh.Triangle(int(f))
		a := t.Area()
		w.Area += a
		middle = middle.AddScaled(t.Centroid(), a)
		sum = sum.Add(t.AreaVec())
		for _, v := range [3]geom.Vec{t.A, t.B, t.C} {
			z := v.Dot(pull)
			low, high = min(low, z), max(high, z)
		}
	}
	middle = middle.Scale(1 / w.Area)
	w.Depth, w.At = high-low, middle
	if sum.Norm() < closedRound*w.Area {
		round := 0.0
		for _, f := range list {
			t := mesh.Triangle(int(f))
			d := t.Centroid().Sub(middle)
			round += t.AreaVec().Dot(d.AddScaled(pull, -d.Dot(pull)))
		}
		w.Core = max(round/(2*w.Depth), 0)
	}
	best := math.Inf(1) // the middle of a wall that goes around lies in the air: take the facet nearest to it
	for _, f := range list {
		if c := mesh.Triangle(int(f)).Centroid(); c.Dist(middle) < best-1e-9 {
			best, w.At = c.Dist(middle), c
		}
	}
	return w
}
