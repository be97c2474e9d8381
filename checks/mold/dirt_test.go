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
func answerOf(t *testing.T, files fstest.MapFS, tilt *Tilt) (answer, *Intake) {
	t.Helper()
	job := jobOf("part.stl", "bottom.stl", "top.stl")
	job.Tilt, job.Cell = tilt, dirtCell
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
	meshes [3]*geom.Mesh // part, bottom, top
}

func dirtyMolds(t *testing.T) []dirtyMold {
	t.Helper()
	var out []dirtyMold
	for _, c := range []struct {
		name string
		tilt *Tilt
	}{{"b0", deg(10, 0)}, {"weir", nil}} {
		stored, err := testdata.Case(c.name)
		require.NoError(t, err)
		files := fstest.MapFS{"part.stl": {Data: stored.Part.Data}, "bottom.stl": {Data: stored.Halves[0].Data}, "top.stl": {Data: stored.Halves[1].Data}}
		_, in := answerOf(t, files, c.tilt)
		out = append(out, dirtyMold{c.name, c.tilt, [3]*geom.Mesh{in.Part.Mesh, in.Halves[0].Mesh, in.Halves[1].Mesh}})
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
			try(uint64(i), d)
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
	for _, mold := range dirtyMolds(t) {
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
