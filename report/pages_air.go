package report

import (
	"fmt"
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
)

// maxGroups bounds the sections that are drawn; the table lists every pocket.
const maxGroups = 6

// airPages show the air that stays: all pockets in a table, then each, or several
// that one section shows, from above and cut open.
func (b *book) airPages() error {
	b.chapter(150)
	b.pdf.Anchor("air")
	b.pdf.Heading(1, "Air")
	f := b.Outcome.Fill
	if f == nil || b.studio == nil {
		b.pdf.Para(pdf.Text("Not judged: the pour was not computed."))
		return nil
	}
	b.pdf.Para(b.airSummary(f)...)
	b.reasons(func(f *checks.Finding) bool { return f.Check == "air" && b.studio.pocketIndex(f.Pocket) < 0 })
	b.clinging(f)
	if len(f.Pockets) == 0 {
		return nil
	}
	groups := b.studio.groups()
	shown := map[int]bool{} // asked by pocket only
	for _, g := range groups {
		for _, i := range g.pockets {
			shown[i] = true
		}
	}
	b.pdf.Table(b.pocketTable(f, shown))
	b.pdf.Note(pdf.Text(b.airNotes(f, len(f.Pockets)-len(shown))))
	return b.airPictures(groups)
}

// airPictures set the view from above beside the first section, and the other
// sections two a page.
func (b *book) airPictures(groups []view) error {
	if len(groups) == 0 {
		return nil
	}
	s := b.studio
	const high = 82.0
	_, paper := b.pdf.PaperSize()
	alone := float64((paper - 155) / 2) // two sections with their headings, captions and texts fill a page
	above, err := s.take(s.fromAbove(b.pocketMark, halfWidth, high).exactly(high), b.aboveCaption())
	if err != nil {
		return err
	}
	for n, v := range groups {
		width, height := halfWidth, high
		if n > 0 {
			width, height = fullWidth, alone
			if n == 1 {
				b.pdf.PageBreak() // the first two stand on this one
			}
			b.pdf.Keep(alone + 50)
		}
		cut, err := s.take(s.detail(v, b.pocketMark, width, height), b.cutCaption(v))
		if err != nil {
			return err
		}
		b.groupHeading(v)
		if n == 0 {
			b.pdf.Figure(above, cut)
		} else {
			b.pdf.Figure(cut)
		}
		for _, i := range v.pockets {
			b.pocketText(&s.fill.Pockets[i])
		}
	}
	return nil
}

// airSummary says in a few sentences how the pour ends.
func (b *book) airSummary(f *mold.Fill) pdf.Runs {
	out := pdf.Runs{pdf.Text(fmt.Sprintf("Poured %s, ", tiltPhrase(f)))}
	if f.Trapped < 1e-3*max(f.Cavity, 1e-9) && len(f.Pockets) == 0 {
		out = append(out, pdf.Strong("no air pocket stays in the part"), pdf.Text(fmt.Sprintf(" that this check can resolve (%s in all, ± %s).", Volume(f.Trapped), Volume(f.TrappedError))))
	} else {
		out = append(out, pdf.Strong(fmt.Sprintf("%s of air stay in the part", Volume(f.Trapped))),
			pdf.Text(fmt.Sprintf(" (± %s, %s %% of its volume), in %s", Volume(f.TrappedError), Figure(100*f.Trapped/max(f.Cavity, 1e-9)), Plural(len(f.Pockets), "pocket"))))
		if f.SmallVolume >= 0.05 {
			out = append(out, pdf.Text(fmt.Sprintf(" and %d too small to list (%s together)", f.SmallCount, Volume(f.SmallVolume))))
		}
		out = append(out, pdf.Text("."))
	}
	// A place beside a wall thinner than a cell or two may be counted to the wrong side of it.
	if f.Unreached >= b.Outcome.Limits.Get("unreached_stop_mm3").Value {
		out = append(out, pdf.Text(" "), pdf.Strong(Volume(f.Unreached)+" of the part cannot be reached by resin."))
	}
	if f.Marginal {
		out = append(out, pdf.Text(" At least one decision is closer than 0.05 mm; the worse outcome is counted."))
	}
	return out
}

// pocketTable lists every pocket; those without a page of their own are named by
// their row.
func (b *book) pocketTable(f *mold.Fill, shown map[int]bool) pdf.Table {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{
		{Title: "Pocket", Width: 16}, {Title: "Finding", Width: 15}, {Title: "Kind"}, {Title: "Air in the part", Align: pdf.Right, Width: 24}, {Title: "After pressure", Align: pdf.Right, Width: 18},
		{Title: "Sealed at", Align: pdf.Right, Width: 18}, {Title: "Depth", Align: pdf.Right, Width: 16}, {Title: "Nearest channel"}, {Title: "Suggested vent"}}}
	cured := math.NaN()
	if b.Outcome.Job != nil {
		cured = b.Outcome.Job.Pot.Share()
	}
	for i := range f.Pockets {
		p := &f.Pockets[i]
		name := pdf.Plain(fmt.Sprint(p.ID))
		anchor := pocketAnchor(p.ID)
		if shown[i] {
			name, anchor = pdf.Runs{pdf.To(fmt.Sprint(p.ID), anchor), pdf.Ref(", p.\u00a0", anchor)}, ""
		}
		kind := string(p.Kind)
		if p.Marginal {
			kind += ", marginal"
		}
		near := "none"
		if c := b.studio.port(p.Near); c != nil {
			near = fmt.Sprintf("%s\n%s away", channelName(c), Length(p.NearDistance))
		}
		vent := pdf.Plain("none found")
		if p.Vent != nil {
			vent = pdf.Runs{pdf.To(fmt.Sprintf("vent %d", p.Vent.ID), "suggested"), pdf.Text("\nfrees " + Volume(p.Vent.Frees))}
		}
		t.Rows = append(t.Rows, pdf.Row{Anchor: anchor, Cells: []pdf.Runs{
			name, b.numberOf(p.ID, 0), pdf.Plain(kind), pdf.Plain(fmt.Sprintf("%s\n± %s", Volume(p.Volume), Volume(p.Error))),
			pdf.Plain(Volume(p.Volume * cured)), pdf.Plain(Length(p.SealedAt)), pdf.Plain(Length(p.Depth)), pdf.Plain(near), vent}})
	}
	return t
}

// clinging lists the holes whose air surface tension may hold, apart from the pockets.
func (b *book) clinging(f *mold.Fill) {
	if len(f.Clinging) == 0 {
		return
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Hole", Width: 14}, {Title: "Rim at X, Y, Z"}, {Title: "Width", Align: pdf.Right}, {Title: "Depth", Align: pdf.Right}, {Title: "Volume", Align: pdf.Right}, {Title: "Bubble in it rises"}}}
	for i := range f.Clinging {
		k := &f.Clinging[i]
		rises := "perhaps"
		if k.Sure {
			rises = "no"
		}
		t.Rows = append(t.Rows, pdf.R(fmt.Sprint(k.ID), coordinates(k.Top), Length(k.Width), Length(k.Depth), fmt.Sprintf("%s ± %s", Volume(k.Volume), Volume(k.Error)), rises))
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Holes that surface tension may keep empty")
	b.pdf.Table(t)
	b.pdf.Note(pdf.Text("Blind holes that open upward while pouring, counted as filled and not among the pockets: resin can bridge them and lie over their air (Bretherton 1961; Extrand 2017)."))
}

// coordinates writes X, Y, Z without brackets.
func coordinates(v geom.Vec) string {
	return fmt.Sprintf("%s, %s, %s", hundredth(v.X), hundredth(v.Y), hundredth(v.Z))
}

// numberOf links to the action about a pocket or channel.
func (b *book) numberOf(pocket, channel int) pdf.Runs {
	f := b.findingOf(pocket, channel)
	if f == nil {
		return pdf.Plain("–")
	}
	l := lookOf(f)
	return pdf.Runs{{Text: fmt.Sprint(f.ID), Style: pdf.Bold, Mark: l.mark, Ink: l.ink, Link: actionAnchor(f)}}
}

func (b *book) airNotes(f *mold.Fill, unshown int) string {
	text := "Sealed at: height of the resin when it cut the air off, along the pour's up from the CAD origin. "
	if b.Outcome.Job != nil {
		text += fmt.Sprintf("After pressure: volume at %s kPa gauge by Boyle's law; pressure shrinks a pocket and never fills it. ", Figure(b.Outcome.Job.Pot.Gauge))
	}
	text += "A ceiling pocket is permanent at this tilt; a basin pocket lies below a covered opening and may burp out."
	if unshown > 0 {
		text += fmt.Sprintf(" %s of smaller volume have no picture.", Plural(unshown, "pocket"))
	}
	return text
}

// groups parts the pockets by the sections that show them: the largest pocket
// not yet shown gets a section through its top, and takes along those beside it
// that the same section cuts.
func (s *studio) groups() []view {
	var out []view
	left := make([]int, len(s.fill.Pockets))
	for i := range left {
		left[i] = i
	}
	for len(left) > 0 && len(out) < maxGroups {
		first := left[0]
		left = left[1:]
		if s.air[first] == nil {
			continue
		}
		v := s.through(first, left[:min(len(left), 5)])
		around := s.airFrame(v.sheet, first).grown()
		v.pockets = []int{first}
		var rest []int
		for _, i := range left {
			if len(v.pockets) < maxMarks && s.showsAir(i, 1).shown(v.sheet) > 0.3 && around.holds(s.airFrame(v.sheet, i)) {
				v.pockets = append(v.pockets, i)
			} else {
				rest = append(rest, i)
			}
		}
		out, left = append(out, v), rest
	}
	return out
}

// groupHeading begins the evidence of a view's pockets.
func (b *book) groupHeading(v view) {
	var names []string
	total := 0.0
	for _, i := range v.pockets {
		p := &b.studio.fill.Pockets[i]
		b.pdf.Anchor(pocketAnchor(p.ID))
		names = append(names, fmt.Sprint(p.ID))
		total += p.Volume
	}
	title := "Pocket " + names[0]
	if len(names) > 1 {
		title = "Pockets " + join(names)
	}
	b.pdf.Heading(2, fmt.Sprintf("%s: %s of air", title, Volume(total)))
}

// pocketMark is the callout of a pocket: the number of its finding.
func (b *book) pocketMark(i int) callout {
	p := &b.studio.fill.Pockets[i]
	if f := b.findingOf(p.ID, 0); f != nil {
		return callout{text: fmt.Sprint(f.ID), look: lookOf(f), link: actionAnchor(f)}
	}
	return callout{text: fmt.Sprintf("p%d", p.ID), look: look{ink: quietInk, ring: quietInk, text: quietInk}}
}

func (b *book) aboveCaption() pdf.Runs {
	return pdf.Runs{pdf.Strong("From above and aside, halves as outlines. "), pdf.Text("Look at the dark blue places: the part's surface that air touches. A dashed leader goes to a place that is hidden here.")}
}

func (b *book) cutCaption(v view) pdf.Runs {
	text := "Look at the dots above the spill level: the air has no way out once the resin stands there."
	for _, i := range v.pockets {
		if w := b.studio.fill.Pockets[i].Vent; w != nil && showsBore(w, 1).shown(v.sheet) >= 0.3 {
			text += " Pale violet: the vent to add."
			break
		}
	}
	return pdf.Runs{pdf.Strong("True section through the pocket's top, gravity down. "), pdf.Text(text)}
}

// pocketText says in words what a pocket is.
func (b *book) pocketText(p *mold.Pocket) {
	f := b.findingOf(p.ID, 0)
	if f == nil {
		b.pdf.Para(pdf.Strong(fmt.Sprintf("Pocket %d. ", p.ID)), pdf.Text(b.pocketFacts(p)))
		return
	}
	b.pdf.Para(b.reason(f)...)
}

// pocketFacts describes a pocket in a sentence.
func (b *book) pocketFacts(p *mold.Pocket) string {
	text := fmt.Sprintf("Pocket %d reaches from its spill level %s up to its top at %s", p.ID, Length(p.Depth), Place(p.Top))
	if p.Spoils > 0 {
		text += fmt.Sprintf(" and spoils %s of the part's surface", Area(p.Spoils))
	}
	if p.ChannelVolume > 0.5 {
		text += fmt.Sprintf("; another %s of the same air stay in a channel", Volume(p.ChannelVolume))
	}
	return text + "."
}
