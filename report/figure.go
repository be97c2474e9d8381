package report

import (
	"image"
	"image/color"
	"math"
	"slices"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// studio draws the pictures of one document. One visual language for all: gravity
// points down on paper, CAD +X to the right where the view allows it, resin ochre,
// air dotted blue, rubber hatched, gate violet, vents light blue, and the numbers
// of the findings in circles.
type studio struct {
	mold   *mold.Mold
	fill   *mold.Fill
	up     geom.Vec
	draw   *render.Renderer
	box    geom.Box     // of the halves and the part
	air    []*geom.Mesh // per pocket of the fill, in the part where that can be told, for reckoning
	drawn  []*geom.Mesh // per pocket, with the air beyond the part, for sections
	peaks  []geom.Vec   // per pocket: the middle of its highest part
	poured *geom.Mesh   // resin in the channels that hold some, one mesh

	stained *stained // nil without a pour

	onTake func(p *render.Picture, over pdf.Overlay) // told of every picture taken; may be nil
}

// newStudio prepares the bodies; nil without a closed mold.
func newStudio(o *checks.Outcome) *studio {
	if o.Mold == nil {
		return nil
	}
	s := &studio{mold: o.Mold, fill: o.Fill, up: o.Mold.Up, draw: render.New(), box: o.Mold.FittedPart().Box()}
	for _, h := range o.Mold.Halves {
		s.box = s.box.Union(h.Mesh.Box())
	}
	if o.Fill == nil {
		return s
	}
	s.up = o.Fill.Up
	for i := range o.Fill.Pockets {
		a := o.Mold.AirMesh(o.Fill, o.Fill.Pockets[i].ID)
		if a != nil && len(a.Facets) == 0 {
			a = nil
		}
		s.air = append(s.air, a)
		s.peaks = append(s.peaks, peak(&o.Fill.Pockets[i], a, s.up))
	}
	s.poured = &geom.Mesh{}
	for i := range o.Fill.Ports {
		if c := &o.Fill.Ports[i]; c.Role == mold.Gate || c.WeepsAt != nil {
			s.poured.Append(tube(fullBore(c), 1.03, c.Diameter))
		}
	}
	for i, v := range s.poured.Vertices { // an exit askew to its face does not stick out
		s.poured.Vertices[i] = v.Max(s.box.Min).Min(s.box.Max)
	}
	s.stained = s.stain()
	s.drawn = s.airBodies()
	for i := range s.air {
		if exact := s.stained.patches[i].air; exact != nil {
			s.air[i] = exact
		}
	}
	return s
}

// fullBore widens the stations at the mouth, where the part narrows the way of a
// ball, to the bore's own width.
func fullBore(c *mold.Channel) *mold.Channel {
	d := *c
	d.Radius = slices.Clone(c.Radius)
	for i := range d.Radius {
		d.Radius[i] = max(d.Radius[i], c.Diameter/2)
	}
	return &d
}

// tube returns the bore of a channel as a closed surface around its centre line,
// widened by a factor and begun some millimetres before the mouth: where rubber
// outranks it in a picture, a little more than the bore leaves no white beside it.
func tube(c *mold.Channel, widen, before float64) *geom.Mesh {
	const sides = 24
	m := &geom.Mesh{}
	path, radius := c.Path, c.Radius
	if len(path) < 2 || len(radius) != len(path) {
		return m
	}
	if before > 0 {
		path = append([]geom.Vec{path[0].AddScaled(c.Axis, -before)}, path...)
		radius = append([]float64{radius[0]}, radius...)
	}
	u, _ := path[1].Sub(path[0]).Unit().Perpendicular()
	for i, p := range path {
		along := path[min(i+1, len(path)-1)].Sub(path[max(i-1, 0)]).Unit()
		u = u.AddScaled(along, -u.Dot(along)).Unit() // the least turn from the last ring
		if u == (geom.Vec{}) {
			u, _ = along.Perpendicular()
		}
		w := along.Cross(u)
		for k := range sides {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / sides)
			sin, cos = math.Round(sin*1e12)/1e12, math.Round(cos*1e12)/1e12 // the same on every processor
			r := float64(radius[i] * widen)
			m.Vertices = append(m.Vertices, p.AddScaled(u, float64(r*cos)).AddScaled(w, float64(r*sin)))
		}
	}
	quad := func(a, b, c, d int) {
		m.Facets = append(m.Facets, [3]int32{int32(a), int32(b), int32(c)}, [3]int32{int32(a), int32(c), int32(d)})
	}
	last := (len(path) - 1) * sides
	for k := range sides {
		n := (k + 1) % sides
		for i := 0; i < last; i += sides {
			quad(i+k, i+n, i+sides+n, i+sides+k)
		}
		if k > 0 && n > 0 {
			m.Facets = append(m.Facets, [3]int32{0, int32(n), int32(k)}, [3]int32{int32(last), int32(last + k), int32(last + n)})
		}
	}
	return m
}

// cutOpen are the bodies of a section. Where they meet the higher rank shows:
// rubber hides the columns' steps at the walls, air replaces resin.
func (s *studio) cutOpen() []render.Body {
	out := []render.Body{{Mesh: s.mold.FittedPart(), Color: render.Resin, Cut: true, Cap: render.CapSolid, Rank: 1}}
	if s.poured != nil {
		out = append(out, render.Body{Mesh: s.poured, Color: render.Resin, Cut: true, Cap: render.CapSolid})
	}
	for _, a := range s.drawn {
		if a != nil {
			out = append(out, render.Body{Mesh: a, Color: render.Air, Cut: true, Cap: render.CapDots, Rank: 2})
		}
	}
	for i, h := range s.mold.Halves {
		r := rubberOf(i)
		out = append(out, render.Body{Mesh: h.Mesh, Color: r.color, Cut: true, Cap: r.hatch, Rank: 3})
	}
	return out
}

// ghosts are the halves as outlines.
func (s *studio) ghosts() []render.Body {
	var out []render.Body
	for i, h := range s.mold.Halves {
		out = append(out, render.Body{Mesh: h.Mesh, Color: rubberOf(i).color, Style: render.Ghost})
	}
	return out
}

// stainedPart is the part with the places in blue that air touches.
func (s *studio) stainedPart() render.Body {
	if s.stained == nil {
		return render.Body{Mesh: s.mold.FittedPart(), Color: render.Resin}
	}
	return render.Body{Mesh: s.stained.mesh, Color: render.Resin, FacetColor: s.stained.color, Palette: []color.RGBA{touchInk}}
}

// shot is one picture to take.
type shot struct {
	scene  render.Scene
	width  float64    // mm on paper
	height float64    // mm at most
	least  float64    // mm at least; 0 for a picture as high as height
	frame  []geom.Box // what must be seen whole; empty for the mold
	marks  []callout
	labels []label
	still  bool // no gravity arrow
}

// newShot begins a picture of the whole mold, as high as it needs to be up to
// height.
func (s *studio) newShot(scene render.Scene, width, height float64) *shot {
	return &shot{scene: scene, width: width, height: height, least: min(60, height), frame: []geom.Box{s.box}}
}

// callout is a numbered circle that leads to a finding.
type callout struct {
	at   geom.Vec
	text string
	look look
	link string // anchor
}

// label is a word beside a place. It stands away from the place in the direction
// given, or on it for the zero vector.
type label struct {
	at, toward geom.Vec
	text       string
	ink        color.RGBA
}

const (
	pixelsPerMM = 8    // 203 dots an inch
	sideMM      = 8.2  // room for a column of callouts
	footMM      = 10.0 // strip of scale bar, axes and gravity
	margin      = 0.06 // of the shorter side, for the words outside the block
)

// take draws a shot. Lines and leaders are part of the image; words and callouts
// are set over it as type.
func (s *studio) take(sh *shot, caption pdf.Runs) (pdf.Picture, error) {
	if !sh.still {
		sh.scene.Up = s.up
	}
	sh.scene.PrintWidth = sh.width
	sh.scene.Camera.Margin = margin
	sh.scene.Camera.Frame = sh.frame
	for _, c := range sh.marks {
		sh.scene.Marks = append(sh.scene.Marks, render.Mark{At: c.at, Color: c.look.ring, Weight: render.LightMark})
	}
	h := sh.wanted()
	p, err := s.draw.Draw(&sh.scene, int(sh.width*pixelsPerMM), int(h*pixelsPerMM))
	if err != nil {
		return pdf.Picture{}, err
	}
	if !sh.scene.Plain { // there the strip is not kept free
		clearFoot(p.Image)
	}
	over := sh.annotate(p)
	if s.onTake != nil {
		s.onTake(p, over)
	}
	return pdf.Picture{Caption: caption, Width: sh.width, Over: over, Image: p.Burned()}, nil
}

// wanted returns the height of the picture in mm.
func (sh *shot) wanted() float64 {
	if sh.least == 0 {
		return sh.height
	}
	return min(sh.height, max(sh.least, sh.fitting()))
}

// fitting returns the height in mm at which the framed box fills the width.
func (sh *shot) fitting() float64 {
	look := sh.scene.Camera.Look.Unit()
	right := look.Cross(sh.scene.Camera.Up).Unit()
	up := right.Cross(look)
	b := geom.EmptyBox()
	for _, f := range sh.frame {
		for _, p := range f.Corners() {
			b = b.Include(geom.Vec{X: right.Dot(p), Y: up.Dot(p)})
		}
	}
	dx, dy := b.Max.X-b.Min.X, b.Max.Y-b.Min.Y
	if !(dx > 0 && dy > 0) {
		return 0
	}
	room := sh.width - 2*sideMM
	// the margin is a share of the height, the shorter side as a rule
	return (footMM + float64(room*(dy/dx))) / (1 - 1.5*margin)
}

// clearFoot whitens the strip at the foot, which a close-up runs into.
func clearFoot(m *image.Paletted) {
	white := uint8(m.Palette.Index(render.Paper))
	b := m.Bounds()
	for y := max(b.Min.Y, b.Max.Y-int(footMM*pixelsPerMM)-4); y < b.Max.Y; y++ {
		row := m.Pix[m.PixOffset(b.Min.X, y):m.PixOffset(b.Max.X, y)]
		for i := range row {
			row[i] = white
		}
	}
}

// exactly fixes the height, for two pictures side by side.
func (sh *shot) exactly(mm float64) *shot {
	sh.height, sh.least = mm, 0
	return sh
}
