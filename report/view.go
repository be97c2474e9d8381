package report

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image/color"
	"math"
	"slices"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// The mold in 3D in report.html: one block of bytes with a head in JSON, the bodies
// packed (viewpack.go), the moments of the pour and the pockets of every tilt; the
// page's script unpacks and draws it (folder view) with the library in folder three.

// viewFacets bounds the facets of all bodies together: about 0.4 MB a 100 000 in the
// page. Larger molds are shown coarser, and the page says by how much.
const viewFacets = 240_000

// viewMoments bounds the nodes that say when the resin comes where.
const viewMoments = 400_000

// viewColumn is the step in mm to which the columns of a tilt's pockets are rounded.
const viewColumn = 0.05

type viewHead struct {
	Low      [3]float64    `json:"low"`  // place of the number 0 along each axis, mm
	Step     float64       `json:"step"` // mm of one number
	Up       [3]float64    `json:"up"`
	Bodies   []viewBody    `json:"bodies"`
	Moments  *viewGrid     `json:"moments"`
	Resin    float64       `json:"ml"`
	Stages   []viewStage   `json:"stages"`
	Ports    []viewPort    `json:"ports"`
	Findings []viewFinding `json:"findings"`
	Tilts    []viewTilt    `json:"tilts"`
	Limit    float64       `json:"limit"` // degrees
	Column   float64       `json:"column"`
	Inks     viewInks      `json:"inks"`
}

type viewBody struct {
	Name     string `json:"name"`
	Kind     string `json:"kind"` // half, part, gate (full from the start) or bore
	Color    string `json:"color"`
	Hatch    int    `json:"hatch"` // 1 rising, -1 falling, 0 none
	Vertices int    `json:"vertices"`
	Facets   int    `json:"facets"`
}

type viewGrid struct {
	Axes  [3][3]float64 `json:"axes"`
	First [3]float64    `json:"first"`
	Step  float64       `json:"step"`
	N     [3]int        `json:"n"`
}

type viewStage struct {
	Share float64 `json:"share"` // of the resin
	Level string  `json:"level"`
}

type viewPort struct {
	Name    string     `json:"name"`
	At      [3]float64 `json:"at"`
	Drips   *float64   `json:"drips"` // share of the resin
	Covered *float64   `json:"covered"`
}

type viewFinding struct {
	ID    int         `json:"id"`
	Row   string      `json:"row"` // its row among the actions
	Word  string      `json:"word"`
	Title string      `json:"title"`
	Place string      `json:"place"`
	At    *[3]float64 `json:"at"`
	Pour  bool        `json:"pour"` // holds at the chosen tilt only
	Ring  string      `json:"ring"`
	Fill  string      `json:"fill"`
	Ink   string      `json:"ink"`
}

type viewTilt struct {
	Angle   float64      `json:"angle"`
	Side    float64      `json:"side"`
	Up      [3]float64   `json:"up"`
	Words   string       `json:"words"`
	Flag    string       `json:"flag"`
	Air     string       `json:"air"`
	Count   int          `json:"count"`
	Class   int          `json:"class"`
	Ink     string       `json:"ink"`
	Mark    string       `json:"mark,omitempty"` // chosen or best
	Pockets []viewPocket `json:"pockets"`
}

type viewPocket struct {
	At    [3]float64 `json:"at"`
	Air   string     `json:"air"`
	Width float64    `json:"width"`
	N     int        `json:"n"` // columns
}

type viewInks struct {
	Ink, Resin, Air, Part, Gate string
}

// viewData packs the view of a document, and says how far its surfaces may be off, mm; nil
// without a closed mold.
func viewData(d *Document) (data []byte, off float64, err error) {
	s := d.studio()
	if s == nil {
		return nil, 0, nil
	}
	v := newViewPack(s.box)
	h := &viewHead{Low: rounded(s.box.Min), Step: v.step, Up: rounded(s.up), Column: viewColumn,
		Bodies: []viewBody{}, Stages: []viewStage{}, Ports: []viewPort{}, Tilts: []viewTilt{}, // a list without members is no null to the script
		Inks: viewInks{cssColor(render.Ink), cssColor(render.Resin), cssColor(render.Air), cssColor(render.Part), cssColor(render.Gate)}}
	off = v.bodies(h, s)
	v.pour(h, s.fill)
	h.Findings = viewFindings(d)
	for _, t := range viewTilts(d.Outcome.Tilts) {
		h.Tilts = append(h.Tilts, v.tilt(d.Outcome.Tilts, t))
	}
	if t := d.Outcome.Tilts; t != nil {
		h.Limit = fixed(t.Limit*180/math.Pi, 3)
	}
	data, err = v.packed(h)
	return data, off, err
}

// viewHTML writes the view's place in the page; empty without a closed mold.
func viewHTML(d *Document) (string, error) {
	data, off, err := viewData(d)
	if data == nil || err != nil {
		return "", err
	}
	note := "Drag to turn, scroll to come nearer. Look at the cut faces: hatched is rubber, ochre resin, dotted blue air that stays."
	if off > 0 {
		note += fmt.Sprintf(" Drawn coarser than the files, by up to %s.", Length(off))
	}
	return fmt.Sprintf("<h2 id=\"mold-3d\">The mold in 3D</h2>\n<section id=\"view\" aria-label=\"The mold in 3D\"><div class=\"stage\"><div class=\"marks\"></div>"+
		"<svg class=\"triad\" viewBox=\"-45 -45 90 90\" aria-hidden=\"true\"></svg><div class=\"bar\" aria-hidden=\"true\"></div></div><div class=\"controls\"></div>"+
		"<p class=\"said\" role=\"status\"></p><script type=\"application/octet-stream\">%s</script></section>\n<p class=\"note view-note\">%s</p>\n", viewText(data), escape(note)), nil
}

// packed puts the head before the bytes and squeezes both.
func (v *viewPack) packed(h *viewHead) ([]byte, error) {
	head, err := json.Marshal(h)
	if err != nil {
		return nil, err
	}
	return squeezed(binary.LittleEndian.AppendUint32(nil, uint32(len(head))), head, v.out)
}

func squeezed(parts ...[]byte) ([]byte, error) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	for _, p := range parts {
		if _, err := z.Write(p); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return b.Bytes(), err
}

// fixed rounds to a number of decimals, and never gives a negative zero.
func fixed(x float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.Round(x*p)/p + 0
}

func rounded(v geom.Vec) [3]float64 { return [3]float64{fixed(v.X, 6), fixed(v.Y, 6), fixed(v.Z, 6)} }

// bodies packs the halves, the part and the channels.
func (v *viewPack) bodies(h *viewHead, s *studio) (off float64) {
	var list []*geom.Mesh
	add := func(m *geom.Mesh, name, kind string, c color.RGBA, hatch int) {
		if len(m.Facets) > 0 {
			list = append(list, m)
			h.Bodies = append(h.Bodies, viewBody{Name: name, Kind: kind, Color: cssColor(c), Hatch: hatch})
		}
	}
	if s.fill != nil {
		for i := range s.fill.Ports {
			c := &s.fill.Ports[i]
			kind := "bore"
			if c.Role == mold.Gate && !s.mold.Job.GateOpen {
				kind = "gate"
			}
			m := tube(fullBore(c), 1.03, c.Diameter)
			for n, p := range m.Vertices {
				m.Vertices[n] = p.Max(s.box.Min).Min(s.box.Max)
			}
			add(m, channelName(c), kind, render.Resin, 0)
		}
	}
	add(s.mold.FittedPart(), "part", "part", render.Part, 0)
	for i, half := range s.mold.Halves {
		r := rubberOf(i)
		hatch := 1
		if r.hatch == render.CapHatchBack {
			hatch = -1
		}
		add(half.Mesh, half.Name, "half", r.color, hatch)
	}
	list, off = coarseEnough(list, s.box, viewFacets)
	for i, m := range list {
		b := &h.Bodies[i]
		b.Vertices, b.Facets = v.mesh(m), len(m.Facets)
	}
	return off
}

// coarseEnough merges vertices until the bodies have at most most facets together, and
// says how far this may have moved a vertex, mm.
func coarseEnough(list []*geom.Mesh, box geom.Box, most int) ([]*geom.Mesh, float64) {
	facets, area := 0, 0.0
	for _, m := range list {
		facets += len(m.Facets)
		area += m.Area()
	}
	if facets <= most {
		return list, 0
	}
	// A surface has about two facets for every cell of it, and crosses one and a half.
	for size := math.Sqrt(2 * area / float64(most)); ; size *= 1.25 {
		out := make([]*geom.Mesh, len(list))
		facets = 0
		for i, m := range list {
			out[i] = mold.Coarsened(m, box.Min, size)
			facets += len(out[i].Facets)
		}
		if facets <= most {
			return out, size * math.Sqrt(3)
		}
	}
}

// pour packs the moments, and what is said of the channels and levels.
func (v *viewPack) pour(h *viewHead, f *mold.Fill) {
	if f == nil || len(f.Stages) == 0 {
		return
	}
	all := f.Stages[len(f.Stages)-1].Filled
	h.Resin = fixed(all/1000, 4)
	for i := range f.Stages {
		h.Stages = append(h.Stages, viewStage{fixed(f.Stages[i].Percent/100, 4), Length(f.Stages[i].Level)})
	}
	share := func(ml *float64) *float64 {
		if ml == nil || !(all > 0) {
			return nil
		}
		x := fixed(*ml*1000/all, 4)
		return &x
	}
	for i := range f.Ports {
		c := &f.Ports[i]
		h.Ports = append(h.Ports, viewPort{channelName(c), rounded(c.End), share(c.WeepsAt), share(c.PlugAt)})
	}
	if g := f.Moments(viewMoments); g != nil {
		h.Moments = &viewGrid{[3][3]float64{rounded(g.Frame.X), rounded(g.Frame.Y), rounded(g.Frame.Z)}, rounded(g.First), fixed(g.Step, 6), g.N}
		v.out = append(v.out, g.At...)
	}
}

// viewFindings lists the findings as the view tells them.
func viewFindings(d *Document) []viewFinding {
	out := []viewFinding{}
	for i := range d.Outcome.Findings {
		f := &d.Outcome.Findings[i]
		l := lookOf(f)
		w := viewFinding{ID: f.ID, Row: actionAnchor(f), Word: f.Severity.String(), Title: clean(typeset(f.Title)), Place: clean(f.Where.Body),
			Pour: f.Pocket > 0 || f.Channel > 0, Ring: cssColor(l.ring), Fill: cssColor(l.fill), Ink: cssColor(l.text)}
		if f.Accepted != nil {
			w.Word = "accepted"
		}
		if f.Where.At != nil {
			at := rounded(*f.Where.At)
			w.At, w.Place = &at, fmt.Sprintf("at %s", coordinates(*f.Where.At))
			if f.Where.Body != "" {
				w.Place += " on " + clean(f.Where.Body)
			}
		}
		out = append(out, w)
	}
	return out
}

// viewTilts are the tilts of the disc: those within the limit, and the chosen one, from
// the middle outward.
func viewTilts(s *mold.TiltSearch) []mold.TiltPoint {
	if s == nil {
		return nil
	}
	var out []mold.TiltPoint
	for _, p := range s.Points {
		if p.Tilt.Angle <= s.Limit+1e-9 || p.Tilt == s.Now.Tilt {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b mold.TiltPoint) int {
		switch {
		case a.Tilt.Angle != b.Tilt.Angle:
			return sign(a.Tilt.Angle - b.Tilt.Angle)
		}
		return sign(a.Tilt.Side - b.Tilt.Side)
	})
	return out
}

func sign(x float64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// tilt packs what stays at a tilt. Of the chosen tilt the report's own pour is told.
func (v *viewPack) tilt(s *mold.TiltSearch, p mold.TiltPoint) viewTilt {
	deg := 180 / math.Pi
	t := viewTilt{Angle: fixed(p.Tilt.Angle*deg, 3), Side: fixed(p.Tilt.Side*deg, 3), Up: rounded(p.Up), Words: tiltWords(p.Tilt), Flag: tiltFlag(p.Tilt), Pockets: []viewPocket{}}
	switch {
	case p.Tilt == s.Now.Tilt:
		t.Mark = "chosen"
		if s.Best.Tilt == s.Now.Tilt {
			t.Mark = "chosen, best"
		}
		p = poured(p, s.NowFill)
		for i := range s.NowFill.Pockets {
			k := &s.NowFill.Pockets[i]
			t.Pockets = append(t.Pockets, viewPocket{At: rounded(k.Top), Air: Volume(k.Volume)})
		}
	case p.Tilt == s.Best.Tilt:
		t.Mark = "best"
		p = poured(p, s.BestFill)
	}
	t.Air, t.Count, t.Class = Volume(p.Trapped), p.Pockets, airClass(s, p)
	t.Ink = cssColor(pdf.Disc{Classes: classWords()}.ClassInk(t.Class))
	if p.Tilt == s.Now.Tilt {
		return t
	}
	for i := range p.Air {
		k := &p.Air[i]
		t.Pockets = append(t.Pockets, viewPocket{rounded(k.Top), Volume(k.Volume), fixed(k.Width, 4), len(k.Columns)})
		v.columns(k.Columns)
	}
	return t
}
