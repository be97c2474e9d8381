package geom

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Corners of a hull are given points, every other point lies on or left of every side,
// and no three corners lie on one line.
func TestHullAbove(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.IntRange(-9, 9)
		var points []Vec
		given := map[Vec]bool{}
		for range rapid.IntRange(0, 40).Draw(t, "points") {
			p := Vec{X: float64(coord.Draw(t, "x")), Y: float64(coord.Draw(t, "y")), Z: float64(coord.Draw(t, "z"))}
			points, given[Vec{X: p.X, Y: p.Y}] = append(points, p), true
		}
		hull := HullAbove(points)
		for i, a := range hull {
			assert.True(t, given[a], "%v was not given", a)
			b, c := hull[(i+1)%len(hull)], hull[(i+2)%len(hull)]
			if len(hull) > 2 {
				assert.Positive(t, b.Sub(a).Cross(c.Sub(b)).Z, "a turn to the left at %v", b)
			}
			for q := range given {
				assert.GreaterOrEqual(t, b.Sub(a).Cross(q.Sub(a)).Z, 0.0, "%v is outside", q)
			}
		}
		assert.Equal(t, len(given) == 0, len(hull) == 0)
	})
}

// What lies well inside of the extreme points is left out, corners of the hull never.
func TestOuterPoints(t *testing.T) {
	var points, corners []Vec
	for i := range 200 {
		bend := float64(i*i) / 400 // so that all of the lower edge are corners
		corners = append(corners, Vec{X: float64(i) + 1e3, Y: bend})
		for k := range 200 {
			points = append(points, Vec{X: float64(i) + 1e3, Y: float64(k) + bend, Z: 1})
		}
	}
	some := outerPoints(points)
	assert.Less(t, len(some), len(points)/3)
	assert.Subset(t, some, corners)
	assert.Subset(t, HullAbove(points), corners)
	assert.Len(t, outerPoints([]Vec{{X: 1}, {X: 1, Z: 3}}), 2, "one point")
}
