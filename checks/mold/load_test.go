package mold

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
	"pourproof/geom/meshio"
	"pourproof/testdata"
)

// b0Files is the base mold of the practice notes as files: 8000, 31840, 31960 mm3.
func b0Files(t *testing.T) fstest.MapFS {
	t.Helper()
	c, err := testdata.Case("b0")
	require.NoError(t, err)
	files := fstest.MapFS{"part.stl": {Data: c.Part.Data}}
	for _, h := range c.Halves {
		files[h.Name] = &fstest.MapFile{Data: h.Data}
	}
	return files
}

func jobOf(files ...string) *Job {
	j := NewJob()
	j.Part.File = files[0]
	for _, f := range files[1:] {
		j.Halves = append(j.Halves, BodySpec{File: f})
	}
	return j
}

func stl(t testing.TB, m *geom.Mesh) *fstest.MapFile {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, meshio.WriteBinarySTL(&b, m, "test"))
	return &fstest.MapFile{Data: b.Bytes()}
}

func TestLoadTellsWhatItRead(t *testing.T) {
	in, err := Load(b0Files(t), jobOf("part.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	require.Len(t, in.Inputs, 3)
	for i, want := range []struct {
		role, name string
		volume     float64
	}{{"part", "part", 8000}, {"half", "bottom", 31840}, {"half", "top", 31960}} {
		got := in.Inputs[i]
		assert.Equal(t, want.role, got.Role)
		assert.Equal(t, want.name, got.Name)
		assert.InDelta(t, want.volume, got.Volume, 1e-6)
		assert.True(t, got.Closed)
		assert.Len(t, got.SHA256, 64)
		assert.Equal(t, "STL binary", got.Format)
		assert.Equal(t, []string{"mm", "assumed"}, []string{got.Units, got.UnitsFrom})
		assert.Empty(t, got.Repairs)
		assert.Empty(t, got.Warnings)
	}
	assert.Equal(t, geom.Box{Min: geom.Vec{X: 10, Y: 10, Z: 10}, Max: geom.Vec{X: 50, Y: 30, Z: 20}}, in.Inputs[0].Box)
	assert.Equal(t, in.Halves[1].Name, "top")
	assert.Equal(t, 12, in.Inputs[0].Triangles)
}

// The facts do not depend on the order of the facets, but for the hash.
func TestLoadShuffled(t *testing.T) {
	files := b0Files(t)
	a, err := Load(files, jobOf("part.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	files["bottom.stl"] = stl(t, geomtest.ShuffleFacets(a.Halves[0].Mesh, 7))
	b, err := Load(files, jobOf("part.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	require.NotEqual(t, a.Inputs[1].SHA256, b.Inputs[1].SHA256)
	b.Inputs[1].SHA256 = a.Inputs[1].SHA256
	assert.Equal(t, a.Inputs, b.Inputs)
}

func TestNames(t *testing.T) {
	j := jobOf("a/knob.stl", "b/knob.stl", "c/knob.STL", ".stl", "half.tar.stl")
	j.Halves[3].Name = "knob-2"
	assert.Equal(t, []string{"knob", "knob-2", "knob-3", ".stl", "knob-2-2"}, Names(j))
}

// S7: names with accents, brackets and other scripts stay as they are.
func TestLoadOddNames(t *testing.T) {
	files := b0Files(t)
	odd := []string{"Gehäuse Ø8 – ½ µm €.stl", `a (b) \ c.stl`, "モールド.stl"}
	for i, old := range []string{"part.stl", "bottom.stl", "top.stl"} {
		files[odd[i]] = files[old]
	}
	in, err := Load(files, jobOf(odd...))
	require.NoError(t, err)
	assert.Equal(t, "Gehäuse Ø8 – ½ µm €", in.Part.Name)
	assert.Equal(t, "モールド", in.Halves[1].Name)
	assert.Equal(t, odd[1], in.Inputs[1].File)
}

// S1: a binary file whose header begins like a text one.
func TestLoadBinarySTLThatBeginsWithSolid(t *testing.T) {
	files := b0Files(t)
	data := bytes.Clone(files["part.stl"].Data)
	copy(data, "solid exported by CAD"+strings.Repeat(" ", 59))
	files["part.stl"] = &fstest.MapFile{Data: data}
	in, err := Load(files, jobOf("part.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	assert.Len(t, data, 684)
	assert.InDelta(t, 8000, in.Inputs[0].Volume, 1e-9)
}

// S6: a half inside out is turned and said so; one face turned likewise.
func TestLoadInsideOut(t *testing.T) {
	files := b0Files(t)
	in, err := Load(files, jobOf("part.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	top := in.Halves[1].Mesh

	files["inside-out.stl"] = stl(t, top.Reversed())
	got, err := Load(files, jobOf("part.stl", "bottom.stl", "inside-out.stl"))
	require.NoError(t, err)
	assert.InDelta(t, 31960, got.Inputs[2].Volume, 1e-6)
	require.Len(t, got.Inputs[2].Repairs, 1)
	assert.Equal(t, geom.RepairInsideOut, got.Inputs[2].Repairs[0].Kind)

	turned := &geom.Mesh{Vertices: top.Vertices, Facets: append([][3]int32(nil), top.Facets...)}
	turned.Facets[0][1], turned.Facets[0][2] = turned.Facets[0][2], turned.Facets[0][1]
	files["turned.stl"] = stl(t, turned)
	got, err = Load(files, jobOf("part.stl", "bottom.stl", "turned.stl"))
	require.NoError(t, err)
	assert.InDelta(t, 31960, got.Inputs[2].Volume, 1e-6)
	require.Len(t, got.Inputs[2].Repairs, 1)
	assert.Equal(t, geom.RepairTurned, got.Inputs[2].Repairs[0].Kind)
	assert.Equal(t, 1, got.Inputs[2].Repairs[0].Count)
}

func TestLoadUnitsAndPlace(t *testing.T) {
	files := b0Files(t)
	plain, err := Load(files, jobOf("part.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	for _, f := range files { // in inches, and each body elsewhere
		m, err := meshio.Read("x", bytes.NewReader(f.Data), int64(len(f.Data)), meshio.Options{})
		require.NoError(t, err)
		*f = *stl(t, m.Merged().Map(func(v geom.Vec) geom.Vec { return v.Scale(1 / 25.4) }))
	}
	j := jobOf("part.stl", "bottom.stl", "top.stl")
	j.Units = "in"
	j.SetFrom("units", "flag --units")
	in, err := Load(files, j)
	require.NoError(t, err)
	assert.Equal(t, []string{"in", "flag --units"}, []string{in.Inputs[0].Units, in.Inputs[0].UnitsFrom})
	assert.InDelta(t, 8000, in.Inputs[0].Volume, 0.01)

	j = jobOf("part.stl", "bottom.stl", "top.stl")
	for i, s := range []*BodySpec{&j.Part, &j.Halves[0], &j.Halves[1]} {
		s.Scale = 25.4
		require.NoError(t, SettingNamed("half.turn").Set(&Job{Halves: []BodySpec{*s}}, 0, "0,0,0"))
		s.Move = geom.Vec{X: float64(i)}
	}
	require.NoError(t, SettingNamed("part.turn").Set(j, 0, "0,0,90"))
	in, err = Load(files, j)
	require.NoError(t, err)
	// x, y of the part become -y, x; the halves are moved by 1 and 2 mm.
	assert.InDelta(t, -30, in.Inputs[0].Box.Min.X, 1e-4)
	assert.InDelta(t, 50, in.Inputs[0].Box.Max.Y, 1e-4)
	assert.InDelta(t, plain.Inputs[2].Box.Min.X+2, in.Inputs[2].Box.Min.X, 1e-4)
	assert.Contains(t, in.Inputs[0].Warnings[len(in.Inputs[0].Warnings)-1].Text, "does not lie inside the halves")
}

// The turn's order is X, Y, Z: the unit vectors of a turn by 90, 90, 0 degrees.
func TestPlaceOrder(t *testing.T) {
	j := NewJob()
	require.NoError(t, SettingNamed("part.turn").Set(j, 0, "90,90,0"))
	m := &geom.Mesh{Vertices: []geom.Vec{{X: 1}, {Y: 1}, {Z: 1}}}
	got := j.Part.place(m).Vertices
	for i, want := range []geom.Vec{{Z: -1}, {X: 1}, {Y: -1}} {
		assert.InDelta(t, 0, got[i].Dist(want), 1e-12, "axis %d: %v", i, got[i])
	}
}

// A small hole is closed, one that would be a guess is left and told, and a missing
// lid is refused.
func TestLoadOpenMeshes(t *testing.T) {
	files := b0Files(t)
	ball := geomtest.Icosphere(9, 4).Map(func(v geom.Vec) geom.Vec { return v.Add(geom.Vec{X: 30, Y: 20, Z: 15}) })
	holed := &geom.Mesh{Vertices: ball.Vertices, Facets: ball.Facets[1:]}
	files["holed.stl"] = stl(t, holed)
	in, err := Load(files, jobOf("holed.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	assert.True(t, in.Inputs[0].Closed)
	require.Len(t, in.Inputs[0].Repairs, 1)
	r := in.Inputs[0].Repairs[0]
	assert.Equal(t, geom.RepairHole, r.Kind)
	assert.Regexp(t, `^1 hole closed flat: 3 edges, 0\.\d\d mm wide, at \(`, r.Text)
	assert.InDelta(t, ball.Volume(), in.Inputs[0].Volume, ball.Triangle(0).Area()*0.05)
	assert.Empty(t, in.Inputs[0].Warnings)

	fin := &geom.Mesh{Vertices: []geom.Vec{{X: 30, Y: 20, Z: 15}, {X: 31, Y: 20, Z: 15}, {X: 30, Y: 20, Z: 16}}, Facets: [][3]int32{{0, 1, 2}}}
	files["sheet.stl"] = stl(t, geomtest.Join(ball, fin)) // a loose facet inside
	in, err = Load(files, jobOf("sheet.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	assert.False(t, in.Inputs[0].Closed)
	require.Len(t, in.Inputs[0].Warnings, 1)
	assert.Equal(t, geom.CautionOpen, in.Inputs[0].Warnings[0].Kind)
	assert.Equal(t, 3.0, in.Inputs[0].Warnings[0].Size)
	assert.Contains(t, in.Inputs[0].Warnings[0].Text, "Not closed, for a flat patch would be a guess: 1 hole (3 edges, 1.41 mm wide, at (30.500, 20.000, 15.500))")

	box := geomtest.Box(geom.Vec{X: 10, Y: 10, Z: 10}, geom.Vec{X: 50, Y: 30, Z: 20})
	var lidless [][3]int32
	for f, c := range box.Facets {
		if n := box.Triangle(f).Normal(); n.Z < 0.5 {
			lidless = append(lidless, c)
		}
	}
	require.Len(t, lidless, 10)
	files["lidless.stl"] = stl(t, &geom.Mesh{Vertices: box.Vertices, Facets: lidless})
	_, err = Load(files, jobOf("lidless.stl", "bottom.stl", "top.stl"))
	require.ErrorContains(t, err, "lidless.stl: is open: ")
	require.ErrorContains(t, err, "4 open edges, the first at (10.000, 20.000, 20.000)); close the surface in CAD")
}

// A surface that passes through itself is told with place and count, and read by
// its winding: two bodies in one file are one solid.
func TestLoadCrossings(t *testing.T) {
	files := b0Files(t)
	at := func(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }
	files["two.stl"] = stl(t, geomtest.Join(geomtest.Box(at(10, 10, 10), at(35, 30, 20)), geomtest.Box(at(25, 12, 11), at(50, 28, 19))))
	in, err := Load(files, jobOf("two.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	require.Len(t, in.Inputs[0].Warnings, 1)
	w := in.Inputs[0].Warnings[0]
	assert.Equal(t, CautionOverlap, w.Kind)
	assert.Equal(t, 35.0, w.At.X, "where the second body passes the first one's face")
	assert.Regexp(t, `^shells cross each other at \d+ pairs of facets, the first at \(35\.000, 12\.000, `, w.Text)
	assert.Empty(t, in.Inputs[1].Warnings)
	// Boxes of 25 x 20 x 10 and 25 x 16 x 8 share 10 x 16 x 8: 8000 - 1280, not 8200.
	assert.InDelta(t, 25*20*10+15*16*8, in.Inputs[0].Volume, 10)

	ball := geomtest.Icosphere(9, 3)
	files["folded.stl"] = stl(t, ball.Map(func(v geom.Vec) geom.Vec {
		if v.Z > 8 { // a dimple through the far side
			v = v.Add(at(0.1, 0.2, -17.5))
		}
		return v.Add(at(30, 20, 15))
	}))
	in, err = Load(files, jobOf("folded.stl", "bottom.stl", "top.stl"))
	require.NoError(t, err)
	require.Len(t, in.Inputs[0].Warnings, 1)
	assert.Equal(t, CautionCrossing, in.Inputs[0].Warnings[0].Kind)
	assert.Positive(t, in.Inputs[0].Warnings[0].Size)
}

func TestLoadRefusals(t *testing.T) {
	files := b0Files(t)
	files["empty.stl"] = &fstest.MapFile{}
	files["text.stl"] = &fstest.MapFile{Data: []byte("These are my notes about the mold.\n")}
	files["dir/x"] = &fstest.MapFile{}
	nan := bytes.Clone(files["part.stl"].Data)
	copy(nan[84+12:], []byte{0, 0, 0xc0, 0x7f})
	files["nan.stl"] = &fstest.MapFile{Data: nan}
	sheet := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 9}, {Y: 9}}, Facets: [][3]int32{{0, 1, 2}, {0, 2, 1}}}
	files["sheet.stl"] = stl(t, sheet)
	for _, c := range []struct {
		name string
		job  *Job
		want []string
	}{
		{"missing", jobOf("nowhere.stl", "bottom.stl", "top.stl"), []string{"nowhere.stl: does not exist; check the name"}},
		{"folder", jobOf("part.stl", "dir", "top.stl"), []string{"dir: is a folder; name a mesh file"}},
		{"empty", jobOf("part.stl", "empty.stl", "top.stl"), []string{"empty.stl: "}},
		{"text", jobOf("part.stl", "bottom.stl", "text.stl"), []string{"text.stl: "}},
		{"NaN", jobOf("nan.stl", "bottom.stl", "top.stl"), []string{"nan.stl: byte 84: facet 1 has a corner that is not a finite number"}},
		{"sheet", jobOf("sheet.stl", "bottom.stl", "top.stl"), []string{"sheet.stl: encloses no volume"}},
		{"part twice", jobOf("part.stl", "part.stl", "top.stl"), []string{"part.stl: is the same mesh as part.stl (the part)"}},
		{"one half", jobOf("part.stl", "bottom.stl"), []string{"at least two halves, got 1"}},
		{"body", func() *Job { j := jobOf("part.stl", "bottom.stl", "top.stl"); j.Part.Body = "knob"; return j }(), []string{`part.stl: has no body named "knob"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Load(files, c.job)
			require.Error(t, err)
			for _, want := range c.want {
				assert.Contains(t, err.Error(), want)
			}
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

// The part comes first; another order is seen by what lies inside what.
func TestLoadWrongOrder(t *testing.T) {
	in, err := Load(b0Files(t), jobOf("top.stl", "part.stl", "bottom.stl"))
	require.NoError(t, err)
	require.NotEmpty(t, in.Inputs[0].Warnings)
	assert.Equal(t, "part-outside", in.Inputs[0].Warnings[0].Kind)
	assert.Contains(t, in.Inputs[0].Warnings[0].Text, "the part comes first: top does not lie inside the other meshes, part does")
}
