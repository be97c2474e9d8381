package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Gent 1958, own calculation in double precision from the formula.
func TestModulus(t *testing.T) {
	for shore, want := range map[float64]float64{20: 0.7319, 30: 1.1424, 40: 1.6896, 50: 2.4558, 60: 3.6051, 80: 9.3514} {
		assert.InDelta(t, want, Modulus(shore), 6e-5, "Shore A %v", shore)
	}
}

// Critical flaws in mm (own calculation: neo-Hookean, k = pi/sqrt(l), Gent's modulus).
func TestCriticalFlaw(t *testing.T) {
	stretches := [4]float64{1.1, 1.3, 1.5, 2}
	for _, row := range []struct {
		shore, tear float64
		want        [4]float64
	}{
		{30, 300, [4]float64{9.333, 1.2515, 0.5265, 0.1773}},
		{30, 1000, [4]float64{31.11, 4.172, 1.755, 0.5911}},
		{50, 300, [4]float64{4.341, 0.5822, 0.2449, 0.0825}},
		{50, 1000, [4]float64{14.47, 1.941, 0.8164, 0.2750}},
	} {
		r := Rubber{ShoreA: row.shore, Tear: row.tear}
		for i, l := range stretches {
			f := r.Flaw(&l)
			require.NotNil(t, f)
			assert.InEpsilon(t, row.want[i], f.Mid, 5e-4, "Shore A %v, %v J/m2, stretch %v", row.shore, row.tear, l)
			assert.InEpsilon(t, f.Mid/1.25, f.Least, 1e-9, "a stiffer rubber stores more")
			assert.InEpsilon(t, f.Mid/0.75, f.Most, 1e-9)
		}
	}
	none := 1.0
	r := Rubber{ShoreA: 50, Tear: 300}
	assert.Nil(t, r.Flaw(&none), "nothing tears unstretched")
	assert.Nil(t, r.Flaw(nil))
	assert.True(t, math.IsInf(CriticalFlaw(300, 2, 1), 1))
}

// F 2 N, h 2 mm: trouser strength 1 kN/m, tear energy 2000 J/m2 (Rivlin and Thomas 1953,
// stiff legs).
func TestTrouser(t *testing.T) {
	assert.InDelta(t, 2000, TearEnergyOfTrouser(1), 1e-9)
	r := Rubber{Tear: 300, TearStrengthT: 0.4}
	assert.InDelta(t, 800, r.TearEnergy(), 1e-9, "a trouser test goes before the generic value")
}

// Strengths of type A, B and C are no tear energy (ASTM D624) and are refused with the
// reason.
func TestTearStrengthRefused(t *testing.T) {
	job := "[part]\nfile = \"p.stl\"\n[[half]]\nfile = \"a.stl\"\n[[half]]\nfile = \"b.stl\"\n[rubber]\n"
	for _, key := range []string{"tear_strength_a", "tear_strength_b", "tear_strength_c", "tear_strength"} {
		_, err := ParseJob("job.toml", []byte(job+key+" = 12\n"), nil)
		require.Error(t, err, key)
		assert.Contains(t, err.Error(), "job.toml:8:1: rubber."+key+" is refused")
		assert.Contains(t, err.Error(), "tear_strength_t")
	}
	j, err := ParseJob("job.toml", []byte(job+"tear_strength_t = 0.4\n"), nil)
	require.NoError(t, err)
	assert.InDelta(t, 800, j.Rubber.TearEnergy(), 1e-9)
}
