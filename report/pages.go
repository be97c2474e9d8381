package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"

	"pourproof/checks"
	"pourproof/report/pdf"
)

// book is report.pdf in the making: the order of its pages is that of a design
// review, verdict and actions first, the evidence behind.
type book struct {
	*Document
	pdf    *pdf.Doc
	studio *studio
	placed map[string]bool // anchors that are set somewhere; only ever looked up
}

// PDF writes the report for paper: the verdict page, the actions, the air, gate
// and vents, and what all of it rests on. It needs no clock and gives the same
// bytes on any number of threads. The cost is that of the pictures, two a group
// of pockets and two more.
func PDF(d *Document) ([]byte, error) {
	b, err := newBook(d)
	if err != nil {
		return nil, err
	}
	if err := b.write(); err != nil {
		return nil, err
	}
	return b.pdf.Bytes()
}

// Pages writes report.pdf and, from the same blocks and pictures, report.html, whose view
// of the mold is packed beside the drawing of pictures.
func Pages(d *Document) (pages, view []byte, err error) {
	b, err := newBook(d)
	if err != nil {
		return nil, nil, err
	}
	var view3D string
	var noView error
	var packing sync.WaitGroup
	packing.Go(func() { view3D, noView = viewHTML(d) })
	err = b.write()
	packing.Wait()
	if err = cmp.Or(err, noView); err != nil {
		return nil, nil, err
	}
	if pages, err = b.pdf.Bytes(); err != nil {
		return nil, nil, err
	}
	view, err = htmlOf(d, b.pdf.Story(), view3D)
	return pages, view, err
}

func newBook(d *Document) (*book, error) {
	p, err := pdf.New(pdf.Options{
		Paper: d.Paper, Title: d.Title, Revision: d.Revision, Author: d.Author, Date: d.Date,
		Subject: "Mold review before printing", Footer: ToolName + " " + d.Version + " · geometry check only",
	})
	if err != nil {
		return nil, err
	}
	b := &book{Document: d, pdf: p, placed: map[string]bool{}}
	b.studio = d.studio()
	b.plan()
	return b, nil
}

// plan notes the anchors that will be set, so that no link leads nowhere.
func (b *book) plan() {
	o := b.Outcome
	for i := range o.Findings {
		b.placed[actionAnchor(&o.Findings[i])] = true
	}
	for _, p := range o.Prints {
		b.placed[printAnchor(p.Name)] = true
	}
	b.placed[fitAnchor] = o.Fit != nil && o.Mold != nil
	b.placed[rubberAnchor] = len(o.Rubber) > 0 && o.Mold != nil && !scattered(o)
	b.placed[undercutAnchor] = o.Demolding != nil && o.Mold != nil && !scattered(o)
	if o.Mold != nil && o.Fill != nil {
		for i := range o.Fill.Pockets {
			b.placed[pocketAnchor(o.Fill.Pockets[i].ID)] = true
		}
		for i := range o.Fill.Ports {
			b.placed[channelAnchor(o.Fill.Ports[i].ID)] = true
		}
	}
}

func (b *book) write() error {
	for _, page := range []func() error{b.verdictPage, b.actionPages, b.airPages, b.ventPages, b.tiltPages, b.stagePages, b.fitPages, b.printPages, b.rubberPages, b.undercutPages, b.chargePages, b.changePages, b.basisPages} {
		if err := page(); err != nil {
			return err
		}
	}
	if len(b.JSON) > 0 {
		b.pdf.Attach("report.json", "application/json", b.JSON)
	}
	return nil
}

// chapter begins a part of the report: on a new page, unless the last one ends
// so early that mm millimetres are left.
func (b *book) chapter(mm float64) {
	if b.pdf.Room() < mm {
		b.pdf.PageBreak()
	} else {
		b.pdf.Space(6)
	}
}

// keep starts a new page where a heading and a small table below it would be torn
// apart.
func (b *book) keep(rows int) {
	if h := 22 + float64(7.5*float64(rows)); h < 120 {
		b.pdf.Keep(h)
	}
}

func actionAnchor(f *checks.Finding) string { return fmt.Sprintf("action-%d", f.ID) }
func pocketAnchor(id int) string            { return fmt.Sprintf("pocket-%d", id) }
func channelAnchor(id int) string           { return fmt.Sprintf("channel-%d", id) }

// evidence is the anchor of what a finding rests on.
func (b *book) evidence(f *checks.Finding) string {
	list := []string{channelAnchor(f.Channel), pocketAnchor(f.Pocket)}
	if f.Check == "air" {
		slices.Reverse(list)
	}
	for _, a := range list {
		if b.placed[a] {
			return a
		}
	}
	if a := printAnchor(f.Where.Body); ofPrint(f) && b.placed[a] {
		return a
	}
	if ofRubber(f) && b.placed[rubberAnchor] {
		return rubberAnchor
	}
	if (f.Check == fitAnchor || f.Check == undercutAnchor) && b.placed[f.Check] {
		return f.Check
	}
	switch f.Check {
	case "intake":
		return "inputs"
	case "air", "vents":
		return f.Check
	}
	return actionAnchor(f)
}

// findingOf returns the first finding about a pocket's air, or about a channel;
// nil for none.
func (b *book) findingOf(pocket, channel int) *checks.Finding {
	for i := range b.Outcome.Findings {
		f := &b.Outcome.Findings[i]
		if air := f.Check == "air"; pocket > 0 && air && f.Pocket == pocket || channel > 0 && !air && f.Channel == channel {
			return f
		}
	}
	return nil
}

// reasons say why the findings of some checks matter.
func (b *book) reasons(of func(f *checks.Finding) bool) {
	var list []pdf.Runs
	for i := range b.Outcome.Findings {
		if f := &b.Outcome.Findings[i]; of(f) && f.Why != "" {
			list = append(list, b.reason(f))
		}
	}
	if len(list) == 0 {
		return
	}
	b.pdf.Heading(3, "Findings")
	for _, r := range list {
		b.pdf.Para(r...)
	}
}

// reason is a finding with why it matters and the page of its action.
func (b *book) reason(f *checks.Finding) pdf.Runs {
	out := pdf.Runs{tag(f), pdf.Text("\u00a0\u00a0"), pdf.Strong(fmt.Sprintf("%d\u00a0 %s. ", f.ID, typeset(f.Title))), pdf.Text(typeset(f.Why) + " ")}
	if f.Accepted != nil {
		out = append(out, pdf.Text("Accepted: "+*f.Accepted+" "))
	}
	return append(out, pdf.Ref("What to do: p.\u00a0", actionAnchor(f)))
}

// typeset turns the units of plain text into those of a printed page.
func typeset(s string) string {
	return strings.NewReplacer("mm3", "mm³", "mm2", "mm²", " x ", " × ", "+-", "±").Replace(s)
}

// tag is a severity's word with its shape.
func tag(f *checks.Finding) pdf.Run {
	l := lookOf(f)
	if f.Accepted != nil {
		return pdf.Tag(l.mark, "accepted", l.ink)
	}
	return pdf.Tag(l.mark, f.Severity.String(), l.ink)
}
