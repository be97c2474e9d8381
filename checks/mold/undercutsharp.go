package mold

import "math"

// sharpReach is how far from the deepest column, in pitches, deeper rubber is looked for:
// the columns beside it and one more. Columns farther off may have their nearest free
// place outside the window.
const sharpReach = 2

// sharpen measures the depth of an undercut again, in a window of fine columns about its
// deepest place: of the rubber there, at the height of the deepest stretch, the greatest
// distance to a column free of the part.
func (s *shadow) sharpen(u *Undercut, g *lump) {
	d := &s.stuck[g.deepest]
	reach := int(math.Ceil(float64(d.depth))) + 2*sharpReach
	fine := 0
	for fine < 6 && (2*reach)<<(fine+1) < windowNodes && s.lat.Pitch()/float64(int(1)<<fine) > sharpPitch {
		fine++
	}
	cu, cv := int(d.column)/s.nv, int(d.column)%s.nv
	lo := [3]int{max(cu-reach, 0), max(cv-reach, 0), 0}
	hi := [3]int{min(cu+reach, s.nu-1), min(cv+reach, s.nv-1), s.lat.N[2] - 1}
	w := &shadow{m: s.m, half: s.half, pull: s.pull, bodies: s.bodies}
	w.cast(s.lat.Window(lo, hi, fine))
	plane := &slicer{nu: w.nu, nv: w.nv}
	middle := [2]int{(cu - lo[0]) << fine, (cv - lo[1]) << fine}
	z := d.lo
	best, most := int32(-1), float32(0)
	for range 2 { // again at the height of the deepest rubber found
		list := w.touching(z, d.hi, middle, sharpReach<<fine)
		if len(list) == 0 {
			return
		}
		plane.slice(w, z, list)
		best, most = w.typical(list, u.Mean.Dot(s.lat.Frame.X), u.Mean.Dot(s.lat.Frame.Y))
		z = w.stuck[best].lo
	}
	if most > 0 {
		w.put(u, best, most)
		u.Error = w.lat.Pitch()
	}
}

// touching lists the stuck stretches near a column that reach into heights from lo to hi
// and begin within near of lo, as far as near columns off.
func (s *shadow) touching(lo, hi int32, middle [2]int, near int) []int32 {
	pitch := int32(near) << s.lat.Bits
	var out []int32
	for u := max(middle[0]-near, 0); u <= min(middle[0]+near, s.nu-1); u++ {
		for v := max(middle[1]-near, 0); v <= min(middle[1]+near, s.nv-1); v++ {
			c := u*s.nv + v
			for i := s.first[c]; i < s.first[c+1]; i++ {
				t := &s.stuck[i]
				if t.lo < max(hi, lo+1) && t.hi > lo && t.lo > lo-pitch && t.lo < lo+pitch {
					out = append(out, i)
				}
			}
		}
	}
	return out
}
