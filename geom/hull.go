package geom

import "slices"

// HullAbove returns the convex hull of points seen from above, counter-clockwise and
// with z 0: its corners, none on a side between two others. Fewer than three points, or
// points on one line, give two corners at most. Cost n log n (Andrew 1979).
func HullAbove(points []Vec) []Vec {
	p := make([]Vec, len(points))
	for i, q := range points {
		p[i] = Vec{X: q.X, Y: q.Y}
	}
	slices.SortFunc(p, compareVec)
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	left := func(a, b, q Vec) bool {
		return float64((b.X-a.X)*(q.Y-a.Y))-float64((b.Y-a.Y)*(q.X-a.X)) > 0
	}
	var out []Vec
	for pass := range 2 {
		first := len(out)
		for _, q := range p {
			for len(out) >= first+2 && !left(out[len(out)-2], out[len(out)-1], q) {
				out = out[:len(out)-1]
			}
			out = append(out, q)
		}
		out = out[:len(out)-1]
		if pass == 0 {
			slices.Reverse(p)
		}
	}
	return out
}
