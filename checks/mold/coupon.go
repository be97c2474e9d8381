package mold

import (
	"fmt"
	"math"
	"slices"
)

// Answer is what is written behind a mark of the coupon's results that is not a
// number.
type Answer string

// The answers for fins and for sockets.
const (
	Stands  Answer = "stands"
	Fails   Answer = "fails"   // leans, is torn, or is not there
	Outside Answer = "outside" // the peg does not go in by hand
	Snug    Answer = "snug"    // it goes in by hand and has no play
	Loose   Answer = "loose"   // it goes in and can be moved sideways
)

// CouponRow is one row of features on the coupon and a table of its results. The
// sizes are those of testdata/coupon/coupon.scad.
type CouponRow struct {
	Table   string    // of the results
	Drawn   []float64 // mm: diameters, thicknesses, or clearances per side, rising
	Count   float64   // mm that one count of the two-digit marks stands for
	What    string    // one feature
	Where   string    // on the piece
	How     string    // to measure it
	Answers []Answer  // nil: a width in mm, 0 for a closed bore; else in the order in which they follow each other as sizes rise
}

var (
	couponBores = []float64{0.5, 0.8, 1, 1.2, 1.5, 2, 2.5, 3}
	couponFins  = []float64{0.5, 0.8, 1, 1.2, 1.5, 2}
	couponKeys  = []float64{0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3}
)

// boreHow is how every bore is measured.
const boreHow = "Push gauge pins, drills by their shank or wire of known thickness through by hand. Write the thickest that goes through without stretching the rubber, in mm; 0 if light does not come through."

var couponRows = []CouponRow{
	{Table: "upright", Drawn: couponBores, Count: 0.1, What: "bore", Where: "through the plate, beside the low wall", How: boreHow},
	{Table: "slanted", Drawn: couponBores, Count: 0.1, What: "bore", Where: "through the tall wall, at 45 degrees", How: boreHow},
	{Table: "level", Drawn: couponBores, Count: 0.1, What: "bore", Where: "through the low wall", How: boreHow},
	{Table: "fins", Drawn: couponFins, Count: 0.1, What: "fin", Where: "on the plate, 7 mm long and 5 mm high",
		How: `Write "stands" if it is whole and upright after washing and curing, else "fails".`, Answers: []Answer{Fails, Stands}},
	{Table: "keys", Drawn: couponKeys, Count: 0.01, What: "socket", Where: "in the plate, for the peg of the second piece",
		How: `Push the peg in by hand. Write "outside" if it does not go in to its shoulder, "snug" if it does and cannot be moved sideways, "loose" if it can.`, Answers: []Answer{Outside, Snug, Loose}},
}

// CouponAttitudes are the tables of bores, by how they lie in the print.
var CouponAttitudes = []string{"upright", "slanted", "level"}

// CouponRows returns the rows of the coupon in the order of its results.
func CouponRows() []CouponRow { return couponRows }

// Mark is what stands beside a feature: two digits.
func (r *CouponRow) Mark(i int) string {
	return fmt.Sprintf("%02d", int(math.Round(r.Drawn[i]/r.Count)))
}

// Marks returns the marks of a row.
func (r *CouponRow) Marks() []string {
	out := make([]string, len(r.Drawn))
	for i := range out {
		out[i] = r.Mark(i)
	}
	return out
}

// CouponResult is one answer.
type CouponResult struct {
	Drawn    float64 // mm
	Measured float64 // mm, of bores; 0 is closed
	Answer   Answer  // of fins and sockets
	Mark     string
	Line     int // in the results, from 1
}

// Coupon is what was measured on a printed coupon: one printer, one rubber, one
// way to wash and cure.
type Coupon struct {
	File    string                    // as the user named it
	Results map[string][]CouponResult // by table, sizes rising; asked by name only
}

// From is what settings and limits say of a value that comes from the coupon.
func (c *Coupon) From() string { return "coupon " + c.File }

// Count returns how many features were measured.
func (c *Coupon) Count() int {
	n := 0
	for i := range couponRows {
		n += len(c.Results[couponRows[i].Table])
	}
	return n
}

// Loss returns the median of drawn less measured diameter, in mm, over the open
// bores of one attitude, and their number; of an even number, the mean of the middle
// two. Rounded to 1e-4 mm, far below what a pin tells.
func (c *Coupon) Loss(attitude string) (loss float64, n int) {
	var all []float64
	for _, r := range c.Results[attitude] {
		if r.Measured > 0 {
			all = append(all, r.Drawn-r.Measured)
		}
	}
	if len(all) == 0 {
		return 0, 0
	}
	slices.Sort(all)
	k := len(all) / 2
	loss = all[k]
	if len(all)%2 == 0 {
		loss = (all[k-1] + all[k]) / 2
	}
	return round4(loss), len(all)
}

// BoreLoss returns the largest loss of the attitudes that were measured, at least 0:
// a channel's attitude changes with the way its half is laid on the printer. It
// tells of which attitude; empty where no open bore was measured.
func (c *Coupon) BoreLoss() (loss float64, attitude string) {
	for _, a := range CouponAttitudes {
		if x, n := c.Loss(a); n > 0 && (attitude == "" || x > loss) {
			loss, attitude = x, a
		}
	}
	return max(loss, 0), attitude
}

// Bound is the size from which a row of features comes out well.
type Bound struct {
	Drawn float64 // mm, smallest of the sizes from which on all that were measured did
	Next  float64 // mm, the next larger size on the coupon, or Drawn again
	Sharp bool    // the next smaller size was measured and did not, or there is none
	Table string
}

// LeastBore returns the diameter from which bores of every measured attitude stayed
// open: the largest of the attitudes' bounds, blunt where any of them that is as
// large is.
func (c *Coupon) LeastBore() (Bound, bool) {
	var least Bound
	ok := false
	for _, a := range CouponAttitudes {
		b, found := c.bound(a, func(r CouponResult) bool { return r.Measured > 0 })
		switch {
		case !found:
		case !ok || b.Drawn > least.Drawn:
			least, ok = b, true
		case b.Drawn == least.Drawn:
			least.Sharp = least.Sharp && b.Sharp
		}
	}
	return least, ok
}

// LeastFin returns the thickness from which fins stand.
func (c *Coupon) LeastFin() (Bound, bool) {
	return c.bound("fins", func(r CouponResult) bool { return r.Answer == Stands })
}

// LeastClearance returns the clearance per side from which the peg goes in by hand.
func (c *Coupon) LeastClearance() (Bound, bool) {
	return c.bound("keys", func(r CouponResult) bool { return r.Answer != Outside })
}

// MostClearance returns the largest clearance per side at which the peg went in and
// had no play; sharp where the next larger was loose, or there is none.
func (c *Coupon) MostClearance() (Bound, bool) {
	row := rowNamed("keys")
	all := c.Results["keys"]
	for k := len(all) - 1; k >= 0; k-- {
		if all[k].Answer != Snug {
			continue
		}
		i := slices.Index(row.Drawn, all[k].Drawn)
		sharp := i+1 == len(row.Drawn) || k+1 < len(all) && all[k+1].Drawn == row.Drawn[i+1]
		return Bound{all[k].Drawn, row.Drawn[min(i+1, len(row.Drawn)-1)], sharp, row.Table}, true
	}
	return Bound{}, false
}

// bound finds the smallest size that came out well; that larger ones did too is a
// rule of the results.
func (c *Coupon) bound(table string, well func(CouponResult) bool) (Bound, bool) {
	row := rowNamed(table)
	all := c.Results[table]
	for k, r := range all {
		if !well(r) {
			continue
		}
		i := slices.Index(row.Drawn, r.Drawn)
		sharp := i == 0 || k > 0 && all[k-1].Drawn == row.Drawn[i-1]
		return Bound{r.Drawn, row.Drawn[min(i+1, len(row.Drawn)-1)], sharp, table}, true
	}
	return Bound{}, false
}

func rowNamed(table string) *CouponRow {
	for i := range couponRows {
		if couponRows[i].Table == table {
			return &couponRows[i]
		}
	}
	return nil
}

// Calibrate takes a coupon's results into a job: the bore loss, unless the job says
// it itself. The limits that follow are set where the job's limits are.
func (j *Job) Calibrate(c *Coupon) error {
	j.Coupon = c
	const name = "printer.bore_loss"
	loss, attitude := c.BoreLoss()
	if attitude == "" || j.From(name) != "" {
		return nil
	}
	if err := SettingNamed(name).Set(j, 0, plain(loss)); err != nil {
		return fmt.Errorf("%s: its %s bores came out %s mm narrower than drawn (median): bore_loss %w; measure them again", c.File, attitude, plain(loss), err)
	}
	j.SetFrom(name, c.From())
	return nil
}

func round4(x float64) float64 { return math.Round(x*1e4)/1e4 + 0 }
