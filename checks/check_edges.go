package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
)

var edgesCheck = Check{
	Name: "edges", Title: "Sharp edges",
	Doc: `
Knife edges of the rubber, and sharp inner corners of it where a crack starts.

  knife    two faces of the rubber meet at less than 45 deg of rubber. It folds over,
           tears off and leaves flash. Edges that hang together are one; its length, and
           the place where it is sharpest
  corner   two faces that shape the part meet in an inner corner of the rubber that
           turns by 30 deg or more without a fillet: a sharp outer edge of the part. A
           crack starts there if the corner is stretched. The stretch is that of the
           undercuts whose faces border the corner, 0 where there is none.

A facet that reaches less than 0.02 mm beside an edge is a splinter of the mesh and
makes no edge; lines under 0.5 mm are left out.

A fillet of 0.5 mm helps: the strain at a corner falls with the root of its radius
(Inglis 1913, 1 + 2 sqrt(depth/radius)), and rigid tools take the same figure.`,
	Limits: []string{"knife_deg", "knife_mm", "corner_stretch_percent"},
	Run:    checkEdges,
}

// fillet is the radius in mm that keeps a crack from starting at an inner corner:
// guides for cast parts warn of edges sharper than 0.5 mm.
const fillet = 0.5

func checkEdges(p *Pass) {
	if !p.measured() {
		return
	}
	for _, r := range p.Rubber {
		p.knives(r)
	}
	p.corners()
}

// knives reports the knife edges of a half, told by the sharpest of those that are
// long enough.
func (p *Pass) knives(r *mold.HalfRubber) {
	if len(r.Knives) == 0 {
		return
	}
	worst, long, total := &r.Knives[0], false, 0.0
	for i := range r.Knives {
		k := &r.Knives[i]
		total += k.Length
		if is := p.Limits.Get("knife_mm").broken(k.Length); is && !long {
			worst, long = k, true
		}
	}
	angle := inDegrees(worst.Angle)
	j := p.Limits.Judge(angle, "knife_deg")
	if !j.Broken() {
		return
	}
	if !long {
		j = j.atMost(Note)
	}
	place := worst.At
	f := Finding{kind: "knife", Where: Where{Body: r.Name, At: &place}, anchor: &place,
		Title:  fmt.Sprintf("Knife edge of rubber in %s: %s deg, %s long", r.Name, figure(angle), mm(worst.Length)),
		Why:    "So sharp an edge folds over when the mold is closed, tears off in pieces and leaves flash on the cast.",
		Advice: fmt.Sprintf("Let the two faces meet at %s deg or more, or end the edge in a land of 1.5 mm.", figure(p.Limits.Get("knife_deg").Value))}
	if n := len(r.Knives); n > 1 {
		f.Title = fmt.Sprintf("%s of rubber in %s, %s in all: down to %s deg", count(n, "knife edge"), r.Name, mm(total), figure(angle))
		f.Why = text(f.Why, p.otherKnives(r, worst))
	}
	p.Report(j.on(f, angle))
}

func (p *Pass) otherKnives(r *mold.HalfRubber, worst *mold.Edge) string {
	var words []string
	for i := range r.Knives {
		if k := &r.Knives[i]; k != worst && len(words) < mostPlaces {
			words = append(words, fmt.Sprintf("%s deg at %s", figure(inDegrees(k.Angle)), at(k.At)))
		}
	}
	return fmt.Sprintf("Also %s.", list(words))
}

// corners reports the inner corners that are stretched, half by half, and all others
// together.
func (p *Pass) corners() {
	var calm []*mold.Edge
	var names []string
	total := 0.0
	for _, r := range p.Rubber {
		before := len(calm)
		var worst *mold.Edge
		most, n := 0.0, 0
		for i := range r.Corners {
			c := &r.Corners[i]
			s := p.stretchOf(r.Half, c.Facets)
			if !p.Limits.Judge(s, "corner_stretch_percent").Broken() {
				calm = append(calm, c)
				total += c.Length
				continue
			}
			if n++; s > most {
				worst, most = c, s
			}
		}
		if worst != nil {
			p.stretchedCorner(r, worst, most, n)
		}
		if len(calm) > before {
			names = append(names, r.Name)
		}
	}
	if len(calm) == 0 {
		return
	}
	v := total
	why := "They are sharp outer edges of the part. No undercut stretches them by more than " + figure(p.Limits.Get("corner_stretch_percent").Value) + " %."
	if p.Demolding == nil {
		why = "They are sharp outer edges of the part. How far they are stretched was not computed."
	}
	p.Report(Finding{kind: "corners", Severity: Note, harm: 1, Value: &v, Unit: "mm",
		Title:  fmt.Sprintf("%s of rubber without a fillet, %s long in all, in %s", count(len(calm), "sharp inner corner"), mm(total), list(names)),
		Why:    why,
		Advice: fmt.Sprintf("No action needed. A fillet of %s on the part's edges makes the mold last longer.", mm(fillet))})
}

func (p *Pass) stretchedCorner(r *mold.HalfRubber, c *mold.Edge, percent float64, n int) {
	place := c.At
	f := Finding{kind: "corner", Where: Where{Body: r.Name, At: &place}, anchor: &place,
		Title:  fmt.Sprintf("Sharp inner corner of %s is stretched by %s %% at demolding", r.Name, figure(percent)),
		Why:    fmt.Sprintf("The faces meet at %s deg without a fillet over %s, beside an undercut. A crack starts at such a corner.", figure(inDegrees(c.Angle)), mm(c.Length)),
		Advice: fmt.Sprintf("Round the part's edge there with %s or more.", mm(fillet))}
	if n > 1 {
		f.Why = text(f.Why, fmt.Sprintf("%s of this half are stretched so.", count(n, "corner")))
	}
	p.Report(p.Limits.Judge(percent, "corner_stretch_percent").on(f, math.Round(percent*100)/100))
}
