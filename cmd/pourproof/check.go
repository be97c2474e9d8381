package main

import (
	"errors"
	"fmt"
	"sync"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report"
)

func runCheck(w *world, args []string) error {
	f := newCheckFlags()
	if err := parseFlags(w, f.set, args); err != nil {
		return err
	}
	if f.watch {
		return watch(w, f)
	}
	r, err := f.request(w)
	if err != nil {
		return err
	}
	d, err := check(w, r)
	if err != nil {
		return err
	}
	if err := publish(w, r, d); err != nil {
		return err
	}
	if code := verdictCode(d.Outcome); code != exitFine {
		return exitCode(code)
	}
	return nil
}

// check computes a job's document; nothing is written.
func check(w *world, r *checkRequest) (*report.Document, error) {
	p := newProgress(w, r.quiet)
	defer p.done()
	if err := readSince(w, r); err != nil {
		return nil, err
	}
	if err := mayWrite(w, r); err != nil {
		return nil, err
	}
	p.step("reading the meshes")
	in, err := mold.Load(w.files(), r.job)
	if err != nil {
		return nil, err
	}
	facets := 0
	for i := range in.Inputs {
		facets += in.Inputs[i].Triangles
	}
	spendMemory(facets)
	measureAhead(in, r)
	p.step("closing the mold")
	m, why := closed(in, r, p)
	var missing *tryError
	if errors.As(why, &missing) {
		return nil, misuse("%v", missing)
	}
	var (
		fill   *mold.Fill
		tilts  *mold.TiltSearch
		prints []*mold.Printed
		poses  []*mold.PoseSearch
		fit    *mold.Closing
		places *mold.Assembly
		proof  *mold.SelfProof
		demold *mold.Demolding
		rubber []*mold.HalfRubber
		charge *mold.Charge
		pot    *mold.PotCure

		ofCups, ofPockets []mold.Sensitivity
	)
	err = sideBySide(
		func() error {
			if m != nil {
				fill, why = pour(m, p)
			}
			return sideBySide(
				func() (err error) { tilts, ofPockets, err = tilted(m, fill, r, p); return err },
				func() (err error) { charge, pot, err = charged(m, fill, r); return err },
				func() (err error) {
					if m != nil {
						proof, err = mold.ProveSelf(m, in.Inputs, fill)
					}
					return err
				})
		},
		func() (err error) {
			if prints, poses, err = printed(m, r, p); err == nil {
				ofCups, err = cupsSensed(m, prints, poses, r)
			}
			return err
		},
		func() (err error) { fit, places, err = fitted(in, m, r, p); return err },
		func() (err error) { demold, err = demolded(m, r, p); return err },
		func() (err error) { rubber, err = measured(m, r, p); return err })
	if err != nil {
		return nil, err
	}
	p.step("judging")
	o := checks.Run(checks.Input{Job: r.job, Inputs: in.Inputs, Mold: m, Fill: fill, Tilts: tilts, Sensitive: append(ofCups, ofPockets...), Prints: prints, Poses: poses, Fit: fit, Places: places, Proof: proof, Charge: charge, Pot: pot, Demolding: demold, Rubber: rubber, Fault: why, Only: r.only,
		Settings: usedSettings(r, m), Accept: r.job.Accept})
	d := report.New(o, version)
	if r.earlier != nil {
		d.Compare(r.earlier)
		picturesOfThen(w, r, d, p)
	}
	return d, nil
}

// sideBySide runs work that does not depend on each other and returns the first error
// in the order of the arguments.
func sideBySide(work ...func() error) error {
	faults := make([]error, len(work))
	var group sync.WaitGroup
	for i, do := range work {
		group.Go(func() { faults[i] = do() })
	}
	group.Wait()
	for _, err := range faults {
		if err != nil {
			return err
		}
	}
	return nil
}

// tryError says that --try names a vent this run does not suggest.
type tryError struct{ text string }

func (e *tryError) Error() string { return e.text }

// closed closes the mold, with the suggested vents that are to be tried: for these it
// is poured a first time. The error says why there is none.
func closed(in *mold.Intake, r *checkRequest, p *progress) (*mold.Mold, error) {
	m, err := mold.Close(*r.job, in.Part, in.Halves)
	if err != nil || len(r.try) == 0 {
		return m, err
	}
	fill, err := pour(m, p)
	if err != nil {
		return m, nil // as is said when it is poured again
	}
	var specs []mold.BoreSpec
	for _, id := range r.try {
		v := suggested(fill, id)
		if v == nil {
			return nil, &tryError{fmt.Sprintf("--try: this run suggests no vent %d; it suggests %s", id, suggestedList(fill))}
		}
		direction := v.Direction
		specs = append(specs, mold.BoreSpec{At: v.Mouth, Diameter: v.Diameter, Direction: &direction})
	}
	p.step("closing the mold with the vents to try")
	return m.With(specs)
}

// pour fills the mold and works out a vent for every pocket left. The error says why
// there is no answer.
func pour(m *mold.Mold, p *progress) (*mold.Fill, error) {
	p.step("pouring")
	fill, err := m.Pour(m.Up)
	if err != nil {
		return nil, err
	}
	p.step("looking for vents")
	if fill.Clinging, err = mold.Cling(m, fill); err != nil {
		return nil, err
	}
	return fill, m.SuggestVents(fill)
}

func suggested(f *mold.Fill, id int) *mold.SuggestedVent {
	for i := range f.Vents {
		if f.Vents[i].ID == id {
			return &f.Vents[i]
		}
	}
	return nil
}

func suggestedList(f *mold.Fill) string {
	list := ""
	for i := range f.Vents {
		list += fmt.Sprintf(", %d", f.Vents[i].ID)
	}
	if list == "" {
		return "none"
	}
	return list[2:]
}

// publish writes the document's files and prints the summary.
func publish(w *world, r *checkRequest, d *report.Document) error {
	files, err := render(r, d)
	if err != nil {
		return err
	}
	if err := writeAll(r.out, files); err != nil {
		return err
	}
	summary := w.stdout
	if r.json {
		if err := w.writeData(d.JSON); err != nil {
			return err
		}
		summary = w.stderr
	}
	if r.quiet {
		return nil
	}
	_, err = fmt.Fprint(summary, report.Summary(d, w.shown(r.out), w.color(summary)))
	return err
}

// render makes the bytes of every file.
func render(r *checkRequest, d *report.Document) ([]outFile, error) {
	var err error
	if d.JSON, err = report.JSON(d); err != nil {
		return nil, fmt.Errorf("report.json: %w", err)
	}
	files := []outFile{{"report.json", d.JSON}, {"vents.csv", report.VentsCSV(d)}}
	cutters, err := report.VentsSTL(d)
	if err != nil {
		return nil, fmt.Errorf("vents.stl: %w", err)
	}
	if cutters != nil {
		files = append(files, outFile{"vents.stl", cutters})
	}
	holes, err := report.ReliefsSTL(d)
	if err != nil {
		return nil, fmt.Errorf("reliefs.stl: %w", err)
	}
	if holes != nil {
		files = append(files, outFile{"reliefs.stl", holes})
	}
	var pages, view, card, wedge, marked []byte
	var cradle *mold.Cradle
	err = sideBySide(
		func() (err error) {
			if r.noPDF {
				return nil
			}
			if pages, view, err = report.Pages(d); err != nil {
				return fmt.Errorf("report.pdf: %w", err)
			}
			return nil
		},
		func() (err error) {
			cradle = report.Cradle(d)
			if wedge, err = report.WedgeSTL(cradle); err != nil {
				return fmt.Errorf("wedge.stl: %w", err)
			}
			if r.noPDF {
				return nil
			}
			if marked, err = report.Marked(d); err != nil {
				return fmt.Errorf("marked.3mf: %w", err)
			}
			return nil
		})
	if err == nil && !r.noPDF {
		if card, err = report.BenchCard(d, cradle); err != nil { // draws, as the pages do
			err = fmt.Errorf("bench-card.pdf: %w", err)
		}
	}
	if err != nil {
		return nil, err
	}
	for _, f := range []outFile{{"wedge.stl", wedge}, {"bench-card.pdf", card}, {"report.pdf", pages}, {"report.html", view}, {"marked.3mf", marked}} {
		if f.data != nil {
			files = append(files, f)
		}
	}
	return files, nil
}

// verdictCode is the exit code of an outcome.
func verdictCode(o *checks.Outcome) int {
	for i := range o.Findings {
		if f := &o.Findings[i]; f.Severity == checks.Stop && f.Accepted == nil {
			return exitStop
		}
	}
	if o.Verdict == checks.NoJudgement {
		return exitDoubt
	}
	for _, n := range o.NotJudged {
		if n.Asked {
			return exitDoubt
		}
	}
	return exitFine
}
