package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
)

// clearanceError in mm is how well a key's clearance is known from a mesh; limits
// of keys stand off what was tried out by as much (as in their defaults).
const clearanceError = 0.02

// leastLimit in mm stands for zero: a limit is a positive number.
const leastLimit = 0.001

// CouponChange is what a coupon's results came to for one value.
type CouponChange struct {
	Name  string  // limits.bore_stop_mm
	Value float64 // that the coupon asks for, 0 where it does not say
	Set   bool    // false: another value stands, and Why says so
	Why   string
}

// couponLimit is one limit that a coupon sets.
type couponLimit struct {
	key   string
	what  string // is missing where it is not set
	value func(job *mold.Job) (value float64, sharp, ok bool)
	kept  string // why it is never relaxed, empty where it may be
}

// couponLimits are the limits that follow from a coupon, by name. Bores are judged as
// printed: drawn less the bore loss. Of a size that came out well although the next
// smaller one was not measured, the limit may only be relaxed. The least fin that
// stands is the least that is worth printing; whether it tears as the part leaves, which
// the limit of the doubtful ones is for, the coupon does not tell.
var couponLimits = []couponLimit{
	{"bore_stop_mm", "no open bore was measured", func(j *mold.Job) (float64, bool, bool) {
		b, ok := j.Coupon.LeastBore()
		return b.Drawn - j.Printer.BoreLoss, b.Sharp, ok
	}, ""},
	{"bore_discuss_mm", "no open bore was measured", func(j *mold.Job) (float64, bool, bool) {
		b, ok := j.Coupon.LeastBore()
		return b.Next - j.Printer.BoreLoss, b.Sharp, ok
	}, ""},
	{"thin_stop_mm", "no fin stood, or none was looked at", func(j *mold.Job) (float64, bool, bool) {
		b, ok := j.Coupon.LeastFin()
		return b.Drawn, b.Sharp, ok
	}, ""},
	{"thin_mm", "no fin stood, or none was looked at", func(j *mold.Job) (float64, bool, bool) {
		b, ok := j.Coupon.LeastFin()
		return b.Next, b.Sharp, ok
	}, "what stands may still tear as the part leaves, so the default stays"},
	{"key_tight_mm", "no socket took the peg, or none was tried", func(j *mold.Job) (float64, bool, bool) {
		b, ok := j.Coupon.LeastClearance()
		return b.Drawn - clearanceError, b.Sharp, ok
	}, ""},
	{"key_loose_mm", "no socket held the peg without play, or none was tried", func(j *mold.Job) (float64, bool, bool) {
		b, ok := j.Coupon.MostClearance()
		return b.Drawn + clearanceError, b.Sharp, ok
	}, ""},
}

// Calibrate sets the limits that follow from a coupon and returns what it did, in
// the order of couponLimits. The job file's own limits are to be set after it.
func (l *Limits) Calibrate(job *mold.Job) ([]CouponChange, error) {
	var out []CouponChange
	for _, one := range couponLimits {
		k := l.Get(one.key)
		v, sharp, ok := one.value(job)
		v = math.Max(math.Round(v*1e4)/1e4, leastLimit)
		change := CouponChange{Name: "limits." + one.key, Value: v}
		relaxed := v < k.Value
		if k.Sense != Under {
			relaxed = v > k.Value
		}
		switch {
		case !ok:
			change.Value, change.Why = 0, one.what
		case !sharp && !relaxed:
			change.Why = "the neighbouring size was not measured, so nothing speaks against the default"
		case relaxed && one.kept != "":
			change.Why = one.kept
		default:
			change.Set = true
			if err := l.Set(one.key, v, job.Coupon.From()); err != nil {
				return nil, err
			}
		}
		out = append(out, change)
	}
	// A key that goes in by hand is none that is kept out of its socket.
	if tight, stop := l.Get("key_tight_mm"), l.Get("key_stop_mm"); tight.Value < stop.Value {
		stop.Value, stop.From = tight.Value, job.Coupon.From()
		out = append(out, CouponChange{Name: "limits.key_stop_mm", Value: stop.Value, Set: true})
	}
	return out, nil
}

// CouponChanges returns what a job's coupon came to, bore loss first; values that the
// job states itself stand. Nil without a coupon.
func CouponChanges(job *mold.Job) []CouponChange {
	if job == nil || job.Coupon == nil {
		return nil
	}
	loss, attitude := job.Coupon.BoreLoss()
	first := CouponChange{Name: "printer.bore_loss", Value: loss, Set: job.From("printer.bore_loss") == job.Coupon.From()}
	switch {
	case attitude == "":
		first.Why = "no open bore was measured"
	case !first.Set:
		first.Why = "set by " + job.From("printer.bore_loss")
	}
	rest, err := DefaultLimits().Calibrate(job)
	if err != nil { // LimitsFor has said so
		return []CouponChange{first}
	}
	for i := range rest {
		for _, v := range job.Limits {
			if "limits."+v.Key == rest[i].Name {
				rest[i].Set, rest[i].Why = false, fmt.Sprintf("set by %s", v.From)
			}
		}
	}
	return append([]CouponChange{first}, rest...)
}
