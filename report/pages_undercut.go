package report

import (
	"fmt"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report/pdf"
)

const undercutAnchor = "undercuts"

// undercutPages show what holds the part in each half as it is pulled off, and where to
// begin.
func (b *book) undercutPages() error {
	d := b.Outcome.Demolding
	if d == nil || b.Outcome.Mold == nil || scattered(b.Outcome) {
		return nil
	}
	b.chapter(150)
	b.pdf.Anchor(undercutAnchor)
	b.pdf.Heading(1, "Undercuts and demolding")
	b.pdf.Para(b.demoldSummary(d)...)
	if b.studio != nil {
		if err := b.releasePictures(d); err != nil {
			return err
		}
	}
	b.pdf.Note(pdf.Text("Dark red: rubber with the part ahead. Amber: walls without draft (under 0.5°) of 1 mm and more. Black arrow: the pull. Violet arrow: where the half comes off first, and the way the opening runs."))
	b.releaseTable(d)
	b.undercutTable(d)
	b.reasons(func(f *checks.Finding) bool { return f.Check == undercutAnchor })
	return nil
}

// demoldSummary says in which order to take the mold apart.
func (b *book) demoldSummary(d *mold.Demolding) pdf.Runs {
	cuts := 0
	for i := range d.Halves {
		cuts += len(d.Halves[i].Undercuts)
	}
	out := pdf.Runs{pdf.Strong("No undercut. "), pdf.Text("Every half leaves straight along its pull. ")}
	if cuts > 0 {
		out = pdf.Runs{pdf.Strong(Plural(cuts, "undercut") + ". ")}
	}
	for k, h := range d.Order {
		name := b.pdf.Name(d.Halves[h].Name)
		switch {
		case k == 0:
			out = append(out, pdf.Text("Take off "), pdf.Strong(name))
		case k == len(d.Order)-1:
			out = append(out, pdf.Text(" first, for it holds least; then take the part out of "), pdf.Strong(name), pdf.Text(". "))
		default:
			out = append(out, pdf.Text(", "), pdf.Strong(name))
		}
	}
	r := &b.Outcome.Job.Rubber
	return append(out, pdf.Text(fmt.Sprintf("Rubber of Shore A %s, modulus %s MPa ± %s %% (Gent 1958), tear energy %s J/m². ",
		Figure(r.ShoreA), Figure(mold.Modulus(r.ShoreA)), Figure(100*mold.ModulusSpread), Figure(r.TearEnergy()))))
}

// releasePictures show every half from the part's side; beside one with undercuts the
// section through its deepest.
func (b *book) releasePictures(d *mold.Demolding) error {
	var alone []pdf.Figure
	for i := range d.Halves {
		r := &d.Halves[i]
		shot, seen := b.studio.released, "Seen from the part"
		if len(r.Undercuts) > 0 {
			shot, seen = b.studio.opened, "Cut open through undercut 1"
		}
		above, err := b.studio.take(shot(r, halfWidth).exactly(72), pdf.Runs{pdf.Strong(b.pdf.Name(r.Name) + ". "), pdf.Text(seen + "; pull " + direction(r.Pull))})
		if err != nil {
			return err
		}
		if len(r.Undercuts) == 0 {
			alone = append(alone, above)
			continue
		}
		u := &r.Undercuts[0]
		section, err := b.studio.take(b.studio.lockedSection(r, u, halfWidth).exactly(72),
			pdf.Runs{pdf.Strong("Section through undercut 1. "), pdf.Text(fmt.Sprintf("%s deep at %s", Length(u.Depth), Place(u.At)))})
		if err != nil {
			return err
		}
		b.pdf.Figure(above, section)
	}
	for len(alone) > 0 {
		n := min(2, len(alone))
		b.pdf.Figure(alone[:n]...)
		alone = alone[n:]
	}
	return nil
}

// releaseTable lists the halves with their pulls and where they come off first.
func (b *book) releaseTable(d *mold.Demolding) {
	b.keep(len(d.Halves))
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Order", Align: pdf.Right}, {Title: "Half"}, {Title: "Pull X, Y, Z"}, {Title: "From"}, {Title: "Opens at X, Y, Z"}, {Title: "Towards"},
		{Title: "Deepest wall without draft", Align: pdf.Right}, {Title: "Suction on a core, at most", Align: pdf.Right}}}
	for k, h := range d.Order {
		r := &d.Halves[h]
		wall, core := "–", "–"
		if len(r.Walls) > 0 {
			wall = Length(r.Walls[0].Depth)
		}
		most := 0.0
		for i := range r.Walls {
			most = max(most, r.Walls[i].Core)
		}
		if most > 0 {
			core = Figure(checks.SuctionBound(most)) + " N"
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{pdf.Plain(fmt.Sprint(k + 1)), pdf.Plain(b.pdf.Name(r.Name)), pdf.Plain(direction(r.Pull)), pdf.Plain(pullSource(r)),
			pdf.Plain(Place(r.Peel.At)), pdf.Plain(direction(r.Peel.Toward)), pdf.Plain(wall), pdf.Plain(core)}})
	}
	b.pdf.Table(t)
}

// pullSource says where a pull comes from and how sure it is.
func pullSource(r *mold.Release) string {
	switch {
	case r.From == mold.PullGiven:
		return "as stated"
	case r.From == mold.PullFreest && r.Sure():
		return "the parting face, its free side"
	case r.From == mold.PullFreest:
		return "the parting face, its freest side: not certain"
	case r.Sure():
		return "the parting face"
	case r.From == mold.PullParting:
		return fmt.Sprintf("the parting face, %s %% of it: not certain", Figure(100*r.Share))
	}
	return "a guess"
}

// mostUndercuts is how many rows a table of undercuts has at most.
const mostUndercuts = 16

func (b *book) undercutTable(d *mold.Demolding) {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Half"}, {Title: "No.", Align: pdf.Right}, {Title: "Holds"}, {Title: "Depth", Align: pdf.Right}, {Title: "Over", Align: pdf.Right}, {Title: "Stretch", Align: pdf.Right},
		{Title: "Tears from", Align: pdf.Right}, {Title: "Area", Align: pdf.Right}, {Title: "Volume", Align: pdf.Right}, {Title: "At X, Y, Z"}}}
	left := 0
	for i := range d.Halves {
		r := &d.Halves[i]
		for k := range r.Undercuts {
			if len(t.Rows) == mostUndercuts {
				left++
				continue
			}
			t.Rows = append(t.Rows, b.undercutRow(r, &r.Undercuts[k]))
		}
	}
	if len(t.Rows) == 0 {
		return
	}
	b.keep(len(t.Rows))
	b.pdf.Table(t)
	note := "Depth: how far the rubber must move sideways to pass the part. Over: radius of the rim, or the wall behind. Tears from: the cut that runs on by itself at that stretch."
	if left > 0 {
		note += fmt.Sprintf(" %d smaller ones stand in report.json.", left)
	}
	b.pdf.Note(pdf.Text(note))
}

func (b *book) undercutRow(r *mold.Release, u *mold.Undercut) pdf.Row {
	holds := map[mold.Lock]string{mold.LockSide: "from one side", mold.LockRing: "all around", mold.LockCore: "from within", mold.LockThrough: "passes through", mold.LockFloor: "floor ahead"}[u.Kind]
	over, stretch, cut := "–", "–", "–"
	if by := max(u.Radius, u.Wall); by > 0 {
		over = Length(by)
	}
	if u.Stretch != nil {
		stretch = Figure(100*(*u.Stretch-1)) + " %"
	}
	if f := b.Outcome.Job.Rubber.Flaw(u.Stretch); f != nil && f.Mid < 100 {
		cut = Length(f.Mid)
	}
	return pdf.Row{Cells: []pdf.Runs{pdf.Plain(b.pdf.Name(r.Name)), pdf.Plain(fmt.Sprint(u.ID)), pdf.Plain(holds), pdf.Plain(Length(u.Depth)), pdf.Plain(over), pdf.Plain(stretch),
		pdf.Plain(cut), pdf.Plain(Area(u.Area)), pdf.Plain(Volume(u.Volume)), pdf.Plain(Place(u.At))}}
}

// scattered tells whether the files do not lie together, so that nothing leaves anything.
func scattered(o *checks.Outcome) bool { return o.Places != nil && !o.Places.Together }

// demoldPhrase says in a line how the part leaves the halves; empty where nobody asked.
func demoldPhrase(o *checks.Outcome) string {
	d := o.Demolding
	if d == nil || len(d.Order) == 0 || scattered(o) {
		return ""
	}
	cuts, deepest := 0, 0.0
	for i := range d.Halves {
		cuts += len(d.Halves[i].Undercuts)
		for k := range d.Halves[i].Undercuts {
			deepest = max(deepest, d.Halves[i].Undercuts[k].Depth)
		}
	}
	phrase := "no undercut"
	if cuts > 0 {
		phrase = fmt.Sprintf("%s, up to %s deep", Plural(cuts, "undercut"), Length(deepest))
	}
	first := &d.Halves[d.Order[0]]
	return fmt.Sprintf("%s; %s first, from %s", phrase, first.Name, Place(first.Peel.At))
}
