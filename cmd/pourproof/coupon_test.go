package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
)

// From the written form, filled in, through the job file into report.json.
func TestCouponThroughTheProgram(t *testing.T) {
	dir := bench(t)
	require.Equal(t, exitFine, exec(dir, "coupon", "mine").code)
	form := filepath.Join(dir, "mine", couponForm)
	text, err := os.ReadFile(form)
	require.NoError(t, err)
	empty, err := mold.ParseCoupon(couponForm, text)
	require.NoError(t, err)
	assert.Zero(t, empty.Count(), "an empty form is no fault")
	for _, line := range strings.Split(string(text), "\n") {
		assert.LessOrEqual(t, len(line), 90)
	}

	// Every line taken out of its comment, with an answer behind the sign.
	all := strings.Split(string(text), "\n")
	table := ""
	for i, line := range all {
		switch mark, rest, found := strings.Cut(strings.TrimPrefix(line, "#"), " ="); {
		case strings.HasPrefix(line, "["):
			table = strings.Trim(line, "[]")
		case !found || len(mark) != 2:
		case table == "fins":
			all[i] = mark + ` = "stands"` + rest
		case table == "keys":
			all[i] = mark + ` = "snug"` + rest
		default:
			all[i] = mark + " = 0." + mark + rest // ten times too narrow, but rising
		}
	}
	full, err := mold.ParseCoupon(couponForm, []byte(strings.Join(all, "\n")))
	require.NoError(t, err)
	assert.Equal(t, 3*8+6+7, full.Count())

	answered := strings.Replace(string(text), "#20 =            # drawn 2.00 mm", "20 = 1.6  # drawn 2.00 mm", 1)
	require.NotEqual(t, string(text), answered)
	put(t, dir, filepath.Join("mine", couponForm), []byte(answered))
	got := exec(dir, "coupon", "mine")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "holds a changed results.toml; keep it")

	job, err := os.ReadFile(filepath.Join(dir, "b0.toml"))
	require.NoError(t, err)
	put(t, dir, "c.toml", append(job, "[printer]\ncoupon = 'mine/results.toml'\n"...))
	got = exec(dir, "check", "c.toml", "--no-pdf", "--json", "-", "--quiet", "--only", "air")
	require.Equal(t, exitStop, got.code, got.err)
	r := readReport(t, []byte(got.out))
	assert.Equal(t, 0.4, at(t, r, "settings", "printer.bore_loss", "number"))
	assert.Equal(t, "coupon mine/results.toml", at(t, r, "settings", "printer.bore_loss", "from"))
	assert.Equal(t, "default", at(t, r, "settings", "limits.key_tight_mm", "from"))
}
