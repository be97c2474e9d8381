package main

import (
	"fmt"
	"strings"

	"pourproof/checks/mold"
	"pourproof/testdata"
)

// couponForm is the name of the form for a coupon's results.
const couponForm = "results.toml"

// runCoupon writes the calibration coupon and the form for its results.
func runCoupon(w *world, args []string) error {
	s := newFlagSet("coupon")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	dir := "pourproof-coupon"
	switch {
	case s.NArg() > 1:
		return misuse("coupon takes one folder, got %s", plural(s.NArg(), "name"))
	case s.NArg() == 1:
		dir = s.Arg(0)
	}
	files, err := testdata.Coupon()
	if err != nil {
		return err
	}
	files = append(files, testdata.File{Name: couponForm, Data: []byte(couponText())})
	if err := fill(w, dir, "the coupon", files, nil); err != nil {
		return err
	}
	fmt.Fprintf(w.stdout, "A coupon of two pieces, coupon.stl and peg.stl, in %s. Print both flat and without\n"+
		"supports, wash and cure them as you do a mold, fill in %s, and name it in a job file:\n\n"+
		"[printer]\ncoupon = \"%s\"\n", dir, couponForm, couponForm)
	return nil
}

const couponHead = `# Results of the coupon of pourproof. Print coupon.stl and peg.stl as they lie, without
# supports, in the rubber and with the settings of your molds; wash and cure as usual.
# Every feature bears its drawn size: bores and fins in tenths of a millimeter (05 is
# 0.5 mm), sockets their clearance per side in hundredths (05 is 0.05 mm).
# Take the # off a line and write the answer behind the = sign. Lines left as they are
# keep the defaults that hang on them. In the job file:
#   [printer]
#   coupon = "results.toml"
`

// couponText writes the form: every feature with an empty line for its result.
func couponText() string {
	var b strings.Builder
	b.WriteString(couponHead)
	rows := mold.CouponRows()
	for i := range rows {
		r := &rows[i]
		fmt.Fprintf(&b, "\n# %ss %s.\n", strings.ToUpper(r.What[:1])+r.What[1:], r.Where)
		comment(&b, r.How)
		fmt.Fprintf(&b, "[%s]\n", r.Table)
		for k, mark := range r.Marks() {
			fmt.Fprintf(&b, "#%s =            # drawn %.2f mm\n", mark, r.Drawn[k])
		}
	}
	return b.String()
}

// comment writes text in comment lines of at most 90 columns.
func comment(b *strings.Builder, text string) {
	line := "#"
	for _, word := range strings.Fields(text) {
		if len(line)+1+len(word) > 90 {
			b.WriteString(line + "\n")
			line = "#"
		}
		line += " " + word
	}
	b.WriteString(line + "\n")
}

// calibrate reads the coupon's results that a job file names.
func calibrate(w *world, job *mold.Job) error {
	if job.Printer.Coupon == "" {
		return nil
	}
	data, err := readJobFile(w.path(job.Printer.CouponPath), job.Printer.CouponPath)
	if err != nil {
		return fmt.Errorf("%w (%s: printer.coupon; pourproof coupon writes the form)", err, job.From("printer.coupon"))
	}
	c, err := mold.ParseCoupon(job.Printer.CouponPath, data)
	if err != nil {
		return err
	}
	c.File = job.Printer.Coupon
	return job.Calibrate(c)
}
