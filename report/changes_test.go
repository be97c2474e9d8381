package report

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
)

func TestChangeText(t *testing.T) {
	assert.Equal(t, `What changed: changed: 1 fixed, 1 new; 1 still there, 1 accepted
  fixed   stop     Gone
  new     stop     Air stays here: 100 mm³
  same    note     A note
  accepted discuss  Vent 2 is narrow
`, ChangeText(sampleDocument()))
}

// A key that moved into a neighbouring cell is the same finding, once.
func TestCompareTakesNearKeysForOne(t *testing.T) {
	d := New(&checks.Outcome{Findings: []checks.Finding{{Key: "air/ceiling@10:0:4"}, {Key: "air/ceiling@40:0:4"}}}, "0")
	d.Compare(&Earlier{Findings: []EarlierFinding{{Key: "air/ceiling@9:0:4"}, {Key: "air/ceiling@80:0:4"}}})
	require.Len(t, d.Changes.Same, 1)
	assert.Equal(t, "air/ceiling@10:0:4", d.Changes.Same[0].Now.Key)
	assert.Len(t, d.Changes.New, 1)
	assert.Len(t, d.Changes.Fixed, 1)
}

// runOf is a run with findings told as severity letter and key: s/a, d/b, n/c; a
// key in brackets is accepted.
func runOf(told string, unjudged ...string) *Document {
	o := &checks.Outcome{}
	for i, word := range strings.Fields(told) {
		f := checks.Finding{ID: i + 1, Check: word[2:3], Severity: map[byte]checks.Severity{'s': checks.Stop, 'd': checks.Discuss, 'n': checks.Note}[word[0]]}
		key := word[2:]
		if f.Key = strings.Trim(key, "()"); f.Key != key {
			f.Check, f.Accepted = f.Key[:1], pointer("so be it")
		}
		o.Findings = append(o.Findings, f)
	}
	for _, c := range unjudged {
		o.NotJudged = append(o.NotJudged, checks.NotJudged{Check: c})
	}
	return New(o, "1")
}

// The line counts what is gone and what came; better or worse is decided by the
// worst severity whose number changed.
func TestChangeLine(t *testing.T) {
	for _, c := range []struct{ was, now, line string }{
		{"s/a1 s/a2 d/b1", "n/c1", "better: 3 fixed, 1 new"},
		{"", "s/a1", "worse: 0 fixed, 1 new"},
		{"s/a1", "d/b1 d/b2 n/c1", "better: 1 fixed, 3 new"},
		{"n/c1 n/c2", "s/a1", "worse: 2 fixed, 1 new"},
		{"s/a1", "s/a1", "unchanged: 0 fixed, 0 new"},
		{"s/a1", "s/a2", "changed: 1 fixed, 1 new"},
		{"s/a1", "d/a1", "better: 0 fixed, 0 new"},
		{"n/a1", "s/a1", "worse: 0 fixed, 0 new"},
		{"s/(a1)", "n/c1", "worse: 1 fixed, 1 new"},
		{"s/(a1)", "s/a1", "unchanged: 0 fixed, 0 new"},
		{"", "", "unchanged: 0 fixed, 0 new"},
	} {
		d := runOf(c.now)
		d.Compare(EarlierOf("old", runOf(c.was)))
		assert.Equal(t, c.line, ChangeLine(d.Changes), "%q to %q", c.was, c.now)
	}
}

// What one of the runs did not judge is neither fixed nor new.
func TestChangesOfChecksLeftOut(t *testing.T) {
	d := runOf("s/a1 d/b1", "c")
	d.Compare(EarlierOf("old", runOf("s/a1 d/c1", "b")))
	assert.Equal(t, "unchanged: 0 fixed, 0 new; 1 still there, 1 not judged in this run, 1 of checks that were not judged then", changePhrase(d.Changes))
	require.Len(t, d.Changes.Unjudged, 1)
	assert.Equal(t, "c1", d.Changes.Unjudged[0].Key)
	require.Len(t, d.Changes.FirstJudged, 1)
	assert.Equal(t, "b1", d.Changes.FirstJudged[0].Key)
}

// Every finding of both runs stands in exactly one list, and the order in which a
// run lists them does not matter.
func TestComparePartsAllFindings(t *testing.T) {
	was, now := runOf("s/a1 s/a2 d/b1 n/(c1)", "d"), runOf("n/c1 s/a2 d/b9 s/(a1) d/d1")
	now.Compare(EarlierOf("old", was))
	c := now.Changes
	assert.Equal(t, len(now.Outcome.Findings), len(c.New)+len(c.Same)+len(c.Accepted)+len(c.FirstJudged))
	assert.Equal(t, len(was.Outcome.Findings), len(c.Fixed)+len(c.Same)+len(c.Unjudged)+1, "one of then is accepted now")
	turned := runOf("d/d1 s/(a1) d/b9 s/a2 n/c1")
	turned.Compare(EarlierOf("old", was))
	assert.Equal(t, ChangeLine(c), ChangeLine(turned.Changes))
}

func TestReadEarlierIsTheInverseOfJSON(t *testing.T) {
	d := sampleDocument()
	want := EarlierOf("old/report.json", d)
	got, err := ReadEarlier("old/report.json", reportText(t, d))
	require.NoError(t, err)
	got.Outcome, got.NoPictures = want.Outcome, want.NoPictures
	assert.InDelta(t, 0, got.Findings[0].At.Dist(*want.Findings[0].At), 1e-4, "places are rounded")
	got.Findings[0].At = want.Findings[0].At
	assert.Equal(t, want, got)
}

// What is no report is refused with the file's name and the remedy.
func TestReadEarlierRefuses(t *testing.T) {
	whole := string(reportText(t, sampleDocument()))
	for name, c := range map[string]struct{ data, says string }{
		"empty":         {" \n", "is empty"},
		"cut":           {whole[:len(whole)/2], "cut short or not JSON"},
		"mesh":          {"solid knob\nfacet", "cut short or not JSON"},
		"pdf":           {"%PDF-1.7", "not JSON"},
		"list":          {"[1, 2]", "not JSON"},
		"foreign":       {`{"name": "x"}`, "names no schema"},
		"later":         {strings.Replace(whole, Schema, "pourproof/9", 1), `has the schema "pourproof/9", this version reads "pourproof/1"`},
		"schema number": {`{"schema": 1}`, "is not a report"},
		"bare":          {`{"schema": "pourproof/1"}`, "lacks tool or findings"},
		"two":           {whole + whole, "goes on after its end"},
		"wrong type":    {strings.Replace(whole, `"findings": [`, `"findings": 3, "x": [`, 1), "is not a report that this version reads"},
		"no key":        {strings.Replace(whole, `"key": "air/ceiling@1"`, `"key": ""`, 1), "finding 1 has no key"},
		"severity":      {strings.Replace(whole, `"severity": "stop"`, `"severity": "bad"`, 1), "no known severity"},
		"settings":      {strings.Replace(whole, `"settings": {`, `"settings": [], "x": {`, 1), "its settings cannot be read"},
	} {
		_, err := ReadEarlier("old.json", []byte(c.data))
		require.Error(t, err, name)
		assert.Contains(t, err.Error(), c.says, name)
		assert.True(t, strings.HasPrefix(err.Error(), "old.json: "), name)
		assert.Contains(t, err.Error(), "; name the report.json of an earlier run", name)
	}
}

// A field that this version does not know changes nothing.
func TestReadEarlierTakesMoreFields(t *testing.T) {
	more := strings.Replace(string(reportText(t, sampleDocument())), "{", `{"future": {"a": [1]},`, 1)
	e, err := ReadEarlier("old.json", []byte(more))
	require.NoError(t, err)
	assert.Len(t, e.Findings, 3)
}

func FuzzReadEarlier(f *testing.F) {
	f.Add([]byte(`{"schema":"pourproof/1","tool":{"name":"pourproof","version":"1"},"findings":[{"id":1,"key":"a/b@1:2:3","severity":"stop","where":{"at_mm":[1,2,3]}}],"settings":{"a":{"value":"1"}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := ReadEarlier("old.json", data)
		if err != nil {
			assert.True(t, strings.HasPrefix(err.Error(), "old.json: "))
			return
		}
		d := runOf("s/a1")
		d.Compare(e)
		_, err = JSON(d)
		require.NoError(t, err)
	})
}

func TestChangedInputsAndSettings(t *testing.T) {
	d := sampleDocument()
	e := EarlierOf("old", sampleDocument())
	e.Inputs = append([]EarlierInput{}, e.Inputs...)
	e.Inputs[1].SHA256, e.Inputs[1].File = "other", "old-a.stl"
	e.Inputs = append(e.Inputs, EarlierInput{Role: "half", File: "third.stl", SHA256: "x"})
	e.Settings = []EarlierSetting{{"pour.seal", "0.2", ""}, {"report.title", "x", ""}, {"pour.gone", "1", ""}}
	d.Compare(e)
	assert.Equal(t, []changedInput{{"half", "old-a.stl", d.Outcome.Inputs[1].File}, {"half", "third.stl", ""}}, d.changedInputs())
	assert.Equal(t, []changedSetting{{"pour.seal", "0.2", "0.12"}, {"pour.gone", "1", ""}}, d.changedSettings())
	var r struct{ Since sinceJSON }
	require.NoError(t, json.Unmarshal(reportText(t, d), &r))
	assert.Equal(t, "old-a.stl", *r.Since.Inputs[0].Was)
	assert.Nil(t, r.Since.Settings[1].Now)
	assert.Equal(t, ChangeLine(d.Changes), r.Since.Line)
}

func TestChangesAreListed(t *testing.T) {
	d := document(t, 3)
	d.Compare(&Earlier{Name: "old/report.json", Version: "0.0.9", Verdict: "stop", NoPictures: "top.stl has changed since", Findings: []EarlierFinding{
		{ID: 4, Key: "gone", Severity: "stop", Title: "A pocket that is gone"}, {ID: 9, Key: "edges/1", Severity: "note"}}})
	_, data := written(t, d)
	text := words(strings.Join(textOf(t, data), " "))
	for _, s := range []string{"What changed", "fixed was 4", "A pocket that is gone", "was note", "version 0.0.9", "There is no picture of then: top.stl has changed since."} {
		assert.Contains(t, text, s)
	}
}

// The pictures of then and now show one section from one camera, whatever the
// findings: each pair has one frame, and the places of one are those of the other.
func TestThenAndNowFromOneCamera(t *testing.T) {
	then, now := New(outcome(t, "b0", 10), "0.1"), New(outcome(t, "b0", 0), "0.1")
	now.Compare(EarlierOf("old/report.json", then))
	require.NotEmpty(t, now.Changes.Fixed)
	b, data := written(t, now)
	text := words(strings.Join(textOf(t, data), " "))
	assert.Contains(t, text, "Then and now")
	assert.Contains(t, text, "The block stood otherwise")
	assert.Contains(t, text, "Better: ")

	was := newStudio(then.Outcome)
	list := b.pairs(was)
	require.NotEmpty(t, list)
	for _, p := range list {
		p.frame = was.closeUp(p.view, p.frame, 1)
		one, two := was.section(p, 82, b.marksThen()), b.studio.section(p, 82, nil)
		assert.Equal(t, one.scene.Camera, two.scene.Camera)
		assert.Equal(t, one.frame, two.frame)
		assert.Equal(t, fmt.Sprint(*one.scene.Cut), fmt.Sprint(*two.scene.Cut))
		assert.NotEmpty(t, one.marks, "the air that is gone is marked")
	}
}

// Callouts of then never cross those of now: each picture has its own, and two
// hundred fixed findings still lay out.
func TestManyChangesLayOut(t *testing.T) {
	then, now := document(t, 200), document(t, 0)
	now.Compare(EarlierOf("old/report.json", then))
	b, _ := written(t, now)
	for _, p := range b.pairs(newStudio(then.Outcome)) {
		assert.LessOrEqual(t, len(b.studio.section(p, 82, b.marksThen()).marks), maxMarks)
	}
	assert.GreaterOrEqual(t, b.pdf.Pages(), 8)
}
