package report

import (
	"fmt"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// stagePages show how the mold fills: one section at five moments.
func (b *book) stagePages() error {
	f := b.Outcome.Fill
	if f == nil || b.studio == nil || len(f.Stages) == 0 {
		return nil
	}
	b.chapter(190)
	b.pdf.Anchor(stagesAnchor)
	b.pdf.Heading(1, "How it fills")
	b.pdf.Para(pdf.Text(fmt.Sprintf("One section at five moments, poured %s. The amounts are the resin that has left the gate's mouth, the gate's own %s not counted; the last is all that goes in. "+
		"Levels are those at rest: press slowly enough that the resin can level out.", tiltPhrase(f), Milliliters(gateVolume(f)))))
	v := b.studio.whole()
	var row []pdf.Figure
	for k := range f.Stages {
		p, err := b.studio.take(b.studio.stage(v, k), b.stageCaption(f, k))
		if err != nil {
			return err
		}
		p.Strip = true
		row = append(row, p)
		if len(row) == 3 || k == len(f.Stages)-1 {
			b.pdf.Figure(row...)
			row = nil
		}
	}
	b.pdf.Note(pdf.Text("Ochre is resin, dots are air, hatched is rubber. A pool behind a weir may lie outside this section; report.json gives a place on the surface of every pool (fill.stages)."))
	return nil
}

const stagesAnchor = "stages"

// gateVolume is the resin in the gates.
func gateVolume(f *mold.Fill) float64 {
	sum := 0.0
	for i := range f.Ports {
		if f.Ports[i].Role == mold.Gate {
			sum += f.Ports[i].Volume
		}
	}
	return sum
}

// stageCaption says how much is in, how high it stands and what the vents do.
func (b *book) stageCaption(f *mold.Fill, k int) pdf.Runs {
	g := &f.Stages[k]
	text := fmt.Sprintf("Level %s", Length(g.Level))
	if n := len(g.Front); n > 1 {
		text += fmt.Sprintf(", %s", Plural(n, "pool"))
	}
	weeping, covered := g.Vents(f.Ports)
	switch {
	case len(covered) > 0:
		text += "; plugged: vent " + join(idsOf(covered))
	default:
		text += "; no vent covered"
	}
	if len(weeping) > 0 {
		text += "; dripping: vent " + join(idsOf(weeping))
	}
	return pdf.Runs{pdf.Strong(fmt.Sprintf("%s %%: %s. ", Figure(g.Percent), Milliliters(g.Filled))), pdf.Text(text + ".")}
}

func idsOf(list []int) []string {
	var out []string
	for _, n := range list {
		out = append(out, fmt.Sprint(n))
	}
	return out
}

// stage draws the section of a view as it is at a stage: air not yet driven out
// lies over the resin.
func (s *studio) stage(v view, k int) *shot {
	bodies := []render.Body{{Mesh: s.mold.FittedPart(), Color: render.Resin, Cut: true, Cap: render.CapSolid, Rank: 1}}
	bores := &geom.Mesh{} // all of them: what is not full has air over it
	for i := range s.fill.Ports {
		c := &s.fill.Ports[i]
		if c.Role == mold.Gate || c.Exit != nil {
			bores.Append(tube(fullBore(c), 1.03, c.Diameter))
		}
	}
	for i, p := range bores.Vertices {
		bores.Vertices[i] = p.Max(s.box.Min).Min(s.box.Max)
	}
	bodies = append(bodies, render.Body{Mesh: bores, Color: render.Resin, Cut: true, Cap: render.CapSolid})
	if air := s.mold.AirAtStage(s.fill, k, v.plane.Normal, v.plane.Offset); air != nil && len(air.Facets) > 0 {
		bodies = append(bodies, render.Body{Mesh: air, Color: render.Air, Cut: true, Cap: render.CapDots, Rank: 2})
	}
	for i, h := range s.mold.Halves {
		r := rubberOf(i)
		bodies = append(bodies, render.Body{Mesh: h.Mesh, Color: r.color, Cut: true, Cap: r.hatch, Rank: 3})
	}
	sh := s.newShot(render.Scene{Bodies: bodies, Camera: v.camera(), Cut: v.plane}, stripWidth, 62)
	r := newFrame() // the part with what is around it: the block's edges say nothing here
	for _, p := range s.mold.FittedPart().Box().Corners() {
		r = r.include(v.spot(p))
	}
	const around = 3 // mm of rubber
	r.lo, r.hi = spot{r.lo.X - around, r.lo.Y - around}, spot{r.hi.X + around, r.hi.Y + around}
	sh.frame = v.boxes(r)
	return sh.exactly(max(38, min(62, sh.fitting())))
}

// stripWidth is the width of one of three pictures side by side, mm.
const stripWidth = 52.0
