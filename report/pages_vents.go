package report

import (
	"fmt"
	"image/color"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// ventPages tell of gate and vents, of the high points that they drain, and of
// the vents to add.
func (b *book) ventPages() error {
	b.chapter(190)
	b.pdf.Anchor("vents")
	b.pdf.Heading(1, "Gate and vents")
	f := b.Outcome.Fill
	if f == nil || b.studio == nil {
		b.pdf.Para(pdf.Text("Not judged: the pour was not computed."))
		return nil
	}
	above, err := b.studio.take(b.studio.channelView(b, false).exactly(84), pdf.Runs{pdf.Strong("As poured, halves as outlines. "),
		pdf.Text("Violet: gate. Light blue: vents. Dark: blind, ends inside the rubber. Crosses and dash-dotted lines: vents to add. Look whether a vent stands over every high point.")})
	if err != nil {
		return err
	}
	plan, err := b.studio.take(b.studio.channelView(b, true).exactly(84), pdf.Runs{pdf.Strong("From straight above the block at rest. "),
		pdf.Text("Look where the channels stand on the part. X and Y are those of the CAD files.")})
	if err != nil {
		return err
	}
	b.pdf.Figure(above, plan)
	b.pdf.Table(b.channelTable(f))
	b.pdf.Note(pdf.Text("Narrowest: diameter of the largest ball that passes, and where. L/D: length over narrowest diameter. Weeps: resin that has left the gate's mouth when the exit drips first. Plug: when the exit is wholly covered; plug it then, not before."))
	b.suggested(f)
	b.highPoints(f)
	b.reasons(func(f *checks.Finding) bool { return f.Check == "vents" })
	return nil
}

// channelView shows the channels as solids in the colour of their role: from
// above and aside as poured, or in plan.
func (s *studio) channelView(b *book, plan bool) *shot {
	center := s.mold.FittedPart().Box().Center()
	scene := render.Scene{Bodies: append(s.ghosts(), s.stainedPart())}
	switch {
	case plan:
		scene.Camera = render.Oblique(s.mold.Rest, -90, 90)
	case len(s.fill.Ports) > 0:
		scene.Camera = render.Isometric(s.up, s.turnFor(s.fill.Ports[0].Mouth))
	default:
		scene.Camera = render.Isometric(s.up, 0)
	}
	sh := s.newShot(scene, halfWidth, 84)
	away := func(p, axis geom.Vec) geom.Vec {
		if !plan {
			return axis
		}
		d := p.Sub(center)
		return d.AddScaled(s.mold.Rest, -d.Dot(s.mold.Rest))
	}
	for i := range s.fill.Ports {
		c := &s.fill.Ports[i]
		sh.scene.Bodies = append(sh.scene.Bodies, render.Body{Mesh: tube(fullBore(c), 1, 0), Color: roleColor(c.Role)})
		sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Axis, From: c.Mouth, To: c.End, Weight: 1.4})
		if f := b.findingOf(0, c.ID); f != nil && !plan && len(sh.marks) < maxMarks {
			sh.marks = append(sh.marks, callout{c.End, fmt.Sprint(f.ID), lookOf(f), actionAnchor(f)})
		}
		sh.labels = append(sh.labels, label{at: c.End, toward: away(c.End, c.ExitAxis), text: channelName(c)})
	}
	for i := range s.fill.Vents {
		w := &s.fill.Vents[i]
		sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Cross, From: w.Mouth, Color: render.Gate, Weight: 3}, render.Glyph{Kind: render.Axis, From: w.Mouth, To: w.Exit, Color: render.Gate, Weight: 2})
		sh.labels = append(sh.labels, label{at: w.Exit, toward: away(w.Exit, w.Direction), text: fmt.Sprintf("add vent %d", w.ID)})
	}
	return sh
}

// roleColor is the colour of a channel.
func roleColor(r mold.Role) color.RGBA {
	switch r {
	case mold.Gate:
		return render.Gate
	case mold.Vent:
		return render.Vent
	}
	return quietInk
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
		switch {
		case c.Joins != 0:
			exit = fmt.Sprintf("by way of %d", c.Joins)
		case c.Exit != nil:
			exit = coordinates(*c.Exit)
		}
		ratio := "–"
		if c.Diameter > 0 {
			ratio = Figure(c.Length / c.Diameter)
		}
		t.Rows = append(t.Rows, pdf.Row{Anchor: channelAnchor(c.ID), Cells: []pdf.Runs{
			{pdf.Strong(name)}, b.numberOf(0, c.ID), pdf.Plain(coordinates(c.Mouth)), pdf.Plain(exit),
			pdf.Plain(fmt.Sprintf("⌀ %s\n%s", Length(c.Diameter), coordinates(c.Narrowest))), pdf.Plain(Length(c.Length)), pdf.Plain(ratio),
			pdf.Plain(b.pdf.Name(c.Half)), pdf.Plain(pouredAt(c, c.WeepsAt)), pdf.Plain(pouredAt(c, c.PlugAt))}})
	}
	return t
}

// pouredAt writes the resin poured in at an event of a channel.
func pouredAt(c *mold.Channel, ml *float64) string {
	switch {
	case c.Role == mold.Gate, c.Joins != 0:
		return "–"
	case ml == nil:
		return "never"
	}
	return Figure(*ml) + " ml"
}

// suggested lists the vents to add, ready to be drawn in CAD.
func (b *book) suggested(f *mold.Fill) {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{
		{Title: "Vent"}, {Title: "For pocket"}, {Title: "Mouth X, Y, Z (mm)"}, {Title: "Exit X, Y, Z (mm)"}, {Title: "Direction"},
		{Title: "Diameter", Align: pdf.Right}, {Title: "Length", Align: pdf.Right}, {Title: "Through"}, {Title: "Frees", Align: pdf.Right}, {Title: "Adds", Align: pdf.Right}}}
	for i := range f.Vents {
		v := &f.Vents[i]
		var pockets pdf.Runs
		for n, id := range v.Pockets {
			if n > 0 {
				pockets = append(pockets, pdf.Text(", "))
			}
			pockets = append(pockets, pdf.To(fmt.Sprint(id), pocketAnchor(id)))
		}
		through := pdf.Plain(b.pdf.Name(v.Half))
		if v.Show != "" {
			through = append(through, pdf.Text("\nstub on "+b.pdf.Name(v.Show)))
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{
			{pdf.Strong(fmt.Sprint(v.ID))}, pockets, pdf.Plain(coordinates(v.Mouth)), pdf.Plain(coordinates(v.Exit)), pdf.Plain(direction(v.Direction)),
			pdf.Plain(Length(v.Diameter)), pdf.Plain(Length(v.Length)), through, pdf.Plain(Volume(v.Frees)), pdf.Plain(Volume(v.Gain))}})
	}
	if len(t.Rows) == 0 {
		return
	}
	b.keep(2*len(t.Rows) + 1)
	b.pdf.Anchor("suggested")
	b.pdf.Heading(2, "Vents to add")
	b.pdf.Para(pdf.Text("The fewest straight bores that free the pockets, those that free most first. Frees: less air with that bore alone, by pouring again. Adds: less air once the bores above it are there. With all of them " + Volume(f.VentsLeave) + " stay. Coordinates are those of the CAD files; vents.csv holds them, vents.stl the cutters for a boolean cut."))
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
