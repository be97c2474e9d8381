package report

import (
	"fmt"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report/pdf"
)

// coupon says which values were measured on a printed coupon, or that none was.
func (b *book) coupon() {
	job := b.Outcome.Job
	if job == nil {
		return
	}
	b.pdf.Heading(2, "Coupon")
	c := job.Coupon
	if c == nil {
		b.pdf.Para(pdf.Text("No results of a coupon were given. How much narrower bores print, which bores stay open, which fins stand and how much clearance keys need are assumptions here. A coupon, printed once a printer and rubber and measured, replaces them: "), pdf.Code("pourproof coupon"), pdf.Text("."))
		return
	}
	b.pdf.Para(pdf.Text(couponText(c)))
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Value"}, {Title: "From the coupon", Align: pdf.Right}, {Title: "Used"}}}
	for _, x := range checks.CouponChanges(job) {
		value, used := "-", "yes"
		if x.Set || x.Value > 0 {
			value = Number(x.Value, "mm")
		}
		if !x.Set {
			used = "no: " + x.Why
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Code(x.Name)}, pdf.Plain(value), pdf.Plain(typeset(used))}})
	}
	b.pdf.Table(t)
}

// couponText says in sentences what was measured.
func couponText(c *mold.Coupon) string {
	text := fmt.Sprintf("%s: %s measured. ", c.File, Plural(c.Count(), "feature"))
	for _, a := range mold.CouponAttitudes {
		if loss, n := c.Loss(a); n > 0 {
			text += fmt.Sprintf("%s bores printed %s narrower than drawn (median of %s). ", strings.ToUpper(a[:1])+a[1:], Length(loss), Plural(n, "open bore"))
		}
	}
	if fin, ok := c.LeastFin(); ok {
		text += fmt.Sprintf("Fins stand from %s on: thinner rubber is worth no print, and the next larger size is the least without doubt, but no less than the default, since what stands may still tear. ", Length(fin.Drawn))
	}
	return text + "Bore loss is the largest of these medians; bores are judged as printed, that is less the loss, against the least diameter that stayed open and the next larger one; keys against the clearances at which the peg went in by hand and had no play, less and more 0.02 mm. Bores of the coupon are at most 5 mm long."
}
