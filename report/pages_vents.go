package report

import (
	"fmt"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// ventPages tell of gate and vents, of the high points that they drain, and of
// the vents to add.
func (b *book) ventPages() error {
	b.pdf.PageBreak()
	b.pdf.Heading(1, "Gate and vents")
	f := b.Outcome.Fill
	if f == nil || b.studio == nil {
		b.pdf.Para(pdf.Text("Not judged: the pour was not computed."))
		return nil
	}
	sh := b.studio.channelView(b)
	p, err := b.studio.take(sh, pdf.Runs{pdf.Strong("Channels as found in the meshes, halves as outlines. "),
		pdf.Text("Violet: gate. Light blue: vents. Grey: blind, ends inside the rubber. Look whether every high point of the cavity has a vent over it; crosses mark the mouths of vents to add.")})
	if err != nil {
		return err
	}
	b.pdf.Figure(p)
	b.pdf.Table(b.channelTable(f))
	b.pdf.Note(pdf.Text("Narrowest: diameter of the largest ball that passes, and where. L/D: length over narrowest diameter. Weeps: resin that has left the gate's mouth when the exit drips first. Plug: when the exit is wholly covered; plug it then, not before."))
	b.suggested(f)
	b.highPoints(f)
	return nil
}

// channelView shows the channels as solids in the colour of their role.
func (s *studio) channelView(b *book) *shot {
	turn := 0
	if len(s.fill.Ports) > 0 {
		turn = s.turnFor(s.fill.Ports[0].Mouth)
	}
	scene := render.Scene{Bodies: append(s.ghosts(), render.Body{Mesh: s.mold.FittedPart(), Color: render.Resin, Style: render.Ghost}), Camera: render.Isometric(s.up, turn)}
	sh := s.newShot(scene, fullWidth, 95)
	for i := range s.fill.Ports {
		c := &s.fill.Ports[i]
		col := map[mold.Role]render.Body{
			mold.Gate: {Color: render.Gate}, mold.Vent: {Color: render.Vent}, mold.Blind: {Color: quietInk},
		}[c.Role]
		col.Mesh = tube(c, 1, 0)
		sh.scene.Bodies = append(sh.scene.Bodies, col)
		for k := 1; k < len(c.Path); k++ {
			kind := render.Segment
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: kind, From: c.Path[k-1], To: c.Path[k], Weight: 1})
		}
		if f := b.findingOf(0, c.ID); f != nil && len(sh.marks) < maxMarks {
			sh.marks = append(sh.marks, callout{c.Mouth.Lerp(c.End, 0.5), fmt.Sprint(f.ID), lookOf(f), actionAnchor(f)})
		}
	}
	s.addChannels(sh, nil)
	for i := range s.fill.Pockets {
		if w := s.fill.Pockets[i].Vent; w != nil {
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Cross, From: w.Mouth, Color: render.Gate, Weight: 3}, render.Glyph{Kind: render.Axis, From: w.Mouth, To: w.Exit, Color: render.Gate, Weight: 2})
			sh.labels = append(sh.labels, label{at: w.Exit, toward: w.Direction, text: fmt.Sprintf("add vent %d", w.ID)})
		}
	}
	return sh
}

func (b *book) channelTable(f *mold.Fill) pdf.Table {
	t := pdf.Table{Size: 8, Empty: "no channel found", Columns: []pdf.Column{
		{Title: "Channel"}, {Title: "Finding"}, {Title: "Mouth X, Y, Z"}, {Title: "Exit X, Y, Z"}, {Title: "Narrowest, at"}, {Title: "Length", Align: pdf.Right},
		{Title: "L/D", Align: pdf.Right}, {Title: "In"}, {Title: "Weeps at", Align: pdf.Right}, {Title: "Plug at", Align: pdf.Right}}}
	for i := range f.Ports {
		c := &f.Ports[i]
		name := channelName(c)
		switch {
		case c.Tried:
			name += ", tried out"
		case c.Assumed:
			name += ", assumed"
		}
		exit := "none: blind"
		if c.Exit != nil {
			exit = coordinates(*c.Exit)
		}
		ratio := "–"
		if c.Diameter > 0 {
			ratio = Figure(c.Length / c.Diameter)
		}
		t.Rows = append(t.Rows, pdf.Row{Anchor: channelAnchor(c.ID), Cells: []pdf.Runs{
			{pdf.Strong(name)}, b.numberOf(0, c.ID), pdf.Plain(coordinates(c.Mouth)), pdf.Plain(exit),
			pdf.Plain(fmt.Sprintf("⌀ %s\n%s", Length(c.Diameter), coordinates(c.Narrowest))), pdf.Plain(Length(c.Length)), pdf.Plain(ratio),
			pdf.Plain(b.pdf.Name(c.Half)), pdf.Plain(poured(c.WeepsAt)), pdf.Plain(poured(c.PlugAt))}})
	}
	return t
}

// poured writes the resin poured in at an event.
func poured(ml *float64) string {
	if ml == nil {
		return "never"
	}
	return Figure(*ml) + " ml"
}

// suggested lists the vents to add, ready to be drawn in CAD.
func (b *book) suggested(f *mold.Fill) {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{
		{Title: "Vent"}, {Title: "For pocket"}, {Title: "Mouth X, Y, Z (mm)"}, {Title: "Exit X, Y, Z (mm)"}, {Title: "Direction"},
		{Title: "Diameter", Align: pdf.Right}, {Title: "Length", Align: pdf.Right}, {Title: "Through"}, {Title: "Frees", Align: pdf.Right}}}
	for i := range f.Pockets {
		if v := f.Pockets[i].Vent; v != nil {
			t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{
				{pdf.Strong(fmt.Sprint(v.ID))}, {pdf.To(fmt.Sprint(f.Pockets[i].ID), pocketAnchor(f.Pockets[i].ID))}, pdf.Plain(coordinates(v.Mouth)), pdf.Plain(coordinates(v.Exit)),
				pdf.Plain(direction(v.Direction)), pdf.Plain(Length(v.Diameter)), pdf.Plain(Length(v.Length)), pdf.Plain(b.pdf.Name(v.Half)), pdf.Plain(Volume(v.Frees))}})
		}
	}
	if len(t.Rows) == 0 {
		return
	}
	b.keep(2*len(t.Rows) + 1)
	b.pdf.Anchor("suggested")
	b.pdf.Heading(2, "Vents to add")
	b.pdf.Para(pdf.Text("Straight bores, each proven by pouring again with that bore alone. Coordinates are those of the CAD files; vents.csv holds them, vents.stl the cutters for a boolean cut."))
	b.pdf.Table(t)
}

// direction writes a unit vector.
func direction(v geom.Vec) string { s := Way(v); return s[1 : len(s)-1] }

// highPoints lists the local tops of the cavity and what drains them.
func (b *book) highPoints(f *mold.Fill) {
	if len(f.HighPoints) == 0 {
		return
	}
	const most = 16
	b.keep(min(most, len(f.HighPoints)))
	b.pdf.Heading(2, "High points of the cavity")
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "High point", Width: 22}, {Title: "X, Y, Z (mm)"}, {Title: "Height along up", Align: pdf.Right}, {Title: "Stands out by", Align: pdf.Right}, {Title: "Air leaves by"}}}
	for i, h := range f.HighPoints[:min(most, len(f.HighPoints))] {
		by := pdf.Plain("no way out")
		if c := b.studio.port(h.VentedBy); c != nil {
			by = pdf.Runs{pdf.To(channelName(c), channelAnchor(c.ID))}
		}
		if h.Pocket > 0 && b.placed[pocketAnchor(h.Pocket)] {
			by = append(by, pdf.Text(", "), pdf.To(fmt.Sprintf("pocket %d stays", h.Pocket), pocketAnchor(h.Pocket)))
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{pdf.Plain(fmt.Sprint(i + 1)), pdf.Plain(coordinates(h.At)), pdf.Plain(Length(h.Height)), pdf.Plain(Length(h.Prominence)), by}})
	}
	b.pdf.Table(t)
	if n := len(f.HighPoints) - most; n > 0 {
		b.pdf.Note(pdf.Text(fmt.Sprintf("%s more in report.json.", Plural(n, "high point"))))
	}
}
