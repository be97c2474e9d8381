package report

import (
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/render"
)

// view is a section plane with what it was chosen for.
type view struct {
	sheet
	pockets []int // indices of the pockets that it cuts, largest first
}

// wish is something a section should show: how well a plane shows it, 0 to 1,
// and how much that counts.
type wish struct {
	weight float64
	shown  func(sheet) float64
}

// bestSheet returns, of the upright planes through any of the places along any of
// the directions, the one that shows most; of equals the first.
func (s *studio) bestSheet(through, along []geom.Vec, wishes []wish) sheet {
	var best sheet
	most := math.Inf(-1)
	for _, at := range through {
		for _, d := range along {
			level := d.AddScaled(s.up, -d.Dot(s.up))
			if level.Norm() < 1e-3*d.Norm() || d.Norm() < 1e-6 {
				continue
			}
			normal := level.Unit().Cross(s.up)
			right := s.up.Cross(normal)
			if c := geom.FrameFor(s.up).Turn(right); c.X < -1e-9 || (c.X < 1e-9 && c.Y < 0) {
				normal = normal.Neg() // CAD +X, else +Y, to the right on paper
			}
			sh := newSheet(at, normal, s.up)
			sum := 0.0
			for _, w := range wishes {
				sum += float64(w.weight * w.shown(sh))
			}
			if sum > most+1e-6 {
				best, most = sh, sum
			}
		}
	}
	return best
}

// plainDirections are those a reader expects of a section, best first: along the
// tilt, then along CAD X and Y.
func (s *studio) plainDirections() []geom.Vec {
	rest := s.mold.Rest
	return []geom.Vec{rest.AddScaled(s.up, -rest.Dot(s.up)), {X: 1}, {Y: 1}, {Z: 1}}
}

// showsAir is the wish to cut pocket i over its width.
func (s *studio) showsAir(i int, weight float64) wish {
	if s.air[i] == nil {
		return wish{0, func(sheet) float64 { return 0 }}
	}
	size := levelExtent(s.air[i], s.up)
	return wish{weight, func(sh sheet) float64 { return min(1, sh.slice(s.air[i]).width()/size) }}
}

// levelExtent is the diagonal of a mesh's bounds square to up, mm.
func levelExtent(m *geom.Mesh, up geom.Vec) float64 {
	f := geom.FrameFor(up)
	b := geom.EmptyBox()
	for _, v := range m.Vertices {
		p := f.Turn(v)
		p.Z = 0
		b = b.Include(p)
	}
	return max(b.Diagonal(), 1e-6)
}

// showsChannel is the wish to run along a channel's bore.
func showsChannel(c *mold.Channel, weight float64) wish {
	return wish{weight, func(sh sheet) float64 {
		r := max(c.Diameter/2, 0.05)
		at, end := sh.off(c.Mouth)/r, sh.off(c.End)/r
		return max(0, 1-float64(0.8*max(at, end)))
	}}
}

// showsBore is the wish to run along a suggested vent.
func showsBore(w *mold.SuggestedVent, weight float64) wish {
	return wish{weight, func(sh sheet) float64 {
		return max(0, 1-max(sh.off(w.Mouth), sh.off(w.Exit))/(w.Diameter/2))
	}}
}

// plain is the small wish for a section square to the block, best along the tilt,
// where levels show as steps.
func (s *studio) plain(weight float64) wish {
	dirs := s.plainDirections()
	return wish{weight, func(sh sheet) float64 {
		for n, d := range dirs {
			if l := d.AddScaled(s.up, -d.Dot(s.up)); l.Norm() > 1e-3 && math.Abs(l.Unit().Dot(sh.right)) > 0.9999 {
				return 1 - float64(0.3*min(1, float64(n)))
			}
		}
		return 0
	}}
}

// peak returns the middle of a pocket's highest part, from the roofs of its
// columns: the top of a dome, the middle of a ridge.
func peak(p *mold.Pocket, columns *geom.Mesh, up geom.Vec) geom.Vec {
	if columns == nil {
		return p.Top
	}
	edge := p.Top.Dot(up) - max(0.1*p.Depth, 0.02)
	sum, n := geom.Vec{}, 0.0
	for f := range columns.Facets {
		t := columns.Triangle(f)
		if c := t.Centroid(); c.Dot(up) >= edge && c.Dot(up) <= p.Top.Dot(up)+1e-6 && t.AreaVec().Dot(up) > 0 {
			sum, n = sum.Add(c), n+1
		}
	}
	if n == 0 {
		return p.Top
	}
	return sum.Scale(1 / n)
}

// whole returns the section of the first page: through the gate and as much of
// the worst pocket, the other pockets and the vents as one plane can show.
func (s *studio) whole() view {
	through := []geom.Vec{s.mold.FittedPart().Box().Center()}
	along := s.plainDirections()
	wishes := []wish{s.plain(0.6)}
	if s.fill != nil {
		var gates []geom.Vec
		for i := range s.fill.Ports {
			c := &s.fill.Ports[i]
			if c.Role == mold.Gate {
				gates = append(gates, c.Mouth)
				wishes = append(wishes, showsChannel(c, 1))
			} else {
				wishes = append(wishes, showsChannel(c, 1/float64(len(s.fill.Ports))))
			}
		}
		if len(gates) > 0 {
			through = gates
		}
		for i := range s.fill.Pockets[:min(3, len(s.fill.Pockets))] {
			wishes = append(wishes, s.showsAir(i, []float64{3, 0.7, 0.4}[i]))
			along = append(along, s.peaks[i].Sub(through[0]))
		}
		for i := range s.fill.Ports[:min(8, len(s.fill.Ports))] {
			along = append(along, s.fill.Ports[i].Mouth.Sub(through[0]))
		}
	}
	return s.seen(s.bestSheet(through, along, wishes))
}

// seen lists what a plane cuts.
func (s *studio) seen(sh sheet) view {
	v := view{sheet: sh}
	for i, a := range s.air {
		if a != nil && len(sh.slice(a)) > 0 {
			v.pockets = append(v.pockets, i)
		}
	}
	return v
}

// through returns the section through the top of pocket i that shows most of it,
// and of the pockets in others as many as it can.
func (s *studio) through(i int, others []int) view {
	top := s.peaks[i]
	along := s.plainDirections()
	wishes := []wish{s.plain(0.5), s.showsAir(i, 1)}
	for _, k := range others {
		wishes = append(wishes, s.showsAir(k, 0.3))
		if len(along) < 10 {
			along = append(along, s.peaks[k].Sub(top))
		}
	}
	if near := s.fill.Pockets[i].Near; s.port(near) != nil {
		c := s.port(near)
		wishes = append(wishes, showsChannel(c, 0.4))
		along = append(along, c.Mouth.Sub(top))
	}
	if w := s.fill.Pockets[i].Vent; w != nil {
		wishes = append(wishes, showsBore(w, 0.2))
		along = append(along, w.Mouth.Sub(top))
	}
	return s.seen(s.bestSheet([]geom.Vec{top, s.fill.Pockets[i].Top}, along, wishes))
}

// camera looks straight at the section, gravity down.
func (v view) camera() render.Camera { return render.Facing(v.plane, v.up) }
