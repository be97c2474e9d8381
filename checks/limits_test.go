package checks

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/checks/mold"
)

// TestEveryLimitIsOwned holds the table and the checks against each other: every
// limit belongs to one check, and has unit, phrase and source.
func TestEveryLimitIsOwned(t *testing.T) {
	l := DefaultLimits()
	owner := map[string]string{}
	for _, c := range Suite() {
		for _, key := range c.Limits {
			assert.Empty(t, owner[key], "%s is owned by %s and %s", key, owner[key], c.Name)
			owner[key] = c.Name
			assert.NotPanics(t, func() { l.Get(key) })
		}
	}
	seen := map[string]bool{}
	for _, k := range l.All() {
		assert.False(t, seen[k.Key], k.Key)
		seen[k.Key] = true
		assert.NotEmpty(t, owner[k.Key], "%s judges nothing", k.Key)
		assert.Greater(t, k.Value, 0.0, k.Key)
		assert.NotEmpty(t, k.What, k.Key)
		assert.NotEmpty(t, k.Source, k.Key)
		assert.Equal(t, "default", k.From, k.Key)
		assert.Contains(t, []Severity{Note, Discuss, Stop}, k.Severity, k.Key)
		assert.Contains(t, []Sense{From, Over, Under}, k.Sense, k.Key)
		assert.Contains(t, []string{"", "mm", "mm2", "mm3", "%", "N", "um", "deg", "s", "kPa", "ml"}, k.Unit, k.Key)
		plain(t, k.What)
		plain(t, k.Source)
	}
}

func TestJudge(t *testing.T) {
	l := DefaultLimits()
	for _, c := range []struct {
		v    float64
		keys []string
		want Severity
		by   string
	}{
		{9.999, []string{"air_stop_mm3", "air_discuss_mm3"}, Discuss, "air_discuss_mm3"},
		{10, []string{"air_discuss_mm3", "air_stop_mm3"}, Stop, "air_stop_mm3"}, // from: the value itself counts
		{1, []string{"air_stop_mm3", "air_discuss_mm3"}, Discuss, "air_discuss_mm3"},
		{0.999, []string{"air_stop_mm3", "air_discuss_mm3"}, 0, ""},
		{0.8, []string{"bore_stop_mm"}, 0, ""}, // under: the value itself is fine
		{0.79, []string{"bore_stop_mm"}, Stop, "bore_stop_mm"},
		{3, []string{"gate_height_mm"}, 0, ""}, // over: the value itself is fine
		{3.001, []string{"gate_height_mm"}, Discuss, "gate_height_mm"},
	} {
		j := l.Judge(c.v, c.keys...)
		assert.Equal(t, c.want, j.Severity, "%v %v", c.v, c.keys)
		assert.Equal(t, c.by != "", j.Broken())
		if c.by != "" {
			assert.Equal(t, c.by, j.Limit.Key)
		}
	}
	assert.Panics(t, func() { l.Judge(1, "no_such_limit") })
}

// TestHarmGrows: farther on the wrong side is never less harm, and harm is finite.
func TestHarmGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := DefaultLimits().All()
		k := all[rapid.IntRange(0, len(all)-1).Draw(t, "limit")]
		a := rapid.Float64Range(0, 1e4).Draw(t, "a")
		b := rapid.Float64Range(0, 1e4).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		if k.Sense == Under {
			a, b = b, a
		}
		require.LessOrEqual(t, k.harm(a), k.harm(b))
		require.False(t, math.IsInf(k.harm(b), 0) || math.IsNaN(k.harm(b)))
		if k.broken(a) {
			require.True(t, k.broken(b))
			require.GreaterOrEqual(t, k.harm(a), 1.0)
		}
	})
}

func TestSet(t *testing.T) {
	l := DefaultLimits()
	require.NoError(t, l.Set("air_stop_mm3", 25, "job file line 7"))
	assert.Equal(t, 25.0, l.Get("air_stop_mm3").Value)
	assert.Equal(t, "job file line 7", l.Get("air_stop_mm3").From)
	assert.Equal(t, 10.0, DefaultLimits().Get("air_stop_mm3").Value, "the defaults are not shared")

	err := l.Set("air_stop", 25, "job file line 8")
	require.Error(t, err)
	assert.Contains(t, err.Error(), "job file line 8")
	assert.Contains(t, err.Error(), "did you mean air_stop_mm3?")
	err = l.Set("q", 25, "job file line 9")
	require.Error(t, err)
	assert.Contains(t, err.Error(), "hole_mm, chord_mm, part_share")
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		err = l.Set("air_stop_mm3", bad, "job file line 8")
		require.Error(t, err, bad)
		assert.Contains(t, err.Error(), "positive number in mm3")
	}
	assert.Equal(t, 25.0, l.Get("air_stop_mm3").Value)
}

func TestLimitsOfAJob(t *testing.T) {
	job := mold.NewJob()
	job.Limits = []mold.LimitValue{{Key: "air_discuss_mm3", Value: 4, From: "job file line 3"}}
	l, err := LimitsFor(job)
	require.NoError(t, err)
	assert.Equal(t, 4.0, l.Get("air_discuss_mm3").Value)

	in := clean()
	in.Job = job
	pocketAt(&in, -1, v(20, 10, 10), 3, 1)
	o := Run(in)
	assert.Empty(t, named(o, "air/pocket"), "3 mm3 is below the job's own limit")
	assert.Equal(t, Note, one(t, o, "air/small").Severity)

	job.Limits[0].Key = "air_discus_mm3"
	_, err = LimitsFor(job)
	require.Error(t, err)
	o = Run(in)
	assert.Equal(t, NoJudgement, o.Verdict, "a wrong limit is never silently the default")
	assert.Contains(t, o.NotJudged[0].Why, "did you mean air_discuss_mm3?")

	l, err = LimitsFor(nil)
	require.NoError(t, err)
	assert.Len(t, l.All(), len(DefaultLimits().All()))
}
