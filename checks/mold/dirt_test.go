package mold

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
	"pourproof/testdata"
)

// answer is what is compared of two pours.
type answer struct {
	cavity, trapped, err float64
	pockets              []Pocket
	channels             []Channel
	volumes              []float64
	up                   geom.Vec
}

// dirtCell is a coarse pitch: what dirt changes shows at any.
const dirtCell = 1.0

// answerOf loads, closes and pours files.
func answerOf(t *testing.T, files fstest.MapFS, tilt *Tilt, set ...func(*Job)) (answer, *Intake) {
	t.Helper()
	job := jobOf("part.stl", "bottom.stl", "top.stl")
	job.Tilt, job.Cell = tilt, dirtCell
	for _, do := range set {
		do(job)
	}
	in, err := Load(files, job)
	require.NoError(t, err)
	m, err := Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	a := answer{cavity: f.Cavity, trapped: f.Trapped, err: f.TrappedError, pockets: f.Pockets, channels: m.Channels, up: m.Up}
	slices.SortStableFunc(a.channels, func(x, y Channel) int {
		return cmp.Or(cmp.Compare(x.Role, y.Role), cmp.Compare(x.Volume, y.Volume)) // not by place: equal ones may change places
	})
	for i := range in.Inputs {
		a.volumes = append(a.volumes, in.Inputs[i].Volume)
	}
	return a, in
}

// dirtyMold is a small mold and a tilt at which it keeps air.
type dirtyMold struct {
	name   string
	tilt   *Tilt
	mixed  bool          // spoilt in several ways at once only
	meshes [3]*geom.Mesh // part, bottom, top
}

func dirtyMolds(t *testing.T) []dirtyMold {
	t.Helper()
	var out []dirtyMold
	for _, c := range []struct {
		name  string
		tilt  *Tilt
		mixed bool
	}{{"b0", deg(10, 0), false}, {"weir", nil, false}, {"utube", nil, true}, {"comb", deg(5, 0), true}, {"cup", deg(30, 0), true}} {
		stored, err := testdata.Case(c.name)
		require.NoError(t, err)
		files := fstest.MapFS{"part.stl": {Data: stored.Part.Data}, "bottom.stl": {Data: stored.Halves[0].Data}, "top.stl": {Data: stored.Halves[1].Data}}
		_, in := answerOf(t, files, c.tilt)
		out = append(out, dirtyMold{c.name, c.tilt, c.mixed, [3]*geom.Mesh{in.Part.Mesh, in.Halves[0].Mesh, in.Halves[1].Mesh}})
	}
	return out
}

func (d *dirtyMold) files(t *testing.T, spoil func(*geom.Mesh) *geom.Mesh) fstest.MapFS {
	files := fstest.MapFS{}
	for i, name := range []string{"part.stl", "bottom.stl", "top.stl"} {
		files[name] = stl(t, spoil(d.meshes[i]))
	}
	return files
}

// sameAnswer asks for the same pockets and channels, volumes within the stated
// errors and bores within the bars of the design (section 9).
func sameAnswer(t *testing.T, want, got answer, what string) {
	t.Helper()
	assert.InDelta(t, want.cavity, got.cavity, 0.005*want.cavity, what)
	assert.InDelta(t, want.trapped, got.trapped, want.err+got.err, what)
	for i := range want.volumes {
		assert.InDelta(t, want.volumes[i], got.volumes[i], 0.002*want.volumes[i], "%s, volume of mesh %d", what, i)
	}
	if assert.Len(t, got.pockets, len(want.pockets), what) {
		for i, p := range want.pockets {
			q := got.pockets[i]
			assert.Equal(t, p.Kind, q.Kind, what)
			assert.InDelta(t, p.Volume, q.Volume, p.Error+q.Error, "%s, pocket %d", what, i)
			assert.InDelta(t, p.SealedAt, q.SealedAt, 0.05, "%s, pocket %d", what, i)
		}
	}
	if assert.Len(t, got.channels, len(want.channels), what) {
		for i := range want.channels {
			c, d := &want.channels[i], &got.channels[i]
			assert.Equal(t, c.Role, d.Role, what)
			assert.InDelta(t, c.Diameter, d.Diameter, max(0.05, 0.02*c.Diameter), "%s, channel %d", what, i)
			assert.InDelta(t, c.Length, d.Length, max(dirtCell, 0.02*c.Length), "%s, channel %d", what, i)
		}
	}
}

// TestDirtChangesNothing spoils the files of small molds in every way, alone and
// several at once, and asks for the answer of the clean ones.
func TestDirtChangesNothing(t *testing.T) {
	dirts := geomtest.Dirts()
	for _, mold := range dirtyMolds(t) {
		clean, _ := answerOf(t, mold.files(t, func(m *geom.Mesh) *geom.Mesh { return m }), mold.tilt)
		require.NotEmpty(t, clean.channels)
		require.Positive(t, clean.trapped, mold.name)
		try := func(seed uint64, list ...geomtest.Dirt) {
			r := rand.New(rand.NewPCG(seed, 7))
			what := fmt.Sprintf("%s, seed %d:", mold.name, seed)
			for _, d := range list {
				what += " " + d.Name + ";"
			}
			t.Run(what, func(t *testing.T) {
				got, _ := answerOf(t, mold.files(t, func(m *geom.Mesh) *geom.Mesh {
					for _, d := range list {
						m = d.Do(m, r)
					}
					return m
				}), mold.tilt)
				sameAnswer(t, clean, got, what)
			})
		}
		for i, d := range dirts {
			if !mold.mixed {
				try(uint64(i), d)
			}
		}
		r := rand.New(rand.NewPCG(11, 12))
		mixed := slices.DeleteFunc(slices.Clone(dirts), func(d geomtest.Dirt) bool { return d.Alone })
		for seed := range uint64(6) {
			pick := r.Perm(len(mixed))[:3+seed/3]
			slices.Sort(pick)
			var list []geomtest.Dirt
			for _, i := range pick {
				list = append(list, mixed[i])
			}
			try(100+seed, list...)
		}
	}
}

// TestDirtFarAway: a mold far from the origin, where single precision is coarse,
// gives the same answer within what that moves a face by, and is told.
func TestDirtFarAway(t *testing.T) {
	for _, mold := range dirtyMolds(t)[:2] {
		clean, _ := answerOf(t, mold.files(t, func(m *geom.Mesh) *geom.Mesh { return m }), mold.tilt)
		for _, far := range []geom.Vec{{X: 2000, Y: -3000, Z: 500}, {X: -40000, Y: 10, Z: 140000}} {
			got, in := answerOf(t, mold.files(t, func(m *geom.Mesh) *geom.Mesh { return m.Map(func(v geom.Vec) geom.Vec { return v.Add(far) }) }), mold.tilt)
			for i := range got.pockets {
				got.pockets[i].SealedAt -= far.Dot(got.up)
			}
			sameAnswer(t, clean, got, fmt.Sprint(mold.name, far))
			coarse := slices.ContainsFunc(in.Inputs[0].Warnings, func(c Caution) bool { return c.Kind == "far-from-origin" })
			assert.Equal(t, far.Z > 1000, coarse, "steps above 0.01 mm are told")
		}
	}
}

// TestDirtUnits: a mold whose files are in other units, told or stated for one file
// alone, gives the same answer.
func TestDirtUnits(t *testing.T) {
	for _, mold := range dirtyMolds(t)[:2] {
		clean, _ := answerOf(t, mold.files(t, func(m *geom.Mesh) *geom.Mesh { return m }), mold.tilt)
		for unit, mm := range map[string]float64{"in": 25.4, "m": 1000, "cm": 10} {
			other := func(m *geom.Mesh) *geom.Mesh { return m.Map(func(v geom.Vec) geom.Vec { return v.Scale(1 / mm) }) }
			got, _ := answerOf(t, mold.files(t, other), mold.tilt, func(j *Job) { j.Units = unit })
			sameAnswer(t, clean, got, mold.name+" in "+unit)

			files := mold.files(t, func(m *geom.Mesh) *geom.Mesh { return m })
			files["top.stl"] = stl(t, other(mold.meshes[2]))
			got, in := answerOf(t, files, mold.tilt, func(j *Job) { j.Halves[1].Units = unit })
			sameAnswer(t, clean, got, mold.name+", its top in "+unit)
			assert.Equal(t, []string{"mm", "mm", unit}, []string{in.Inputs[0].Units, in.Inputs[1].Units, in.Inputs[2].Units})

			// Scaled by the job file instead.
			got, _ = answerOf(t, files, mold.tilt, func(j *Job) { j.Halves[1].Scale = mm })
			sameAnswer(t, clean, got, mold.name+", its top scaled")
		}
	}
}

// TestDirtChord: a part that was cut into facets otherwise than its cavity, up to
// 0.07 mm off the sphere, leaves the pockets where they are: the cavity's own surface
// counts.
func TestDirtChord(t *testing.T) {
	stored, err := testdata.Case("sphere")
	require.NoError(t, err)
	files := fstest.MapFS{"part.stl": {Data: stored.Part.Data}, "bottom.stl": {Data: stored.Halves[0].Data}, "top.stl": {Data: stored.Halves[1].Data}}
	clean, in := answerOf(t, files, deg(30, 0))
	require.Greater(t, clean.trapped, 200.0)
	center := in.Inputs[0].Box.Center()
	at := func(m *geom.Mesh) *geom.Mesh { return m.Map(func(v geom.Vec) geom.Vec { return v.Add(center) }) }
	for what, part := range map[string]*geom.Mesh{"geodesic": geomtest.Icosphere(20, 4), "rings": geomtest.Sphere(20, 96, 48), "other rings": geomtest.Sphere(20, 60, 60)} {
		files["part.stl"] = stl(t, at(part))
		got, in := answerOf(t, files, deg(30, 0))
		assert.InDelta(t, 0.04, in.Inputs[0].Chord, 0.035, what)
		assert.InDelta(t, clean.volumes[0], got.volumes[0], 0.005*clean.volumes[0], what)
		assert.InDelta(t, clean.trapped, got.trapped, clean.err+got.err, what)
		require.Len(t, got.pockets, len(clean.pockets), what)
		for i, p := range clean.pockets {
			assert.InDelta(t, p.SealedAt, got.pockets[i].SealedAt, 0.05, what)
		}
		require.Len(t, got.channels, len(clean.channels), what)
		for i, c := range clean.channels {
			assert.Equal(t, c.Role, got.channels[i].Role, what)
			assert.InDelta(t, c.Diameter, got.channels[i].Diameter, max(0.05, 0.02*c.Diameter), what)
		}
	}
}
