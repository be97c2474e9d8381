package report

import (
	"fmt"

	"pourproof/checks"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// maxPairs bounds the pairs of pictures of then and now.
const maxPairs = 3

// pair is one section, drawn as the mold was then and as it is now from the same
// camera.
type pair struct {
	view  view
	frame frame // what both show
}

// changePictures set the mold of then beside that of now. Without the meshes of
// then, the places of what is fixed stand in a picture of now.
func (b *book) changePictures() error {
	c := b.Changes
	if b.studio == nil || len(c.Fixed)+len(c.New)+len(c.FirstJudged) == 0 {
		return nil
	}
	if c.Earlier.Outcome == nil {
		b.pdf.Keep(24)
		b.pdf.Heading(2, "Then and now")
		b.pdf.Para(pdf.Text("There is no picture of then: " + c.Earlier.NoPictures + "."))
		return nil
	}
	then := newStudio(c.Earlier.Outcome)
	then.box = then.box.Union(b.studio.box) // one frame serves both
	const high = 82.0
	for i, p := range b.pairs(then) {
		p.frame = then.closeUp(p.view, p.frame, (halfWidth-2*sideMM)/(high-footMM))
		if i == 0 {
			b.pdf.Keep(high + 40)
			b.pdf.Heading(2, "Then and now")
		} else {
			b.pdf.PageBreak() // two pictures a page
		}
		was, err := then.take(then.section(p, high, b.marksThen()), b.thenCaption(p))
		if err != nil {
			return err
		}
		now, err := b.studio.take(b.studio.section(p, high, b.marksNow()), b.nowCaption())
		if err != nil {
			return err
		}
		b.pdf.Figure(was, now)
	}
	return nil
}

// pairs picks the sections: through the air that is gone, through air that is new,
// else the one of the first page.
func (b *book) pairs(then *studio) []pair {
	var out []pair
	seen := map[int]bool{} // pockets of then that a pair shows; asked by index only
	for _, f := range b.Changes.Fixed {
		i := then.pocketIndex(f.Pocket)
		if f.Check != "air" || i < 0 || seen[i] || then.air[i] == nil || len(out) == maxPairs-1 {
			continue
		}
		v := then.through(i, nil)
		p := pair{v, then.airFrame(v.sheet, i)}
		around := p.frame.grown()
		for _, k := range v.pockets {
			if r := then.airFrame(v.sheet, k); around.holds(r) {
				p.frame, seen[k] = p.frame.union(r), true
			}
		}
		seen[i] = true
		out = append(out, p)
	}
	for _, f := range b.Changes.New {
		i := b.studio.pocketIndex(f.Pocket)
		if f.Check != "air" || i < 0 || b.studio.air[i] == nil || len(out) == maxPairs {
			continue
		}
		v := b.studio.through(i, nil)
		out = append(out, pair{v, b.studio.airFrame(v.sheet, i)})
	}
	if len(out) == 0 {
		v := b.studio.whole()
		out = append(out, pair{v, b.studio.silhouette(v.sheet)})
	}
	return out
}

// section draws a pair's section of this studio's mold, without words that differ
// from then to now.
func (s *studio) section(p pair, high float64, marks []callout) *shot {
	sh := s.newShot(render.Scene{Bodies: s.cutOpen(), Camera: p.view.camera(), Cut: p.view.plane}, halfWidth, high).exactly(high)
	sh.frame = p.view.boxes(p.frame)
	for _, m := range marks {
		at := p.view.spot(m.at)
		if len(sh.marks) < maxMarks && p.view.off(m.at) < p.near() && p.frame.holds(frame{at, at}) {
			sh.marks = append(sh.marks, m)
		}
	}
	s.addChannels(sh, &p.view)
	return sh
}

// near is how far in mm from a section a finding may lie to be marked in it.
func (p pair) near() float64 {
	return max(3, 0.25*max(p.frame.hi.X-p.frame.lo.X, p.frame.hi.Y-p.frame.lo.Y))
}

// marksThen are the callouts of what is fixed, by the numbers of then.
func (b *book) marksThen() []callout {
	var out []callout
	for _, f := range b.Changes.Fixed {
		if f.At != nil {
			out = append(out, callout{at: *f.At, text: fmt.Sprint(f.ID), look: lookOf(&checks.Finding{Severity: severityOf(f.Severity)}), link: changesAnchor})
		}
	}
	return out
}

// marksNow are the callouts of what is new.
func (b *book) marksNow() []callout {
	var out []callout
	for _, list := range [][]*checks.Finding{b.Changes.New, b.Changes.FirstJudged} {
		for _, f := range list {
			if f.Where.At != nil {
				out = append(out, callout{*f.Where.At, fmt.Sprint(f.ID), lookOf(f), actionAnchor(f)})
			}
		}
	}
	return out
}

func severityOf(name string) checks.Severity {
	for _, s := range []checks.Severity{checks.Stop, checks.Discuss} {
		if s.String() == name {
			return s
		}
	}
	return checks.Note
}

func (b *book) thenCaption(p pair) pdf.Runs {
	text := "Circles carry the numbers that the fixed findings had."
	if p.view.up.Dot(b.studio.up) < 1-1e-9 {
		text += " The block stood otherwise: mind the gravity arrows."
	}
	return pdf.Runs{pdf.Strong("Then. "), pdf.Text(text + " Dotted blue is air that stayed.")}
}

func (b *book) nowCaption() pdf.Runs {
	return pdf.Runs{pdf.Strong("Now, the same section from the same camera. "), pdf.Text("Look whether the dots are gone; circles carry the numbers of new findings.")}
}
