package report

import (
	"fmt"
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/render"
)

// wholeMold is the picture of the first page: the closed mold cut open as poured,
// with the most harmful findings in circles.
func (s *studio) wholeMold(v view, findings []checks.Finding, height float64) *shot {
	sh := &shot{width: fullWidth, height: height, least: 60}
	sh.scene = render.Scene{Bodies: s.bodies(render.Solid, true), Camera: v.camera(), Cut: v.plane}
	for i := range findings {
		f := &findings[i]
		if f.Accepted == nil && len(sh.marks) < maxMarks {
			sh.addMark(s, v, f)
		}
	}
	s.addChannels(sh, &v)
	s.addNames(sh, v)
	return sh
}

const (
	fullWidth = 170.0 // mm, a figure alone
	halfWidth = 82.0  // mm, one of two side by side
	maxMarks  = 12    // callouts in one picture: two columns of six keep their full size
)

// addMark adds the callout of a finding that has a place. Air is marked where the
// section cuts it, so that the leader ends in the dots.
func (sh *shot) addMark(s *studio, v view, f *checks.Finding) {
	at, ok := geom.Vec{}, false
	if i := s.pocketIndex(f.Pocket); i >= 0 {
		at, ok = s.airSpot(v, i), true
	} else if f.Where.At != nil {
		at, ok = *f.Where.At, true
	}
	if ok {
		sh.marks = append(sh.marks, callout{at, fmt.Sprint(f.ID), lookOf(f), actionAnchor(f)})
	}
}

// pocketIndex returns the index of a pocket in the fill's list, -1 for none.
func (s *studio) pocketIndex(id int) int {
	if s.fill != nil {
		for i := range s.fill.Pockets {
			if s.fill.Pockets[i].ID == id {
				return i
			}
		}
	}
	return -1
}

// port returns the channel with that ID, nil for none.
func (s *studio) port(id int) *mold.Channel {
	for i := range s.fill.Ports {
		if s.fill.Ports[i].ID == id {
			return &s.fill.Ports[i]
		}
	}
	return nil
}

// airSpot returns the place where a pocket is marked.
func (s *studio) airSpot(v view, i int) geom.Vec {
	if v.plane != nil {
		if p, room := v.slice(s.air[i]).roomiest(40); room > 0 {
			return v.point(p)
		}
	}
	p := &s.fill.Pockets[i]
	return s.peak(i).AddScaled(s.up, -min(0.3*p.Depth, 0.5))
}

// addChannels names the channels; with a section only those it runs along.
func (s *studio) addChannels(sh *shot, v *view) {
	if s.fill == nil {
		return
	}
	for i := range s.fill.Ports {
		c := &s.fill.Ports[i]
		if v != nil && min(v.off(c.End), v.off(c.Mouth)) > c.Diameter/2 {
			continue
		}
		at := c.End
		if v != nil && c.Exit == nil {
			at = c.Mouth.Lerp(c.End, 0.5)
		}
		sh.labels = append(sh.labels, label{at: at, toward: c.ExitAxis, text: channelName(c)})
	}
}

// channelName is how pages and pictures call a channel.
func channelName(c *mold.Channel) string {
	name := string(c.Role)
	if c.Role == mold.Blind {
		name = "blind channel"
	}
	return fmt.Sprintf("%s %d", name, c.ID)
}

// addNames writes the halves' names and 'resin' where the section has room.
func (s *studio) addNames(sh *shot, v view) {
	part := v.slice(s.mold.FittedPart())
	var solids []outline
	for _, h := range s.mold.Halves {
		solids = append(solids, v.slice(h.Mesh))
	}
	for i, h := range s.mold.Halves {
		if p, room := solids[i].roomiest(24); room > 1.5 {
			sh.labels = append(sh.labels, label{at: v.point(p), text: h.Name})
		}
	}
	var air []outline
	for _, a := range s.air {
		air = append(air, v.slice(a))
	}
	if p, room := part.roomiest(24, append(air, solids...)...); room > 1 && s.fill != nil {
		sh.labels = append(sh.labels, label{at: v.point(p), text: "resin"})
	}
}

// turned is the view from above and aside with the halves as ghosts, pockets of
// the group in circles.
func (s *studio) turned(turn int, group []int, mark func(i int) callout, width, height float64) *shot {
	sh := &shot{width: width, height: height, least: 60}
	sh.scene = render.Scene{Bodies: s.bodies(render.Ghost, false), Camera: render.Isometric(s.up, turn)}
	for _, i := range group[:min(len(group), maxMarks)] {
		c := mark(i)
		c.at = s.airSpot(view{}, i)
		sh.marks = append(sh.marks, c)
	}
	return sh
}

// turnFor picks the corner from which a place is nearest to the viewer.
func (s *studio) turnFor(p geom.Vec) int {
	d := geom.FrameFor(s.up).Turn(p.Sub(s.mold.FittedPart().Box().Center()))
	best, most := 0, math.Inf(-1)
	for turn, corner := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		if near := float64(corner[0]*d.X) + float64(corner[1]*d.Y); near > most+1e-6 {
			best, most = turn, near
		}
	}
	return best
}

// detail is the true section through a group of pockets, as large as it can be.
func (s *studio) detail(v view, group []int, mark func(i int) callout, width, height float64) *shot {
	sh := &shot{width: width, height: height, least: 60}
	sh.scene = render.Scene{Bodies: s.bodies(render.Solid, true), Camera: v.camera(), Cut: v.plane}
	lo, hi := spot{math.Inf(1), math.Inf(1)}, spot{math.Inf(-1), math.Inf(-1)}
	for _, i := range group {
		a, b, ok := v.slice(s.air[i]).bounds()
		if !ok {
			continue
		}
		lo, hi = spot{min(lo.X, a.X), min(lo.Y, a.Y)}, spot{max(hi.X, b.X), max(hi.Y, b.Y)}
		c := mark(i)
		c.at = s.airSpot(v, i)
		sh.marks = append(sh.marks, c)
		s.addLevel(sh, v, i, a, b)
	}
	s.addChannels(sh, &v)
	s.addSuggested(sh, v, group)
	sh.frame = s.closeUp(v, lo, hi, (width-2*sideMM)/(height-footMM))
	return sh
}

// closeUp frames a rectangle of a section with its surroundings, no more than
// the mold, in the given ratio of width to height as far as that shows more.
func (s *studio) closeUp(v view, lo, hi spot, ratio float64) []geom.Box {
	wide, high := hi.X-lo.X, hi.Y-lo.Y
	around := max(5, 0.5*max(wide, high))
	wide, high = wide+2*around, high+2*around
	wide, high = max(wide, high*ratio), max(high, wide/ratio)
	mid := spot{(lo.X + hi.X) / 2, (lo.Y + hi.Y) / 2}
	most := geom.EmptyBox()
	for _, p := range s.box.Corners() {
		q := v.spot(p)
		most = most.Include(geom.Vec{X: q.X, Y: q.Y})
	}
	a := spot{max(mid.X-wide/2, most.Min.X), max(mid.Y-high/2, most.Min.Y)}
	b := spot{min(mid.X+wide/2, most.Max.X), min(mid.Y+high/2, most.Max.Y)}
	p, q := v.point(a), v.point(b)
	return []geom.Box{{Min: p, Max: p}, {Min: q, Max: q}}
}

// addLevel draws the level at which the resin sealed a pocket.
func (s *studio) addLevel(sh *shot, v view, i int, lo, hi spot) {
	y := s.fill.Pockets[i].SealedAt - s.up.Dot(v.origin)
	reach := max(2, 0.12*(hi.X-lo.X))
	a, b := v.point(spot{lo.X - reach, y}), v.point(spot{hi.X + reach, y})
	sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Axis, From: a, To: b, Weight: 2.2})
	sh.labels = append(sh.labels, label{at: b, toward: v.right, text: "spill level"})
}

// addSuggested draws the vents suggested for a group where the section shows them.
func (s *studio) addSuggested(sh *shot, v view, group []int) {
	for _, i := range group {
		w := s.fill.Pockets[i].Vent
		if w == nil || v.plane != nil && max(v.off(w.Mouth), v.off(w.Exit)) > w.Diameter {
			continue
		}
		r := w.Diameter / 2
		side := v.right
		if v.plane == nil {
			side, _ = w.Direction.Perpendicular()
		}
		side = side.AddScaled(w.Direction, -side.Dot(w.Direction)).Unit()
		for _, k := range [2]float64{r, -r} {
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Segment, From: w.Mouth.AddScaled(side, k), To: w.Exit.AddScaled(side, k), Color: render.Gate, Weight: 2})
		}
		sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Axis, From: w.Mouth, To: w.Exit, Color: render.Gate, Weight: 1.5})
		sh.labels = append(sh.labels, label{at: w.Mouth.Lerp(w.Exit, 0.5), toward: v.right, text: fmt.Sprintf("add vent %d", w.ID)})
	}
}
