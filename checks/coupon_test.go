package checks

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
)

const couponJob = "[part]\nfile='a'\n[[half]]\nfile='b'\n[[half]]\nfile='c'\n"

// calibrated returns a job with a coupon's results.
func calibrated(t *testing.T, extra, results string) *mold.Job {
	t.Helper()
	var keys []string
	for _, l := range DefaultLimits().All() {
		keys = append(keys, l.Key)
	}
	j, err := mold.ParseJob("j.toml", []byte(couponJob+extra), keys)
	require.NoError(t, err)
	c, err := mold.ParseCoupon("results.toml", []byte(results))
	require.NoError(t, err)
	require.NoError(t, j.Calibrate(c))
	return j
}

// Every limit that a coupon sets is in the table.
func TestCouponLimitsAreLimits(t *testing.T) {
	for _, one := range couponLimits {
		assert.NotPanics(t, func() { DefaultLimits().Get(one.key) }, one.key)
	}
}

const wholeCoupon = `
[upright]
05 = 0
08 = 0.6
10 = 0.8
12 = 1.1
[keys]
00 = "outside"
05 = "outside"
10 = "snug"
15 = "snug"
20 = "loose"
`

func TestCouponSetsLimits(t *testing.T) {
	j := calibrated(t, "", wholeCoupon)
	l, err := LimitsFor(j)
	require.NoError(t, err)
	// Losses 0.2, 0.2, 0.1: median 0.2. Least open bore 0.8, the next 1.0.
	for key, want := range map[string]float64{"bore_stop_mm": 0.6, "bore_discuss_mm": 0.8, "key_tight_mm": 0.08, "key_loose_mm": 0.17} {
		assert.InDelta(t, want, l.Get(key).Value, 1e-9, key)
		assert.Equal(t, "coupon results.toml", l.Get(key).From, key)
	}
	assert.Equal(t, "default", l.Get("key_stop_mm").From)
	assert.Equal(t, "default", l.Get("gap_mm").From)
}

// The least fin that stands is the least to print; the limit of those that may tear is
// raised and never lowered.
func TestCouponSetsFins(t *testing.T) {
	d := DefaultLimits()
	for _, c := range []struct {
		results    string
		stop, thin float64
	}{
		{"05 = \"fails\"\n08 = \"fails\"\n10 = \"fails\"\n12 = \"fails\"\n15 = \"stands\"", 1.5, 2},
		{"08 = \"fails\"\n10 = \"stands\"\n12 = \"stands\"", 1, d.Get("thin_mm").Value},
		{"05 = \"stands\"", 0.5, d.Get("thin_mm").Value},
		{"20 = \"stands\"", d.Get("thin_stop_mm").Value, d.Get("thin_mm").Value}, // nothing smaller was looked at
	} {
		j := calibrated(t, "", "[fins]\n"+c.results)
		l, err := LimitsFor(j)
		require.NoError(t, err)
		assert.Equal(t, c.stop, l.Get("thin_stop_mm").Value, c.results)
		assert.Equal(t, c.thin, l.Get("thin_mm").Value, c.results)
		set := 0
		for _, x := range CouponChanges(j) {
			if x.Set {
				set++
				assert.Equal(t, "coupon results.toml", l.Get(x.Name[len("limits."):]).From)
			} else {
				assert.NotEmpty(t, x.Why, x.Name)
			}
		}
		wanted := 0
		for _, k := range []string{"thin_stop_mm", "thin_mm"} {
			if l.Get(k).Value != d.Get(k).Value {
				wanted++
			}
		}
		assert.Equal(t, wanted, set, c.results)
	}

	// A fin of 1.2 mm is a discussion by default and no print worth where 1.5 mm is the
	// least that stands.
	l, err := LimitsFor(calibrated(t, "", "[fins]\n12 = \"fails\"\n15 = \"stands\""))
	require.NoError(t, err)
	assert.Equal(t, Discuss, d.Judge(1.2, "thin_stop_mm", "thin_mm").Severity)
	assert.Equal(t, Stop, l.Judge(1.2, "thin_stop_mm", "thin_mm").Severity)
}

// The job file's own values win, and the changes say so.
func TestJobFileWinsOverCoupon(t *testing.T) {
	j := calibrated(t, "[printer]\nbore_loss = 0.3\n[limits]\nkey_tight_mm = 0.05\n", wholeCoupon)
	assert.Equal(t, 0.3, j.Printer.BoreLoss)
	l, err := LimitsFor(j)
	require.NoError(t, err)
	assert.Equal(t, 0.05, l.Get("key_tight_mm").Value)
	assert.Equal(t, "job file line 10", l.Get("key_tight_mm").From)
	assert.InDelta(t, 0.5, l.Get("bore_stop_mm").Value, 1e-9) // 0.8 less the loss that holds
	why := map[string]string{}
	for _, c := range CouponChanges(j) {
		why[c.Name] = c.Why
		assert.Equal(t, c.Why == "", c.Set, c.Name)
	}
	assert.Equal(t, "set by job file line 8", why["printer.bore_loss"])
	assert.Equal(t, "set by job file line 10", why["limits.key_tight_mm"])
	assert.Empty(t, why["limits.key_loose_mm"])
}

// What is not measured keeps its default; a size that came out well without the next
// one measured may only relax a limit.
func TestPartlyFilledCoupon(t *testing.T) {
	l, err := LimitsFor(calibrated(t, "", "[level]\n30 = 2.8\n[keys]\n05 = \"snug\"\n"))
	require.NoError(t, err)
	d := DefaultLimits()
	for _, key := range []string{"bore_stop_mm", "bore_discuss_mm", "key_loose_mm"} {
		assert.Equal(t, d.Get(key), l.Get(key), key)
	}
	assert.InDelta(t, 0.03, l.Get("key_tight_mm").Value, 1e-9)

	l, err = LimitsFor(calibrated(t, "", "[keys]\n00 = \"snug\"\n"))
	require.NoError(t, err)
	assert.Equal(t, leastLimit, l.Get("key_tight_mm").Value)
	assert.Equal(t, leastLimit, l.Get("key_stop_mm").Value, "a key that went in is not kept out")

	l, err = LimitsFor(calibrated(t, "", ""))
	require.NoError(t, err)
	assert.Equal(t, d, l)
	for _, c := range CouponChanges(calibrated(t, "", "")) {
		assert.False(t, c.Set)
		assert.Zero(t, c.Value, c.Name)
		assert.NotEmpty(t, c.Why, c.Name)
	}
	assert.Nil(t, CouponChanges(mold.NewJob()))
}

// Whatever a form of results holds, it is taken, with finite limits, or refused with a
// place in it.
func FuzzCoupon(f *testing.F) {
	for _, seed := range []string{"", "[upright]\n30 = 2.9\n05=0\n08 = 0.5\n", "[level]\n10 = 0\n12 = 0.9\n15=1.3\n", "[fins]\n08='fails'\n10='stands'\n", "[keys]\n\"10\" = 'goes in'\n",
		"form = 'pourproof-coupon/1'\n", "[upright]\n30 = nan\n", "upright.30 = 1e999\n", "[[upright]]\n30 = 1\n", "[upright]\n30 = 2\n30 = 3\n", "\x00"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := mold.ParseCoupon("r.toml", data)
		if err != nil {
			faults, ok := err.(mold.JobFaults)
			require.True(t, ok, "%T", err)
			lines := bytes.Count(data, []byte("\n")) + 1
			for _, one := range faults {
				require.True(t, 1 <= one.Line && one.Line <= lines && one.Column >= 1, "%v in %d lines", one, lines)
			}
			return
		}
		job, err := mold.ParseJob("j.toml", []byte(couponJob), nil)
		require.NoError(t, err)
		if job.Calibrate(c) != nil {
			return
		}
		_, err = LimitsFor(job)
		require.NoError(t, err)
		for _, change := range CouponChanges(job) {
			require.NotContains(t, fmt.Sprint(change), "NaN")
			require.NotContains(t, fmt.Sprint(change), "Inf")
		}
	})
}
