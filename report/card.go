package report

import (
	"bytes"
	"cmp"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/geom/meshio"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// Cradle returns the stand for the pour, nil where there is no pour or the block
// stands level.
func Cradle(d *Document) *mold.Cradle {
	o := d.Outcome
	if o.Mold == nil || o.Fill == nil {
		return nil
	}
	return mold.NewCradle(o.Mold, o.Fill)
}

// WedgeSTL returns the cradle as binary STL in the mold's CAD frame; nil for none.
func WedgeSTL(c *mold.Cradle) ([]byte, error) {
	if c == nil {
		return nil, nil
	}
	var b bytes.Buffer
	err := meshio.WriteBinarySTL(&b, c.Mesh, "cradle for the pour, mm, in the mold's frame")
	return b.Bytes(), err
}

// BenchCard writes the one page for the bench: how the block stands, what to weigh, when
// the vents are plugged, how the part comes out, and what can hurt. It returns nil where
// there is no pour.
func BenchCard(d *Document, c *mold.Cradle) ([]byte, error) {
	if d.Outcome.Mold == nil || d.Outcome.Fill == nil {
		return nil, nil
	}
	b, err := card(d, c)
	if err != nil {
		return nil, err
	}
	return b.pdf.Bytes()
}

func card(d *Document, c *mold.Cradle) (*book, error) {
	p, err := pdf.New(pdf.Options{Paper: d.Paper, Title: d.Title, Revision: d.Revision, Author: d.Author, Date: d.Date, Subject: "Bench card", Footer: ToolName + " " + d.Version + " · geometry check only"})
	if err != nil {
		return nil, err
	}
	b := &book{Document: d, pdf: p, placed: map[string]bool{}}
	b.studio = d.studio()
	p.Title()
	if stop, _, _, _ := d.Counts(); stop > 0 {
		p.Caution("Do not pour yet", pdf.Text(VerdictLine(d)+". See the report first."))
	}
	p.Numbers(b.cardNumbers()...)
	picture, err := b.standing(c)
	if err != nil {
		return nil, err
	}
	p.Figure(picture)
	b.plugging()
	b.steps(c)
	p.Caution("Safety", pdf.Text("Gloves and ventilation; isocyanates sensitise for life, a respirator as the data sheet says. Solvents: no flame, no spark. UV: shielded box, eyes covered. Compressed air: low pressure, eyes covered, never at people. Pressure vessel: never above the rating on its plate, relief valve set to it, vent before opening. The makers' data sheets, local codes and qualified practice come first."))
	return b, nil
}

func (b *book) cardNumbers() []pdf.Number {
	f, c := b.Outcome.Fill, b.Outcome.Charge
	out := []pdf.Number{{Value: Degrees(f.TiltAngle), Label: "tilt, side at azimuth " + Degrees(f.TiltSide) + " raised"}}
	if c == nil {
		return out
	}
	out = append(out, pdf.Number{Value: Figure(c.Mass), Unit: "g", Label: "to mix: " + Figure(c.Total) + " ml"}, mixNumber(c.Mix, true), mixNumber(c.Mix, false),
		pdf.Number{Value: Figure(c.FillTime), Unit: "s", Label: "to fill"})
	if c.PotLife != nil {
		out = append(out, pdf.Number{Value: Figure(*c.PotLife), Unit: "s", Label: "pot life"})
	}
	return out
}

// cradleInk is the colour of the cradle in the picture.
var cradleInk = color.RGBA{0xc9, 0xb8, 0x9a, 0xff}

// standing shows the closed block on its cradle, seen square to the tilt.
func (b *book) standing(c *mold.Cradle) (pdf.Picture, error) {
	s, f := b.studio, b.Outcome.Fill
	scene := render.Scene{Camera: render.Oblique(f.Up, f.TiltSide*180/math.Pi+270, 14)}
	box := geom.EmptyBox()
	for i, h := range s.mold.Halves {
		scene.Bodies = append(scene.Bodies, render.Body{Mesh: h.Mesh, Color: rubberOf(i).color})
		box = box.Union(h.Mesh.Box())
	}
	caption := pdf.Runs{pdf.Strong("How the block stands: " + tiltPhrase(f) + ". ")}
	if c != nil {
		scene.Bodies = append(scene.Bodies, render.Body{Mesh: c.Mesh, Color: cradleInk})
		box = box.Union(c.Mesh.Box())
		caption = append(caption, pdf.Text(fmt.Sprintf("wedge.stl is the cradle below it, %s high, %s of print; the middle of mass lies %s inside its foot.", Length(c.Height), Milliliters(c.Volume), Length(c.Margin))))
	} else {
		caption = append(caption, pdf.Text("It stands level and needs no cradle."))
	}
	sh := s.newShot(scene, fullWidth, fullWidth)
	sh.frame = []geom.Box{box}
	return s.take(sh.exactly(66), caption)
}

// plugging lists the vents in the order in which they weep.
func (b *book) plugging() {
	var list []*mold.Channel
	for i := range b.Outcome.Fill.Ports {
		if c := &b.Outcome.Fill.Ports[i]; c.Role == mold.Vent && c.Joins == 0 { // an arm drips and is plugged where it joins
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(x, y *mold.Channel) int {
		order := func(c *mold.Channel) int {
			if c.WeepsOrder == 0 {
				return 1 << 30
			}
			return c.WeepsOrder
		}
		return cmp.Compare(order(x), order(y))
	})
	t := pdf.Table{Size: 8.5, Columns: []pdf.Column{{Title: "Vent"}, {Title: "Exit X, Y, Z"}, {Title: "Drips first at", Align: pdf.Right}, {Title: "Plug at", Align: pdf.Right}, {Title: "Plugged", Align: pdf.Right}}}
	at := func(x *float64) string {
		if x == nil {
			return "never"
		}
		return Figure(*x) + " ml"
	}
	const mostVents = 8
	for _, c := range list[:min(len(list), mostVents)] {
		exit := "–"
		if c.Exit != nil {
			exit = coordinates(*c.Exit)
		}
		t.Rows = append(t.Rows, pdf.R(fmt.Sprintf("vent %d", c.ID), exit, at(c.WeepsAt), at(c.PlugAt), "______"))
	}
	if len(t.Rows) > 0 {
		b.pdf.Table(t)
	}
	if n := len(list) - mostVents; n > 0 {
		b.pdf.Note(pdf.Text(Plural(n, "more vent") + " in the report."))
	}
}

// steps are the order of work.
func (b *book) steps(c *mold.Cradle) {
	o := b.Outcome
	var list []pdf.Runs
	add := func(strong, text string) { list = append(list, pdf.Runs{pdf.Strong(strong + " "), pdf.Text(text)}) }
	stand := "Set the block level."
	if c != nil {
		stand = fmt.Sprintf("Set the block on its cradle, %s.", tiltPhrase(o.Fill))
	}
	add("Stand.", stand+" Prove every vent with a wire. Clamp between stiff plates, no harder than it takes to close.")
	add("Mix.", strings.TrimSpace(mixLine(o.Charge)+" Weigh A and B, mix twice, scrape the cup. Degas if the pot life allows."))
	add("Inject.", "Push the air out of the nozzle first. Press slowly. Plug a vent when its exit is wholly covered, not at the first drip. Plug the gate before the syringe comes off.")
	if p := o.Pot; p != nil {
		add("Cure.", fmt.Sprintf("Pressure %s kPa gauge, never above the vessel's rating; raise it slowly, hold it until the resin is firm. Stand the mold as it was poured.", Figure(p.Gauge)))
	}
	add("Demold.", b.demoldLine())
	b.pdf.Bullets(list...)
}

// demoldLine says in which order the halves come off.
func (b *book) demoldLine() string {
	d := b.Outcome.Demolding
	if d == nil || len(d.Order) == 0 {
		return "When the data sheet says so: cut the stubs at the neck, peel slowly from an edge, let air in behind deep cores."
	}
	line := "When the data sheet says so. "
	for n, h := range d.Order {
		name := b.pdf.Name(d.Halves[h].Name)
		if n == len(d.Order)-1 {
			line += fmt.Sprintf("Then take the part out of %s. ", name)
		} else {
			line += fmt.Sprintf("Take off %s, along %s. ", name, direction(d.Halves[h].Pull))
		}
	}
	if len(d.Plugs) > 0 {
		line += "Snap off first what locks in the channels. "
	}
	return line + "Let air in behind deep cores; do not pull at a corner."
}
