package measure

import "math"

// Allowances for what is only rounding. A bound is a quotient of sums of a few products,
// each rounded by 2^-53; normals in single precision are off by 2^-24, and those of pieces
// from their facet's by some roundings over their height.
const (
	slack       = 1 + 1e-9
	normalSlack = 1e-6
)

// pointShare is the part of a stretch's length up to which the facet at its end counts as
// one with the disc of its longest edge: where in it the ball touches hardly tells then.
const pointShare = 0.35

// end is one end of a stretch.
type end struct {
	given, piece int32 // the facet, and its piece
	z            int32
	cos          float64 // between the stretch and the inward normal
}

// pair is what the facets at both ends of a stretch have in common.
type pair struct {
	length float64 // mm
	den    float64 // 1 - na . nb
	flat   bool    // their planes are opposed
	u, v   int32   // of the line, in quanta
	line   uint32  // direction and line
}

// wanted is an end of a stretch whose ball has to be measured.
type wanted struct {
	f, g  int32   // the facet that it is for, and the one opposite
	least float32 // mm: what counts at the least, rounded
	pair
	z int32
}

// stretch looks at a stretch for the facets at both ends. The ball that touches
// facet a at one end and the plane of facet b has the diameter
// 2 L (nb . d)/(1 - na . nb), where L is the stretch's length along d: no ball that
// touches b itself is smaller. So what is thicker than Most says nothing, nor does
// what lies in a wider wedge and at no inner edge.
func (s *sampler) stretch(i int32) {
	l := &s.lines
	lo, hi := end{given: l.LoFacet[i], z: l.Lo[i]}, end{given: l.HiFacet[i], z: l.Hi[i]}
	lo.piece, hi.piece = s.pieces.first(lo.given), s.pieces.first(hi.given)
	a, b := &s.faces[lo.piece], &s.faces[hi.piece]
	na, nb := a.inward(), b.inward()
	lo.cos, hi.cos = na.Dot(s.d), -nb.Dot(s.d)
	if !(lo.cos > 0 && hi.cos > 0) {
		return
	}
	a.meet()
	b.meet()
	s.count += 2
	w := pair{length: float64(hi.z-lo.z) * s.lat.Q, den: 1 - na.Dot(nb)}
	if 2*w.length*min(lo.cos, hi.cos) > s.t.Options.Most*(1+normalSlack)*w.den {
		return
	}
	w.flat = w.den >= s.t.denFlat-normalSlack
	if !w.flat && !s.mayRest(&lo, &hi, w.length) {
		return
	}
	for l.Start[s.line+1] <= i {
		s.line++
	}
	w.line = s.code | uint32(s.line)
	w.u, w.v = s.lat.At(0, s.line/l.NV), s.lat.At(1, s.line%l.NV)
	s.findPiece(&lo, &w)
	s.findPiece(&hi, &w)
	s.end(&lo, &hi, &w)
	s.end(&hi, &lo, &w)
}

// mayRest tells whether a ball that touches the facet at one end of a stretch may rest on an
// inner edge beside the facet at the other end. What is at hand is asked first.
func (s *sampler) mayRest(lo, hi *end, length float64) bool {
	if !s.pieces.split(lo.given) && !s.pieces.split(hi.given) {
		a, b := float64(s.faces[lo.piece].size), float64(s.faces[hi.piece].size)
		if !s.t.reaches(lo.cos, b/length) && !s.t.reaches(hi.cos, a/length) {
			return false
		}
	}
	return s.ridge[lo.given] || s.ridge[hi.given]
}

func (s *sampler) findPiece(e *end, w *pair) {
	if s.pieces.split(e.given) {
		e.piece = s.pieces.at(e.given, s.lat.Point(w.u, w.v, e.z))
	}
}

// end takes what a stretch says for the facet at one of its ends: at once where the facet
// opposite is small, else it lists it.
func (s *sampler) end(here, there *end, w *pair) {
	f, g := &s.faces[here.piece], &s.faces[there.piece]
	size := float64(g.size)
	if !w.flat {
		least := rounded(2 * w.length * there.cos / w.den)
		if least < f.least && s.t.reaches(here.cos, size/w.length) && s.t.ridge[there.piece] {
			s.list = append(s.list, wanted{f: here.piece, g: there.piece, least: least, pair: *w, z: here.z})
		}
		return
	}
	switch least := w.nearest(here.cos, there.cos, size); {
	case !(least < f.least):
	case size < pointShare*w.length:
		f.take(least, there.piece, w.line, here.z)
	default:
		s.list = append(s.list, wanted{f: here.piece, g: there.piece, least: least, pair: *w, z: here.z})
	}
}

// nearest returns the diameter, rounded, of the ball that touches facet a at its end of a
// stretch and goes through the place of the plane of facet b that lies, at most size from
// the other end, toward where the least such ball touches: at r(nb - na) from a's
// end with r = L cb/den, which is L sqrt(1 - 2 ca cb/den) from the other one.
func (w *pair) nearest(ca, cb, size float64) float32 {
	r := w.length * cb / w.den
	off := w.length * math.Sqrt(max(0, 1-2*float64(ca*cb)/w.den))
	if off <= size {
		return rounded(2 * r)
	}
	// The chord to the place that is size from the end toward the contact.
	s := size / off
	l, m := w.length*(1-s), r*s
	rise := float64(l*ca) + float64(m*w.den)
	d2 := float64(l*l) + 2*float64(float64(l*m)*(ca+cb)) + 2*float64(float64(m*m)*w.den)
	return rounded(d2 / rise)
}

// reaches tells whether a facet may hold a place that lies opposed: it is at most size
// stretch lengths from the end of a stretch, whose cosine with the inward normal is given.
func (t *Thickness) reaches(cos, size float64) bool {
	if size >= 1 {
		return true
	}
	half := math.Sqrt(t.cos2)
	return cos >= float64(half*math.Sqrt(1-float64(size*size)))-float64(math.Sqrt(1-t.cos2)*size)
}

// measure takes the balls of the listed ends that still say something.
func (s *sampler) measure() {
	x := 0.0
	for i := range s.list {
		f := &s.t.Mesh.Facets[s.list[i].g] // so that the waits overlap
		x += s.t.Mesh.Vertices[f[0]].X + s.t.Mesh.Vertices[f[1]].X + s.t.Mesh.Vertices[f[2]].X
	}
	s.touched += float32(x)
	for i := range s.list {
		if w := &s.list[i]; w.least < s.faces[w.f].least {
			s.contact(w)
		}
	}
}

// contact takes the ball that touches a facet at a stretch's end and the facet opposite,
// if the two lie opposed. Where the planes do, the ball is followed to its contact later,
// and only the least one; where only the way between the two facets does, as beside an
// inner edge that points to f, the contact decides at once.
func (s *sampler) contact(w *wanted) {
	t, f := s.t, &s.faces[w.f]
	p := s.lat.Point(w.u, w.v, w.z)
	inward, normal := f.inward(), s.faces[w.g].inward().Neg() // at hand; what is chosen is measured anew
	tri := t.Mesh.Triangle(int(w.g))
	h := normal.Dot(tri.A.Sub(p))
	if !(h > 0) {
		return
	}
	r := h / w.den
	x := tri.Closest(p.AddScaled(inward, r).AddScaled(normal, r))
	v := x.Sub(p)
	rise, d2 := inward.Dot(v), v.Norm2()
	switch {
	case !(rise > 0):
	case w.flat:
		f.take(max(w.least, rounded(d2/rise)), w.g, w.line, w.z)
	case t.opposed(rise, d2):
		// A contact below the bound lies on another facet. It is that one's sample to
		// find: counted here, it would depend on what was known before.
		if b, ok := t.ball(p, t.Normal[w.f].Neg(), w.g); ok && b.d*slack >= 2*r {
			f.take(max(w.least, rounded(b.d)), b.on, w.line, w.z)
		}
	}
}
