package checks

import (
	"fmt"
	"strings"

	"pourproof/checks/mold"
	"pourproof/geom"
)

var intakeCheck = Check{
	Name: "intake", Title: "The files",
	Doc: `
Whether the files are what they are taken for. A wrong file makes every other number
a lie, so this check is always on.

  units        an STL or OBJ states none; what was assumed, and whether the sizes
               speak for another one
  surfaces     open edges, edges with more than two facets, facets without area,
               duplicates, shells that face inward or lie inside others, surfaces
               that cross themselves by more than 0.001 mm. Solid is where
               the winding number is 1 or more; what leaves no doubt is put right
               and said: a hole of up to a tenth of its shell's surface is closed
               with the flattest patch (Barequet and Sharir 1995)
  chord error  largest sagitta of an arc that a mesh's facets cut off:
               w/2 tan(a/4) across an edge with angle a between facets w wide
  position     coordinates so far from the origin that float32 is coarse; a part
               that lies outside the halves; files that do not lie together, and the
               shift, turn or factor that would put them so (never applied silently)
  match        the part is fitted to the cavity by scale and shift (closest points
               and least squares, Chen and Medioni 1992); a cavity k times the part
               stands for a shrink of 1 - 1/k
  self-check   the program's own work on these files, two ways each: the sum of the
               indices of critical points against the Euler characteristic
               (Banchoff 1970), volume by divergence against columns, and that
               cavity = filled + trapped + not reached

Sources: winding number, Jacobson, Kavan and Sorkine-Hornung, ACM Trans. Graph. 32,
2013; limits: see there.`,
	Limits: []string{"hole_mm", "chord_mm", "part_share", "skin_mm", "shift_mm", "scale_high", "scale_low"},
	Run:    checkIntake,
}

func checkIntake(p *Pass) {
	for i := range p.Inputs {
		in := &p.Inputs[i]
		p.repairs(in)
		p.cautions(in)
	}
	p.chord()
	p.units()
	p.share()
	p.places()
	p.selfProof()
	if p.Mold != nil {
		p.match()
		p.fit()
		for _, w := range p.Mold.Warnings {
			p.Report(Finding{kind: "closing", Severity: Note, harm: 1, Title: "Closing the mold: " + w,
				Why: "It was noticed while the space between the halves was sorted.", Advice: "Check that place in CAD."})
		}
	}
}

// words is what is said about one kind of repair or caution.
type words struct {
	severity Severity
	title    string // after the file's name; %s takes the count and noun
	noun     string // empty: the title takes no count
	why      string
	advice   string
}

const exportAgain = "Nothing to do now. If the answer looks wrong there, repair the surface in CAD and export it again."

// repairWords has a row for every kind of repair that the intake makes.
var repairWords = map[string]words{
	geom.RepairRepeated:  {Note, "%s dropped", "facet without area", "They name one corner twice and bound nothing.", exportAgain},
	geom.RepairDuplicate: {Note, "%s dropped", "duplicate facet", "They are exact repeats of other facets.", exportAgain},
	geom.RepairTurned:    {Note, "%s turned", "facet", "They faced the other way than their neighbours.", exportAgain},
	geom.RepairStitched:  {Note, "%s joined", "open corner", "They lay within 0.001 mm of each other.", exportAgain},
	geom.RepairSeam:      {Note, "%s joined", "seam", "Edges run along each other there without a common corner; nothing is missing.", exportAgain},
	geom.RepairHole:      {Note, "%s closed flat", "hole", "Facets were missing there.", "Compare that place with CAD. If the surface is not flat there, close it in CAD and export it again."},
	geom.RepairInsideOut: {Note, "%s turned outward", "shell", "Their facets faced inward, so the solid read as a hole.", exportAgain},
}

// cautionWords has a row for every kind of caution that the intake gives.
var cautionWords = map[string]words{
	geom.CautionOpen:        {Discuss, "%s", "open edge", "The surface has a hole. Inside and outside are guessed beside it.", "Close the surface in CAD and export it again."},
	geom.CautionCrowded:     {Note, "%s with more than two facets", "edge", "Bodies touch along an edge. The answer holds, but the outline there is ambiguous.", "Join or separate the bodies in CAD if that place matters."},
	geom.CautionOpposed:     {Discuss, "%s where neighbours face opposite sides", "edge", "It is not clear which side is solid.", "Repair the surface in CAD and export it again."},
	geom.CautionInwardOpen:  {Discuss, "%s that faces inward and is open", "shell", "It is left as it is and may read as a hole.", "Export it closed, facing outward."},
	geom.CautionCoincident:  {Note, "%s that lie on others", "facet", "Two shells share a face there. It changes nothing: both are read as one solid.", exportAgain},
	geom.CautionDegenerate:  {Note, "%s kept", "facet without area", "They join their neighbours and change no volume.", exportAgain},
	geom.CautionFlat:        {Note, "%s that encloses nothing", "shell", "It changes no volume.", "Take it out in CAD if it is a leftover."},
	geom.CautionNestedSolid: {Discuss, "%s wholly inside another", "shell", "It faces outward, so it is read as solid and changes nothing. If it was meant as a void, that void is missing here.", "Turn its facets inward if it is a void; otherwise take it out."},
	geom.CautionVoid:        {Discuss, "%s", "sealed void", "It has no way to the outside: in a print it keeps uncured resin, in a part it cannot be cast.", "Open it or fill it in CAD."},
	geom.CautionStrayVoid:   {Discuss, "%s that faces inward outside any solid", "shell", "It has no effect as it is.", "Turn it outward if it is a body; otherwise take it out."},
	geom.CautionNesting:     {Discuss, "too many overlapping shells", "", "Which shell lies inside which could not be told.", "Join the bodies in CAD and export one."},
	mold.CautionCrossing:    {Discuss, "the surface crosses itself at %s of facets", "pair", "Where it is folded inside-out, solid may read as a hole.", "Join the bodies, or repair the surface, in CAD, and export it again."},
	mold.CautionOverlap:     {Note, "bodies overlap at %s of facets", "pair", "It changes nothing: they are read as one solid.", exportAgain},
	"crossings-unknown":     {Note, "the surface crosses itself too often to look everywhere", "", "", exportAgain},
	"far-from-origin":       {Discuss, "far from the origin", "", "Single-precision coordinates are coarse out there, so small features are bent.", "Move the model near the origin and export it again."},
	"size-small":            {Discuss, "very small: is the unit right?", "", "Every volume and limit depends on it.", "Say --units, or units under [part] and [[half]] in the job file."},
	"size-large":            {Discuss, "very large: is the unit right?", "", "Every volume and limit depends on it.", "Say --units, or units under [part] and [[half]] in the job file."},
	"part-outside":          {Stop, "not inside the halves", "", "Nothing that is computed around it means anything until it is.", "Export all bodies in the assembled position, and name the part first."},
	"count-missing":         {Note, "no facet count in the header", "", "All facets in the file are read.", exportAgain},
	"count-wrong":           {Note, "wrong facet count in the header", "", "All facets in the file are read.", exportAgain},
	"trailing-bytes":        {Note, "bytes after the last facet", "", "They are left out.", exportAgain},
	"normals":               {Note, "stored normals disagree with the corners", "", "The order of the corners counts, not the stored normal.", exportAgain},
	"warped-face":           {Note, "faces that are not flat", "", "They are cut into triangles along one of several ways.", "Export with finer triangles if that place matters."},
	"crossed-face":          {Discuss, "faces that cross themselves", "", "They are cut along one of several ways, which may not be the one that is meant.", "Repair those faces in CAD and export it again."},
	"object-skipped":        {Note, "objects left out", "", "They are not marked as parts of the build.", "Mark them as models if they belong to the mold."},
}

// repairs reports what was put right in a file, one finding a kind.
func (p *Pass) repairs(in *mold.Input) {
	for _, r := range in.Repairs {
		w, known := repairWords[r.Kind]
		if !known {
			w = words{Note, strings.ReplaceAll(r.Kind, "-", " "), "", "It was put right while the file was read.", exportAgain}
		}
		said := ""
		if r.Kind == geom.RepairHole {
			said = sentence(r.Text)
			if p.Limits.Judge(r.Width, "hole_mm").Broken() {
				w.severity = Discuss
			}
		}
		p.oddity(in, r.Kind, w, r.Count, r.At, said)
	}
}

// cautions reports what stays wrong in a file, one finding a kind.
func (p *Pass) cautions(in *mold.Input) {
	done := map[string]bool{} // asked by kind, never ranged over
	for i, c := range in.Warnings {
		if done[c.Kind] {
			continue
		}
		done[c.Kind] = true
		n, said := 0, ""
		for _, d := range in.Warnings[i:] {
			if d.Kind == c.Kind {
				n += int(d.Size)
				said = text(said, sentence(d.Text))
			}
		}
		w, known := cautionWords[c.Kind]
		if !known {
			w = words{Note, strings.ReplaceAll(c.Kind, "-", " "), "", "", exportAgain}
		}
		p.oddity(in, c.Kind, w, max(n, 1), c.At, said)
	}
}

// oddity reports one kind of flaw of a file.
func (p *Pass) oddity(in *mold.Input, kind string, w words, n int, at *geom.Vec, said string) {
	title := w.title
	f := Finding{kind: kind, of: in.Name, Severity: w.severity, harm: 1, Where: Where{Body: in.Name, At: at}}
	if w.noun != "" {
		title = fmt.Sprintf(w.title, count(n, w.noun))
		v := float64(n)
		f.Value = &v
	}
	f.Title, f.Why, f.Advice = in.Name+": "+title, text(said, w.why), w.advice
	p.Report(f)
}

// sentence makes one of a phrase: a capital first, a stop last.
func sentence(s string) string {
	s = capital(strings.TrimSpace(s))
	if s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}

// chord reports, in one finding, the meshes that are too coarse.
func (p *Pass) chord() {
	var names []string
	var worst *mold.Input
	for i := range p.Inputs {
		in := &p.Inputs[i]
		if !p.Limits.Judge(in.Chord, "chord_mm").Broken() {
			continue
		}
		names = append(names, in.Name)
		if worst == nil || in.Chord > worst.Chord {
			worst = in
		}
	}
	if worst == nil {
		return
	}
	f := Finding{kind: "chord", Where: Where{Body: worst.Name}, Title: fmt.Sprintf("Facets of %s stray up to %s from the curve", list(names), mm(worst.Chord)),
		Why:    "Estimated from the angle and width of neighbouring facets. The cast shows such facets, and part and cavity may differ by as much.",
		Advice: "Export with a chord tolerance of 0.02 mm."}
	p.Report(p.Limits.Judge(worst.Chord, "chord_mm").on(f, worst.Chord))
}

// units says which unit was assumed and what sizes that makes.
func (p *Pass) units() {
	var files []string
	unit := ""
	for i := range p.Inputs {
		if in := &p.Inputs[i]; in.UnitsFrom == "assumed" {
			files, unit = append(files, in.Name), in.Units
		}
	}
	if len(files) == 0 {
		return
	}
	part, block := p.sizes()
	why := ""
	if !block.Empty() {
		why = fmt.Sprintf("The block then measures %s.", size(block))
	}
	if !part.Empty() {
		why = text(why, fmt.Sprintf("The part measures %s.", size(part)))
	}
	p.Report(Finding{kind: "units", Severity: Note, harm: 1, Title: fmt.Sprintf("No unit in %s: read as %s", list(files), unit), Why: why,
		Advice: "Compare these sizes with CAD. If they are wrong, say --units."})
}

func size(b geom.Box) string {
	s := b.Size()
	return fmt.Sprintf("%s x %s x %s mm", tenth(s.X), tenth(s.Y), tenth(s.Z))
}

// sizes returns the boxes of the part and of all halves.
func (p *Pass) sizes() (part, block geom.Box) {
	part, block = geom.EmptyBox(), geom.EmptyBox()
	for i := range p.Inputs {
		if in := &p.Inputs[i]; in.Role == "part" {
			part = in.Box
		} else {
			block = block.Union(in.Box)
		}
	}
	return part, block
}

// scales are what a mistaken unit multiplies by, and how it is told.
var scales = []struct {
	factor float64
	unit   string
}{{10, "cm"}, {25.4, "in"}, {304.8, "ft"}, {1000, "m"}}

// share reports a part so small beside its block that its unit is in doubt.
func (p *Pass) share() {
	part, block := p.sizes()
	if part.Empty() || block.Empty() || part.Diagonal() == 0 {
		return
	}
	ratio := block.Diagonal() / part.Diagonal()
	j := p.Limits.Judge(ratio, "part_share")
	if !j.Broken() {
		return
	}
	unit := scales[0].unit
	for _, s := range scales { // the largest that still leaves the part inside
		if s.factor < ratio {
			unit = s.unit
		}
	}
	name := p.partName()
	f := Finding{kind: "share", Where: Where{Body: name}, Title: fmt.Sprintf("The block is %s times the size of the part", figure(ratio)),
		Why:    fmt.Sprintf("The part measures %s, the block %s. One of them may have been read in a wrong unit.", size(part), size(block)),
		Advice: fmt.Sprintf("If the part was drawn in %s, write units = \"%s\" under [part] in the job file.", unit, unit)}
	p.Report(j.on(f, ratio))
}

// match reports a part whose surface is not the cavity's.
func (p *Pass) match() {
	m := p.Mold
	j := p.Limits.Judge(m.Skin, "skin_mm")
	if !j.Broken() {
		return
	}
	f := Finding{kind: "match", Where: Where{Body: p.partName()},
		Title:  fmt.Sprintf("Part and cavity do not match: the skin between them is %s", mm(m.Skin)),
		Why:    fmt.Sprintf("After the fit 90 %% of the part's surface lies within %s of the cavity's. What is thinner than the skin counts as cavity, so thin channels are missed.", mm(m.Fit.Quantile90)),
		Advice: "Check that part and halves are of one revision and in the assembled position."}
	if 1.5*m.Fit.Quantile90 <= j.Limit.Value { // the rule for the skin: 1.5 x this quantile
		f.Title = fmt.Sprintf("The skin around the part is %s", mm(m.Skin))
		f.Why = fmt.Sprintf("The seal (%s) or the chord error of the files sets it. What is thinner than the skin counts as cavity, so thin channels are missed.", mm(m.Seal))
		f.Advice = "Lower pour.seal, or export with a finer chord tolerance."
	}
	p.Report(j.on(f, m.Skin))
}

// fit says how the part had to be scaled and moved to lie in the cavity.
func (p *Pass) fit() {
	fit := &p.Mold.Fit
	if !fit.Applied {
		return
	}
	shift := fit.Offset.Norm()
	j := p.Limits.Judge(fit.Scale, "scale_high", "scale_low")
	value := fit.Scale
	if k := p.Limits.Judge(shift, "shift_mm"); k.Severity > j.Severity {
		j, value = k, shift
	}
	f := Finding{kind: "fit", Severity: Note, harm: 1, Value: &value, Where: Where{Body: p.partName()},
		Title:  fmt.Sprintf("The cavity is %.4f times the part", fit.Scale),
		Why:    shrinkText(fit.Scale),
		Advice: "Compare it with the shrink of your resin and printer. The sizes in this report are those of the cavity."}
	if shift > 0.05 { // below it the shift is within what chord errors make
		f.Why = text(f.Why, fmt.Sprintf("The part had to be moved by %s mm (%s) to lie in it.", hundredths(fit.Offset), mm(shift)))
	}
	if j.Broken() {
		f = j.on(f, value)
		f.Advice = "Check that part and halves are of one revision, in one unit and in the assembled position."
	}
	p.Report(f)
}

func shrinkText(scale float64) string {
	switch {
	case scale > 1.0001:
		return fmt.Sprintf("It stands for a shrink of %s %%.", figure(100*(1-1/scale)))
	case scale < 0.9999:
		return fmt.Sprintf("It is smaller than the part by %s %%, so the cast comes out small.", figure(100*(1-scale)))
	}
	return "It has the size of the part."
}
