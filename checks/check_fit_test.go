package checks

import (
	"slices"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/testdata"
)

// fit runs the check of the fit alone on a closed mold.
func (s shut) fit(t *testing.T) *Outcome {
	t.Helper()
	c, err := s.mold.Closing()
	require.NoError(t, err)
	return Run(Input{Job: s.job, Inputs: s.inputs, Mold: s.mold, Fit: c, Only: []string{"fit"}})
}

// ofFit lists severity and kind of the findings of the fit, but for the note that
// most stored molds have no keys.
func ofFit(o *Outcome) []string {
	out := []string{}
	for i := range o.Findings {
		if f := &o.Findings[i]; f.Check == "fit" && f.kind != "no-keys" {
			out = append(out, f.Severity.String()+" "+f.kind)
		}
	}
	slices.Sort(out)
	return out
}

// TestFitOfCases: what the fit says of every stored mold; of most of them nothing.
func TestFitOfCases(t *testing.T) {
	want := map[string][]string{
		"bunny":                 {"discuss section"}, // its ears
		"dragon":                {"stop section"},    // its fins
		"sheet":                 {"discuss section"}, // 0.5 mm
		"membrane01":            {"stop land"},       // a bore through the block 0.1 mm beside the cavity
		"membrane02":            {"stop land"},
		"membrane03":            {"stop land"},
		"parting-gap03":         {"stop gap"},
		"shrink-box-101":        {"note size"}, // 0.8 % too large; the shrink is assumed
		"shrink-sphere-101":     {"note size"},
		"shrink-box-101-origin": {"note size"}, // 1 % larger than drawn
	}
	names, err := testdata.Cases()
	require.NoError(t, err)
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c, err := testdata.Case(name)
			require.NoError(t, err)
			o := closeFiles(t, c.Part, c.Halves...).fit(t)
			proper(t, o)
			assert.ElementsMatch(t, want[name], ofFit(o))
		})
	}
}

// TestFitOfTheExample: neither revision has anything to say about its fit.
func TestFitOfTheExample(t *testing.T) {
	files, err := testdata.Demo()
	require.NoError(t, err)
	byName := map[string]testdata.File{}
	for _, f := range files {
		byName[f.Name] = f
	}
	for _, top := range []string{"top-a.stl", "top-b.stl"} {
		o := closeFiles(t, byName["part.stl"], byName["bottom.stl"], byName[top]).fit(t)
		assert.Empty(t, ofFit(o))
		for i := range o.Findings {
			assert.NotEqual(t, "no-keys", o.Findings[i].kind)
		}
	}
}

// fitOf judges facts of a fit made up for the test.
func fitOf(c mold.Closing, job *mold.Job) *Outcome {
	if job == nil {
		job = mold.NewJob()
	}
	part := mold.Body{Name: "knob", Mesh: &geom.Mesh{}}
	c.Touching = 100
	return Run(Input{Job: job, Mold: &mold.Mold{Job: *job, Part: part, Seal: 0.12, Fit: mold.PartFit{Scale: 1}}, Fit: &c, Only: []string{"fit"}})
}

func TestFitJudged(t *testing.T) {
	p := geom.Vec{X: 1, Y: 2, Z: 3}
	path := []geom.Vec{{}, {X: 3}}
	stated := mold.NewJob()
	stated.SetFrom("liquid.shrink_percent", "job file line 4")
	for _, k := range []struct {
		name string
		fit  mold.Closing
		want []string
	}{
		{"nothing", mold.Closing{}, nil},
		{"overlap of 0.2 mm", mold.Closing{Overlaps: []mold.Overlap{{A: "a", B: "b", Volume: 20, Depth: 0.2, At: p}}}, []string{"stop overlap"}},
		{"overlap of 0.05 mm", mold.Closing{Overlaps: []mold.Overlap{{A: "a", B: "b", Volume: 20, Depth: 0.05, At: p}}}, []string{"discuss overlap"}},
		{"gap of 0.3 mm", mold.Closing{GapMax: 0.3, GapAt: &p, GapArea: 5}, []string{"stop gap"}},
		{"gap of 0.1 mm", mold.Closing{GapMax: 0.1, GapAt: &p, GapArea: 5}, []string{"discuss gap"}},
		{"gap of 0.02 mm", mold.Closing{GapMax: 0.02, GapAt: &p, GapArea: 5}, nil},
		{"land of 3 mm", mold.Closing{Leaks: []mold.Leak{{From: "cavity", Land: 3, Path: path}}}, []string{"discuss land"}},
		{"land of 1 mm", mold.Closing{Leaks: []mold.Leak{{From: "vent 2", Channel: 2, Land: 1, Path: path}}}, []string{"stop land"}},
		{"land of 5 mm", mold.Closing{Leaks: []mold.Leak{{From: "cavity", Land: 5, Path: path}}}, nil},
		{"open way and its gap", mold.Closing{GapMax: 0.3, GapAt: &p, Leaks: []mold.Leak{{From: "cavity", Path: path}, {From: "gate 1", Channel: 1, Path: path}}}, []string{"stop gap"}},
		{"offset", mold.Closing{HalvesOffset: &mold.HalvesOffset{Half: "b", Against: "a", Shift: geom.Vec{X: 0.2}, From: "the keys"}}, []string{"discuss offset"}},
		{"good keys", mold.Closing{Keys: []mold.Key{{Half: "a", Clearance: 0.15, ToCavity: 6, Width: 5}}}, nil},
		{"tight keys", mold.Closing{Keys: []mold.Key{{Half: "a", Clearance: 0.05, ToCavity: 6, Width: 5}, {Half: "a", Clearance: -0.1, ToCavity: 6, Width: 5}}}, []string{"stop key-tight"}},
		{"loose, near and thin key", mold.Closing{Keys: []mold.Key{{Half: "a", Clearance: 0.5, ToCavity: 2, Width: 2}}}, []string{"discuss key-loose", "discuss key-near", "note key-thin"}},
		{"turned", mold.Closing{Turns: []mold.Turn{{Half: "b", Angle: 3.14159265}}}, []string{"discuss reversible"}},
		{"mirrored", mold.Closing{Turns: []mold.Turn{{Half: "b", Mirror: true}}}, []string{"note mirror-closes"}},
		{"mirrored without harm", mold.Closing{Turns: []mold.Turn{{Half: "b", Mirror: true, Harmless: true}}}, nil},
		{"turned without harm", mold.Closing{Turns: []mold.Turn{{Half: "b", Angle: 3.14159265, Harmless: true}}}, []string{"note reversible"}},
		{"missing boss", mold.Closing{Features: []mold.Feature{{Missing: true, Volume: 144, Depth: 4, At: p}}, Deviation: mold.Deviation{Max: -4, At: p}}, []string{"stop missing"}},
		{"extra boss", mold.Closing{Features: []mold.Feature{{Volume: 144, Depth: 4, At: p}}}, []string{"discuss extra"}},
		{"mirrored", mold.Closing{Mirrored: true, Deviation: mold.Deviation{Max: 5}}, []string{"stop mirrored"}},
		{"deviation", mold.Closing{Deviation: mold.Deviation{Max: 0.4, At: p}}, []string{"discuss deviation"}},
		{"thin sections", mold.Closing{Sections: []mold.Section{{At: p, Width: 0.4, Area: 3}, {At: p, Width: 0.8, Area: 3}}}, []string{"stop section"}},
		{"stub on a show face", mold.Closing{Stubs: []mold.Stub{{What: "gate 1", Channel: 1, Area: 12, At: p, Show: "lid"}, {What: "vent 2", Channel: 2, Area: 3}}}, []string{"discuss stub-on-show"}},
		{"line over a show face", mold.Closing{Stubs: []mold.Stub{{What: "parting line", Length: 120, At: p, Show: "lid"}}}, []string{"discuss line-on-show"}},
		{"cast too small", mold.Closing{Cast: mold.CastSize{Drawn: geom.Vec{X: 10, Y: 10, Z: 10}, Cavity: geom.Vec{X: 10, Y: 10, Z: 10}, Print: 0.99, Shrink: 0.002, Size: geom.Vec{X: 9.88, Y: 9.88, Z: 9.88}}}, []string{"discuss size"}},
	} {
		o := fitOf(k.fit, stated)
		proper(t, o)
		assert.ElementsMatch(t, k.want, ofFit(o), k.name)
	}
}

// TestFilesTogether: files that do not lie together are told with what would put them so,
// and the fit is not judged.
func TestFilesTogether(t *testing.T) {
	for _, k := range []struct {
		places mold.Assembly
		kind   string
		says   string
	}{
		{mold.Assembly{Moves: []mold.Move{{Body: "top", Factor: 1, Shift: geom.Vec{Z: 15}}}}, "elsewhere", "move = [0.00, 0.00, 15.00] for this half under [[half]]"},
		{mold.Assembly{Moves: []mold.Move{{Body: "knob", Part: true, Factor: 1, Shift: geom.Vec{X: 10}}}}, "elsewhere", "under [part]"},
		{mold.Assembly{Moves: []mold.Move{{Body: "top", Factor: 25.4}}}, "unit", "scale = 25.4"},
		{mold.Assembly{Moves: []mold.Move{{Body: "top", Factor: 1, Turn: geom.Vec{X: 3.141592653589793}}}}, "elsewhere", "turn = [180, 0, 0]"},
		{mold.Assembly{PartIs: "top"}, "swapped", "Name top first"},
		{mold.Assembly{Mirrored: true}, "mirrored", "Mirror"},
		{mold.Assembly{Bare: &mold.Bare{Share: 0.25, Direction: geom.Vec{Z: 1}}}, "half-missing", "Name every half"},
		{mold.Assembly{Foreign: []string{"top"}}, "foreign", "of this mold"},
		{mold.Assembly{}, "apart", "of one mold"},
	} {
		o := Run(Input{Job: mold.NewJob(), Inputs: []mold.Input{{Role: "part", Name: "knob"}, {Role: "half", Name: "top"}}, Places: &k.places, Only: []string{"fit"}})
		proper(t, o)
		f := one(t, o, "intake/"+k.kind)
		assert.Equal(t, Stop, f.Severity)
		assert.Contains(t, f.Advice, k.says)
		assert.True(t, slices.ContainsFunc(o.NotJudged, func(n NotJudged) bool { return n.Check == "fit" && n.Asked }))
	}
	o := Run(Input{Job: mold.NewJob(), Places: &mold.Assembly{Together: true}})
	assert.Empty(t, o.Findings)
}

// TestLostBody is recipe S5 of the practice notes: what the report says, written in
// a job file, closes the mold.
func TestLostBody(t *testing.T) {
	c, err := testdata.Case("b0")
	require.NoError(t, err)
	fsys := fstest.MapFS{c.Part.Name: {Data: c.Part.Data}}
	job := mold.NewJob()
	job.Units = "mm"
	job.Part = mold.BodySpec{File: c.Part.Name, Move: geom.Vec{X: -10, Y: -10, Z: -10}}
	for _, h := range c.Halves {
		fsys[h.Name] = &fstest.MapFile{Data: h.Data}
		spec := mold.BodySpec{File: h.Name}
		if h.Name == "top.stl" {
			spec.Move = geom.Vec{Z: -15}
		}
		job.Halves = append(job.Halves, spec)
	}
	in, err := mold.Load(fsys, job)
	require.NoError(t, err)
	o := Run(Input{Job: job, Inputs: in.Inputs, Places: mold.Placement(in.Part, in.Halves), Only: []string{"intake"}})
	proper(t, o)
	var advice []string
	for i := range o.Findings {
		if f := &o.Findings[i]; f.kind == "elsewhere" {
			advice = append(advice, f.Where.Body+": "+f.Advice)
			assert.Contains(t, f.Why, "on top of the scale, turn and move")
		}
	}
	require.Len(t, advice, 2)
	slices.Sort(advice)
	assert.Contains(t, advice[0], "part: ")
	assert.Contains(t, advice[0], "move = [10.00, 10.00, 10.00]")
	assert.Contains(t, advice[1], "top: ")
	assert.Contains(t, advice[1], "move = [0.00, 0.00, 15.00]")
}
