package mold

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// threeFiles is the least a job file must hold.
const threeFiles = "[part]\nfile = 'p.stl'\n[[half]]\nfile = 'a.stl'\n[[half]]\nfile = 'b.stl'\n"

func TestJobFileSetsEveryTable(t *testing.T) {
	text := `
[part]
file = "parts/knob.stl"
units = "in"
[[half]]
name = "lower"
file = "/abs/low.stl"
build = [0, 0, -1]
flat = true
move = [1, 2.5, -3]
turn = [90, 0, -45]
scale = 1.002
[[half]]
file = "top.stl"
pull = [0, 0, 2]
[pour]
up = [0, 0, 1]
tilt = "15@90"
gate = [[1, 2, 3], [4, 5, 6]]
gate_open = true
seal = 0.2
reach = 10
cell = 0.1
tilt_limit_deg = 45
[[vent]]
at = [12.5, 0, 20]
diameter = 2
direction = [1, 0, 1]
[[vent]]
at = [0, 0, 0]
diameter = 1_0
[liquid]
density = 1.1
ratio_mass = [100, 80]
contact_angle_deg = 90
[pot]
pressure = "4 bar"
[limits]
air_stop_mm3 = 20
[[show]]
box = [0, 0, 0, 1, 1, 1]
[[accept]]
key = "air/ceiling/3"
reason = "inside, never seen"
[report]
title = "Knob Ø44"
date = 2026-03-31
paper = "letter"
`
	j, err := ParseJob(filepath.Join("jobs", "knob.toml"), []byte(text), []string{"air_stop_mm3"})
	require.NoError(t, err)
	assert.Equal(t, "parts/knob.stl", j.Part.File)
	assert.Equal(t, filepath.Join("jobs", "parts", "knob.stl"), j.Part.Path, "seen from the job file")
	assert.Equal(t, "in", j.Part.Units)
	require.Len(t, j.Halves, 2)
	low := j.Halves[0]
	assert.Equal(t, "/abs/low.stl", low.Path)
	assert.Equal(t, "lower", low.Name)
	assert.Equal(t, geom.Vec{Z: -1}, *low.Build)
	assert.True(t, low.Flat)
	assert.Equal(t, geom.Vec{X: 1, Y: 2.5, Z: -3}, low.Move)
	assert.InDelta(t, math.Pi/2, low.Turn.X, 1e-15)
	assert.InDelta(t, -math.Pi/4, low.Turn.Z, 1e-15)
	assert.Equal(t, 1.002, low.Scale)
	assert.Equal(t, geom.Vec{Z: 2}, *j.Halves[1].Pull)
	assert.InDelta(t, math.Pi/12, j.Tilt.Angle, 1e-15)
	assert.InDelta(t, math.Pi/2, j.Tilt.Side, 1e-15)
	assert.Equal(t, []geom.Vec{{X: 1, Y: 2, Z: 3}, {X: 4, Y: 5, Z: 6}}, j.Gates)
	assert.True(t, j.GateOpen)
	assert.Equal(t, [3]float64{0.2, 10, 0.1}, [3]float64{j.Seal, j.Reach, j.Cell})
	assert.InDelta(t, math.Pi/4, j.TiltLimit, 1e-15)
	require.Len(t, j.Vents, 2)
	assert.Equal(t, BoreSpec{geom.Vec{X: 12.5, Z: 20}, 2, &geom.Vec{X: 1, Z: 1}}, j.Vents[0])
	assert.Equal(t, 10.0, j.Vents[1].Diameter)
	assert.Equal(t, []float64{100, 80}, j.Liquid.RatioMass)
	assert.InDelta(t, math.Pi/2, j.Liquid.ContactAngle, 1e-15)
	assert.Equal(t, 400.0, j.Pot.Gauge)
	assert.Equal(t, []LimitValue{{"air_stop_mm3", 20, "job file line 39"}}, j.Limits)
	assert.Equal(t, "inside, never seen", j.Accept[0].Reason)
	assert.Equal(t, ReportInfo{Title: "Knob Ø44", Date: "2026-03-31", Paper: "letter"}, j.Report)

	assert.Equal(t, "job file line 18", j.From("pour.tilt"))
	assert.Equal(t, "job file line 15", j.From("half 2.pull"))
	assert.Empty(t, j.From("liquid.viscosity"), "a default")
	assert.Equal(t, 100.0, j.Liquid.Viscosity)
}

// Dotted keys and tables in line are the same language.
func TestJobFileOtherSpellings(t *testing.T) {
	text := "part.file = 'p.stl'\npour = { tilt = -10, gate = [1, 2, 3] }\nhalf = [{file = 'a.stl'}, {file = 'b.stl', flat = true}]\npot.pressure = '60psi'\n"
	j, err := ParseJob("j.toml", []byte(text), nil)
	require.NoError(t, err)
	assert.Equal(t, "p.stl", j.Part.File)
	assert.InDelta(t, -math.Pi/18, j.Tilt.Angle, 1e-15)
	assert.Equal(t, []geom.Vec{{X: 1, Y: 2, Z: 3}}, j.Gates)
	require.Len(t, j.Halves, 2)
	assert.True(t, j.Halves[1].Flat)
	assert.Equal(t, "job file line 3", j.From("half 2.flat"))
	assert.Equal(t, "job file line 4", j.From("pot.pressure"))
}

func TestJobFileFaults(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"unknown key", threeFiles + "[liquid]\npot_lief_s = 300\n", "j.toml:8:1: liquid.pot_lief_s is no setting; did you mean pot_life_s?"},
		{"unknown keys", threeFiles + "[pour]\ntlit = 3\nsael = 0.1\n", "j.toml:8:1: pour.tlit is no setting; did you mean tilt?\nj.toml:9:1: pour.sael is no setting; did you mean seal?"},
		{"indented key", threeFiles + "[pour]\n  colour = 3\n", "j.toml:8:3: pour.colour is no setting"},
		{"unknown table", threeFiles + "[puor]\ntilt = 3\n", "j.toml:7:2: [puor] is no table of a job file; did you mean pour?"},
		{"table once", threeFiles + "[[pour]]\ntilt = 3\n", "j.toml:7:3: [[pour]] may be there once only: write [pour]"},
		{"table often", "[part]\nfile='p'\n[half]\nfile='a'\n", "j.toml:1:1: [[half]] is missing: a closed mold needs at least two halves\nj.toml:3:2: [half] may be there more than once: write [[half]]"},
		{"top-level key", "tilt = 3\n" + threeFiles, "j.toml:1:1: tilt is no table of a job file"},
		{"text for number", threeFiles + "[pour]\ncell = '0.2'\n", "j.toml:8:1: pour.cell must be a number in mm, not the text \"0.2\""},
		{"number for text", threeFiles + "[report]\ntitle = 3\n", "j.toml:8:1: report.title must be text in quotes, not the number 3"},
		{"nan", threeFiles + "[pour]\ncell = nan\n", "j.toml:8:1: pour.cell must be a finite number, not \"nan\""},
		{"inf in a list", threeFiles + "[pour]\nup = [0, 0, inf]\n", "j.toml:8:1: pour.up must be a finite number, not \"inf\""},
		{"hex", threeFiles + "[pour]\ncell = 0x10\n", "j.toml:8:1: pour.cell must be a finite number, not \"0x10\""},
		{"range", threeFiles + "[pour]\ncell = -0.1\n", "j.toml:8:1: pour.cell must be 0.01 to 5 mm, not -0.1"},
		{"two of three", threeFiles + "[[vent]]\nat = [1, 2]\ndiameter = 2\n", "j.toml:8:1: vent.at must be a list of 3 numbers, has 2"},
		{"four of three", threeFiles + "[[vent]]\nat = [1, 2, 3, 4]\ndiameter = 2\n", "j.toml:8:1: vent.at must be a list of 3 numbers, has 4"},
		{"no direction", threeFiles + "[pour]\nup = [0, 0, 0]\n", "j.toml:8:1: pour.up must not be 0, 0, 0: it is a direction"},
		{"gate", threeFiles + "[pour]\ngate = [[1, 2, 3], [4, 5]]\n", "j.toml:8:1: pour.gate must be a list of 3 numbers, has 2"},
		{"empty gate", threeFiles + "[pour]\ngate = []\n", "j.toml:8:1: pour.gate must be a point [x, y, z] or a list of points, is empty"},
		{"tilt", threeFiles + "[pour]\ntilt = '15@left'\n", "j.toml:8:1: pour.tilt the side facing which azimuth is raised: must be a finite number, not \"left\"; write ANGLE@SIDE in degrees, as 15@90"},
		{"bare pressure", threeFiles + "[pot]\npressure = 60\n", "j.toml:8:1: pot.pressure needs a unit: write it as \"60psi\", \"414kPa\" or \"4.1bar\" (gauge)"},
		{"quoted bare pressure", threeFiles + "[pot]\npressure = '60'\n", "j.toml:8:1: pot.pressure needs a number and a unit, as 60psi, 414kPa or 4.1bar (gauge), not \"60\""},
		{"word", threeFiles + "[report]\npaper = 'a3'\n", "j.toml:8:1: report.paper must be one of a4, letter, not \"a3\""},
		{"switch", threeFiles + "[pour]\ngate_open = 1\n", "j.toml:8:1: pour.gate_open must be true or false, not the number 1"},
		{"limit", threeFiles + "[limits]\nair_stop = 1\n", "j.toml:8:1: limits.air_stop is no limit; did you mean air_stop_mm3?"},
		{"negative limit", threeFiles + "[limits]\nair_stop_mm3 = -1\n", "j.toml:8:1: limits.air_stop_mm3 must be 0.000001 to 1000000000, not -1"},
		{"no part", "[[half]]\nfile='a'\n[[half]]\nfile='b'\n", "j.toml:1:1: part.file is missing: [part] file names the part's mesh"},
		{"half without file", threeFiles + "[[half]]\nname='c'\n", "j.toml:7:3: half 3.file is missing: it names the half's mesh"},
		{"vent without diameter", threeFiles + "[[vent]]\nat=[1,2,3]\n", "j.toml:7:3: vent 1.diameter is missing: a number in mm"},
		{"accept without reason", threeFiles + "[[accept]]\nkey='k'\n", "j.toml:7:3: accept 1.reason is missing: say why the finding is accepted"},
		{"comma in a number", threeFiles + "[pour]\ncell = 0,2\n", "j.toml:8:9: "},
		{"a key twice", threeFiles + "[pour]\ncell = 0.2\ncell = 0.1\n", "j.toml:9:1: "},
		{"a mesh", "solid\x00\x01", "j.toml:1:1: is not a text file: name the job file, or the part and its halves"},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseJob("j.toml", []byte(c.text), []string{"air_stop_mm3", "air_discuss_mm3"})
			require.Error(t, err)
			if strings.HasSuffix(c.want, ": ") { // the language's own words follow
				assert.True(t, strings.HasPrefix(err.Error(), c.want) && len(err.Error()) > len(c.want), err.Error())
				return
			}
			assert.Equal(t, c.want, err.Error())
		})
	}
}

func TestJobFileTooLong(t *testing.T) {
	_, err := ParseJob("j.toml", make([]byte, MaxJobFile+1), nil)
	require.ErrorContains(t, err, "is it a mesh?")
	_, err = ParseJob("j.toml", []byte(threeFiles+strings.Repeat("[[vent]]\nat=[1,2,3]\ndiameter=1\n", maxTables+1)), nil)
	require.ErrorContains(t, err, "is there more than 500 times")
}

// Every row of the table of settings can be set, shown and set again to the same.
func TestEverySettingTakesItsDefaultAndItsRange(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Settings() {
		name := s.Name()
		require.False(t, seen[name], name)
		seen[name] = true
		assert.NotEmpty(t, s.What, name)
		assert.True(t, s.Default != "" && s.Source != "" || s.Rule != "", "%s: a default has a source, no default has a rule", name)
		j := NewJob()
		if s.Many {
			j.grow(s.Table, "")
		}
		for _, text := range examplesOf(&s) {
			require.NoError(t, s.Set(j, 0, text), "%s = %s", name, text)
			shown, _, given := s.Show(j, 0)
			require.True(t, given, "%s = %s", name, text)
			if s.Form == Pressure {
				shown += "kPa"
			}
			require.NoError(t, s.Set(j, 0, strings.ReplaceAll(shown, "; ", ";")), "%s = %s", name, shown)
			again, _, _ := s.Show(j, 0)
			assert.Equal(t, strings.TrimSuffix(shown, "kPa"), again, name)
		}
		if s.Form == Number {
			assert.Error(t, s.Set(j, 0, plain(math.Nextafter(s.Low, math.Inf(-1)))), name)
			assert.Error(t, s.Set(j, 0, plain(math.Nextafter(s.High, math.Inf(1)))), name)
			assert.Error(t, s.Set(j, 0, "NaN"), name)
		}
	}
}

// examplesOf returns values that a setting must take.
func examplesOf(s *Setting) []string {
	out := map[Form][]string{
		Text: {"Gehäuse Ø8"}, Word: s.Words, Switch: {"true", "false"}, Date: {"2026-03-31"}, Pressure: {"60psi", "0.4 MPa"},
		TiltForm: {"-15@90", "0"}, Direction: {"0,0,-2", "1, 1, 0"}, Point: {"1,2,3", "-1.5,0,2"}, Points: {"1,2,3", "1,2,3;4,5,6"},
		Number: {plain(s.Low), plain(s.High), plain((s.Low + s.High) / 2)}, Numbers: {strings.TrimSuffix(strings.Repeat("2,", s.Count), ",")},
	}[s.Form]
	if s.Form == Number && s.Low == 0 && s.Default == "" {
		out = out[1:]
	}
	if s.Default != "" {
		out = append(out, s.Default)
	}
	return out
}

// 1 psi = 6.894757 kPa (NIST SP 811, table B.8).
func TestParsePressure(t *testing.T) {
	for text, want := range map[string]float64{"60psi": 413.6854, "414kPa": 414, "4.1bar": 410, "0.5 MPa": 500, "60PSI": 413.6854} {
		got, err := ParsePressure(text)
		require.NoError(t, err, text)
		assert.InDelta(t, want, got, 5e-5, text)
	}
	for _, text := range []string{"60", "psi", "", "nanbar", "infkPa", "1e999bar", "60 atm"} {
		_, err := ParsePressure(text)
		assert.Error(t, err, text)
	}
}

// Boyle at 60 psi gauge: 0.19674 of the volume is left (literature, section 8).
func TestPotShrink(t *testing.T) {
	assert.InDelta(t, 0.19674, NewJob().Pot.Shrink(), 5e-6)
}

func TestNearest(t *testing.T) {
	known := []string{"tilt", "seal", "reach", "cell", "gate"}
	for word, want := range map[string]string{"tlit": "tilt", "Tilt": "tilt", "sael": "seal", "rech": "reach", "colour": "", "x": "", "gates": "gate", "rea": "reach", strings.Repeat("a", 1000): ""} {
		assert.Equal(t, want, Nearest(word, known), word)
	}
}

// Whatever a job file holds, it is taken or refused with a place in it.
func FuzzJobFile(f *testing.F) {
	for _, seed := range []string{threeFiles, threeFiles + "[pour]\ntilt = '15@90'\ngate = [[1,2,3],[4,5,6]]\n", "half = [{file = 'a'}, {}]\n",
		"[[vent]]\nat = [1, 2]\n", "[pot]\npressure = \"60psi\"\n", "a.b.c = {d = [1, {e = 2}]}\n", "[limits]\nk = 1\n", "[report]\ndate = 1979-05-27T07:32:00Z\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		j, err := ParseJob("j.toml", data, []string{"k"})
		if err != nil {
			faults, ok := err.(JobFaults)
			require.True(t, ok, "%T", err)
			lines := strings.Count(string(data), "\n") + 1
			for _, one := range faults {
				require.True(t, 1 <= one.Line && one.Line <= lines && one.Column >= 1, "%v in %d lines", one, lines)
			}
			return
		}
		require.NotEmpty(t, j.Part.File)
		require.GreaterOrEqual(t, len(j.Halves), 2)
		for i := range Settings() {
			s := &Settings()[i]
			if !s.Many {
				_, number, _ := s.Show(j, 0)
				require.True(t, number == nil || !math.IsNaN(*number-*number), s.Name())
			}
		}
		_ = fmt.Sprint(j)
	})
}

// A key or value of any length is named by its beginning.
func TestFaultsAreShort(t *testing.T) {
	_, err := ParseJob("j.toml", []byte(threeFiles+"[pour]\n"+strings.Repeat("a.", 50_000)+"a = 1\ncell = \""+strings.Repeat("é", 50_000)+"\"\n"), nil)
	require.Error(t, err)
	assert.Less(t, len(err.Error()), 2000)
	assert.Contains(t, err.Error(), "j.toml:8:1: pour.a.a.a.")
	assert.Contains(t, err.Error(), "j.toml:9:1: pour.cell must be")
}
