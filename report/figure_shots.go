package report

import (
	"fmt"
	"math"
	"slices"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/render"
)

// wholeMold is the picture of the first page: the closed mold cut open as poured,
// with the most harmful findings in circles.
func (s *studio) wholeMold(v view, findings []checks.Finding, height float64) *shot {
	sh := s.newShot(render.Scene{Bodies: s.cutOpen(), Camera: v.camera(), Cut: v.plane}, fullWidth, height)
	r := s.silhouette(v.sheet)
	r.lo.Y -= labelMM * (r.hi.X - r.lo.X) / (fullWidth - 2*sideMM) // room for the name of a gate below
	sh.frame = v.boxes(r)
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
	fullWidth = 170.0 // mm, a figure alone; a letter page is 6 mm wider
	halfWidth = 82.0  // mm, one of two side by side
	labelMM   = 4.0   // a word below the block, with white
	maxMarks  = 12    // callouts in one picture: two columns of six keep their full size
)

// addMark adds the callout of a finding that has a place. Air is marked where the
// section cuts it, so that the leader ends in the dots.
func (sh *shot) addMark(s *studio, v view, f *checks.Finding) {
	at, ok := geom.Vec{}, false
	if i := s.pocketIndex(f.Pocket); i >= 0 && f.Check == "air" {
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

// airSpot returns the place where a section marks a pocket: in the dots, inside
// the part where the section shows that.
func (s *studio) airSpot(v view, i int) geom.Vec {
	air := v.slice(s.air[i])
	for _, in := range [][]outline{{air, v.slice(s.mold.FittedPart())}, {air}} {
		if p, room := roomiest(48, in, nil); room > 0 {
			return v.point(p)
		}
	}
	return s.surfaceSpot(i)
}

// surfaceSpot returns the place where a view from above marks a pocket.
func (s *studio) surfaceSpot(i int) geom.Vec {
	if s.stained != nil && s.stained.patches[i].some {
		return s.stained.patches[i].spot
	}
	return s.fill.Pockets[i].Top
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
		l := label{at: c.End, toward: c.ExitAxis, text: channelName(c)}
		if v != nil && c.Exit == nil {
			l.at, l.toward = c.Mouth.Lerp(c.End, 0.5), v.right // the rubber goes on beyond its end
		}
		sh.labels = append(sh.labels, l)
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
		if p, room := roomiest(24, []outline{solids[i]}, nil); room > 1.5 {
			sh.labels = append(sh.labels, label{at: v.point(p), text: h.Name})
		}
	}
	var air []outline
	for _, a := range s.air {
		air = append(air, v.slice(a))
	}
	if p, room := roomiest(24, []outline{part}, append(air, solids...)); room > 1 && s.fill != nil {
		sh.labels = append(sh.labels, label{at: v.point(p), text: "resin"})
	}
}

// fromAbove is the view from above and aside with the halves as outlines, every
// pocket in a circle.
func (s *studio) fromAbove(mark func(i int) callout, width, height float64) *shot {
	scene := render.Scene{Bodies: append(s.ghosts(), s.stainedPart()), Camera: render.Isometric(s.up, s.turnFor(s.surfaceSpot(0)))}
	sh := s.newShot(scene, width, height)
	part := s.mold.FittedPart().Box()
	sh.frame = []geom.Box{part.Grow(float64(0.1 * part.Diagonal()))}
	for i := range s.fill.Pockets[:min(len(s.fill.Pockets), maxMarks)] {
		c := mark(i)
		c.at = s.surfaceSpot(i)
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

// detail is the true section through a view's pockets, as large as it can be.
func (s *studio) detail(v view, mark func(i int) callout, width, height float64) *shot {
	sh := s.newShot(render.Scene{Bodies: s.cutOpen(), Camera: v.camera(), Cut: v.plane}, width, height)
	sh.least = 0
	all := newFrame()
	for _, i := range v.pockets {
		r := s.airFrame(v.sheet, i)
		all = all.union(r)
		c := mark(i)
		c.at = s.airSpot(v, i)
		sh.marks = append(sh.marks, c)
		s.addLevel(sh, v, i, r)
	}
	r := s.closeUp(v, all, (width-2*sideMM)/(height-footMM))
	sh.frame = v.boxes(r)
	for _, i := range s.seen(v.sheet).pockets { // other pockets in sight keep their numbers
		c := mark(i)
		c.at = s.airSpot(v, i)
		at := v.spot(c.at)
		if !slices.Contains(v.pockets, i) && len(sh.marks) < maxMarks && r.holds(frame{at, at}) {
			sh.marks = append(sh.marks, c)
		}
	}
	s.addSuggested(sh, v)
	s.addChannels(sh, &v)
	return sh
}

// closeUp frames a rectangle of a section with its surroundings, no more than
// the mold, in the given ratio of width to height as far as that shows more.
func (s *studio) closeUp(v view, r frame, ratio float64) frame {
	r = r.grown()
	wide, high := r.hi.X-r.lo.X, r.hi.Y-r.lo.Y
	wide, high = float64(max(wide, high*ratio)/2), float64(max(high, wide/ratio)/2)
	mid := spot{(r.lo.X + r.hi.X) / 2, (r.lo.Y + r.hi.Y) / 2}
	most := s.silhouette(v.sheet)
	return frame{spot{max(mid.X-wide, most.lo.X), max(mid.Y-high, most.lo.Y)}, spot{min(mid.X+wide, most.hi.X), min(mid.Y+high, most.hi.Y)}}
}

// silhouette is the mold's box as the section's camera sees it.
func (s *studio) silhouette(sh sheet) frame {
	r := newFrame()
	for _, p := range s.box.Corners() {
		r = r.include(sh.spot(p))
	}
	return r
}

// boxes returns two corners of a rectangle of the section, for a camera's frame.
func (sh sheet) boxes(r frame) []geom.Box {
	p, q := sh.point(r.lo), sh.point(r.hi)
	return []geom.Box{{Min: p, Max: p}, {Min: q, Max: q}}
}

// airFrame is what a section shows of a pocket, inside the part if it can.
func (s *studio) airFrame(sh sheet, i int) frame {
	r := newFrame()
	level := s.fill.Pockets[i].SealedAt - s.up.Dot(sh.origin)
	top := s.fill.Pockets[i].Top.Dot(s.up) - s.up.Dot(sh.origin)
	for _, e := range sh.slice(s.air[i]) {
		for _, p := range e {
			if p.Y <= top+1e-6 { // air in a channel rises above the pocket's top
				r = r.include(p)
			}
		}
	}
	if r.empty() {
		p := sh.spot(s.fill.Pockets[i].Top)
		r = r.include(p).include(spot{p.X, level})
	}
	return r
}

// addLevel draws the level at which the resin sealed a pocket.
func (s *studio) addLevel(sh *shot, v view, i int, r frame) {
	y := s.fill.Pockets[i].SealedAt - s.up.Dot(v.origin)
	reach := max(1.5, 0.12*(r.hi.X-r.lo.X))
	a, b := v.point(spot{r.lo.X - reach, y}), v.point(spot{r.hi.X + reach, y})
	sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Axis, From: a, To: b, Weight: 2.2})
	sh.labels = append(sh.labels, label{at: b, toward: v.right, text: "spill level"})
}

// addSuggested draws the vents suggested for a view's pockets where it shows
// them: bores that are not there yet.
func (s *studio) addSuggested(sh *shot, v view) {
	drawn := map[int]bool{} // asked by vent only
	for _, i := range v.pockets {
		w := s.fill.Pockets[i].Vent
		if w == nil || drawn[w.ID] || showsBore(w, 1).shown(v.sheet) < 0.3 {
			continue // the section would shave it
		}
		drawn[w.ID] = true
		sh.scene.Bodies = append(sh.scene.Bodies, render.Body{Mesh: boreOf(w), Color: toAdd, Cut: true, Cap: render.CapSolid, Rank: 4})
		sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Axis, From: w.Mouth, To: w.Exit, Color: render.Gate, Weight: 1.5})
		at := w.Mouth.Lerp(w.Exit, 0.5)
		sh.labels = append(sh.labels, label{at: at, toward: v.right, text: fmt.Sprintf("add vent %d", w.ID)})
	}
}

// boreOf is a suggested vent as a body.
func boreOf(w *mold.SuggestedVent) *geom.Mesh {
	r := w.Diameter / 2
	return tube(&mold.Channel{Path: []geom.Vec{w.Mouth, w.Exit}, Radius: []float64{r, r}}, 1, 0)
}
