package report

import (
	"bytes"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/testdata"
)

// meshes returns a stored mold as files, and the bodies of its job.
func meshes(t testing.TB, name string) (fs.FS, mold.BodySpec, []mold.BodySpec) {
	t.Helper()
	files := fstest.MapFS{}
	spec := func(f testdata.File) mold.BodySpec {
		files[f.Name] = &fstest.MapFile{Data: f.Data}
		return mold.BodySpec{File: f.Name, Path: f.Name}
	}
	if name != "demo" {
		c, err := testdata.Case(name)
		require.NoError(t, err)
		var halves []mold.BodySpec
		for _, h := range c.Halves {
			halves = append(halves, spec(h))
		}
		return files, spec(c.Part), halves
	}
	list, err := testdata.Demo()
	require.NoError(t, err)
	at := func(name string) mold.BodySpec {
		return spec(list[slices.IndexFunc(list, func(f testdata.File) bool { return f.Name == name })])
	}
	return files, at("part.stl"), []mold.BodySpec{at("bottom.stl"), at("top-a.stl")}
}

// outcomes keeps what was worked out once. Tests copy an outcome before they
// change it.
var outcomes = struct {
	sync.Mutex
	of map[string]*checks.Outcome
}{of: map[string]*checks.Outcome{}}

// outcome closes, pours and judges a stored mold with its +x side raised.
func outcome(t testing.TB, name string, degrees float64) *checks.Outcome {
	t.Helper()
	outcomes.Lock()
	defer outcomes.Unlock()
	key := fmt.Sprint(name, degrees)
	if outcomes.of[key] == nil {
		outcomes.of[key] = pour(t, name, mold.Tilt{Angle: degrees * math.Pi / 180})
	}
	return outcomes.of[key]
}

func pour(t testing.TB, name string, tilt mold.Tilt) *checks.Outcome {
	t.Helper()
	files, part, halves := meshes(t, name)
	job := mold.NewJob()
	job.Part, job.Halves, job.Tilt = part, halves, &tilt
	in, err := mold.Load(files, job)
	require.NoError(t, err)
	m, err := mold.Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	if name != "comb" { // twelve proofs of one kind, slow
		require.NoError(t, m.SuggestVents(f))
	}
	settings := []checks.Setting{
		{Name: "pour.tilt", Value: "10@0", From: "flag --tilt"},
		{Name: "pot.pressure", Value: "414 kPa", From: "default", Source: "common practice, no source"},
	}
	return checks.Run(checks.Input{Job: job, Inputs: in.Inputs, Mold: m, Fill: f, Settings: settings})
}

// document is the base mold's with n findings, made up after the first.
func document(t testing.TB, n int) *Document {
	o := *outcome(t, "b0", 10)
	air := o.Findings[0]
	o.Findings = nil
	for i := range n {
		f := air
		if i > 0 {
			v, l, at := float64(i), 0.5, geom.Vec{X: 12 + float64(i*7%36), Y: 12 + float64(i*5%16), Z: 12 + float64(i%8)}
			f = checks.Finding{ID: i + 1, Key: fmt.Sprint("edges/", i), Check: "edges", Severity: checks.Severity(3 - i%3), Title: fmt.Sprintf("Edge number %d of the rubber is sharp", i),
				Where: checks.Where{Body: "bottom", At: &at}, Value: &v, Unit: "mm", Limit: &l, Why: "It tears.", Advice: "Round it by 0.5 mm or accept it with a reason that others understand."}
		}
		f.ID = i + 1
		o.Findings = append(o.Findings, f)
	}
	d := New(&o, "0.1")
	d.Title, d.Revision, d.Date, d.Author = "Tray", "B", "2026-01-15", "M. Maker"
	return d
}

// written lays out a document and checks what every document must keep.
func written(t *testing.T, d *Document) (*book, []byte) {
	t.Helper()
	b, err := newBook(d)
	require.NoError(t, err)
	require.NoError(t, b.write())
	data, err := b.pdf.Bytes()
	require.NoError(t, err)
	assert.Empty(t, b.pdf.Missing(), "characters without a glyph")
	requireOnPaper(t, b.pdf)
	return b, data
}

// requireOnPaper fails where something leaves its page or where two items of one
// parent overlap. Callouts over a picture must stay apart too.
func requireOnPaper(t *testing.T, p *pdf.Doc) {
	t.Helper()
	const edge = 5 // mm
	slack := func(kind string) float64 {
		if kind == "label" {
			return 0.8 // white around a word
		}
		return 0.1
	}
	w, h := p.PaperSize()
	items := p.Placed()
	siblings := map[[2]int][]pdf.Item{}
	for _, it := range items {
		b := it.Box
		require.True(t, b.X >= edge && b.Y >= edge && b.X+b.W <= w-edge && b.Y+b.H <= h-edge, "page %d: %s at %v leaves the paper", it.Page, it.Kind, b)
		if it.Inside >= 0 {
			o := items[it.Inside].Box
			require.True(t, b.X >= o.X-0.1 && b.Y >= o.Y-0.1 && b.X+b.W <= o.X+o.W+0.1 && b.Y+b.H <= o.Y+o.H+0.1, "page %d: %s at %v leaves its %s at %v", it.Page, it.Kind, b, items[it.Inside].Kind, o)
		}
		key := [2]int{it.Page, it.Inside}
		for _, s := range siblings[key] {
			d := slack(it.Kind)
			apart := s.Box.X+s.Box.W <= b.X+d || b.X+b.W <= s.Box.X+d || s.Box.Y+s.Box.H <= b.Y+d || b.Y+b.H <= s.Box.Y+d
			require.True(t, apart, "page %d: %s at %v overlaps %s at %v", it.Page, it.Kind, b, s.Kind, s.Box)
		}
		siblings[key] = append(siblings[key], it)
	}
}

// count returns how many items of a kind a document has.
func count(p *pdf.Doc, kind string) (n int) {
	for _, it := range p.Placed() {
		if it.Kind == kind {
			n++
		}
	}
	return n
}

// textOf returns the words of a file as an outside reader sees them, by page.
func textOf(t *testing.T, data []byte) []string {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("pdftotext is missing; install poppler-utils")
		}
		t.Skip("pdftotext is missing: the text of the pages is not checked here")
	}
	path := filepath.Join(t.TempDir(), "report.pdf")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
	require.NoError(t, err)
	return strings.Split(strings.TrimRight(string(out), "\f"), "\f")
}

// words makes text comparable: one blank between words.
func words(s string) string { return strings.Join(strings.Fields(s), " ") }

func TestPagesSayEveryFinding(t *testing.T) {
	d := document(t, 30)
	reason := "the customer does not see this edge"
	d.Outcome.Findings[7].Accepted = &reason
	_, data := written(t, d)
	pages := textOf(t, data)
	whole := words(strings.Join(pages, " "))
	assert.Contains(t, words(pages[0]), "Do not print: ")
	assert.Contains(t, words(pages[0]), "1 accepted")
	for _, in := range d.Outcome.Inputs {
		assert.Contains(t, pages[0], in.SHA256[:12])
	}
	assert.Contains(t, whole, reason[:20])
	for i := range d.Outcome.Findings {
		// A title breaks over the lines of its cell, other cells between them.
		f := &d.Outcome.Findings[i]
		for _, w := range strings.Fields(typeset(f.Title)) {
			assert.Contains(t, whole, w, "finding %d", f.ID)
		}
		assert.Regexp(t, fmt.Sprintf(`(^|\s)%d\s+(stop|discuss|note)\s`, f.ID), whole)
	}
	for _, heading := range []string{"Actions", "Accepted with a reason", "Air", "Gate and vents", "Vents to add", "What this rests on", "Not judged", "Limits", "Settings", "Cautions"} {
		assert.Contains(t, whole, heading)
	}
}

// A page holds about 14 findings of four lines; everything else is about six
// pages, whatever their number.
func TestPageCount(t *testing.T) {
	pages := map[int]int{}
	for _, n := range []int{0, 1, 200} {
		b, _ := written(t, document(t, n))
		pages[n] = b.pdf.Pages()
	}
	assert.Equal(t, pages[0], pages[1])
	assert.InDelta(t, 7, pages[1], 2)
	assert.InDelta(t, pages[1]+200/13, pages[200], 5)
}

func TestSameBytesOnAnyNumberOfThreads(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first []byte
	for _, n := range []int{1, 2} {
		runtime.GOMAXPROCS(n)
		data, err := PDF(document(t, 5))
		require.NoError(t, err)
		if first == nil {
			first = data
		}
		require.True(t, bytes.Equal(first, data), "%d threads", n)
	}
	assert.Less(t, len(first), 8<<20)
}

func TestLetterNamesAndAttachment(t *testing.T) {
	d := document(t, 3)
	d.Paper, d.JSON = "letter", []byte(`{"schema":"pourproof/1"}`)
	d.Title = strings.Repeat("Gehäuse Ø8 – ½ µm, eine lange Bezeichnung ", 6) + "中文"
	d.Outcome.Inputs = slices.Clone(d.Outcome.Inputs)
	d.Outcome.Inputs[0].File = strings.Repeat("very-long-name_", 12) + "中文.stl"
	d.Outcome.Findings[1].Title = strings.Repeat("A title that somebody made far too long. ", 9)
	d.Outcome.Findings[1].Where.Body = strings.Repeat("Unbreakable", 12)
	b, err := newBook(d)
	require.NoError(t, err)
	require.NoError(t, b.write())
	data, err := b.pdf.Bytes()
	require.NoError(t, err)
	requireOnPaper(t, b.pdf)
	assert.True(t, bytes.Contains(data, []byte("/EmbeddedFile")))
	w, _ := b.pdf.PaperSize()
	assert.InDelta(t, 215.9, w, 0.1)
}

// Without a closed mold there is no picture, and the page says why.
func TestPagesWithoutAMold(t *testing.T) {
	d := document(t, 2)
	d.Outcome.Mold, d.Outcome.Fill, d.Outcome.Verdict = nil, nil, checks.NoJudgement
	d.Outcome.NotJudged = []checks.NotJudged{{Check: "air", Why: "the halves leave no empty space where the part lies", Asked: true}}
	b, data := written(t, d)
	assert.Zero(t, count(b.pdf, "picture"))
	text := words(strings.Join(textOf(t, data), " "))
	assert.Contains(t, text, "the mold could not be closed")
	assert.Contains(t, text, "the halves leave no empty space where the part lies")
	assert.Contains(t, text, "Not judged")
}

// With no air left there is nothing to show of it, but the mold is.
func TestPagesOfAGoodPour(t *testing.T) {
	d := New(outcome(t, "b0", 0), "0.1")
	require.Empty(t, d.Outcome.Fill.Pockets)
	b, data := written(t, d)
	assert.Equal(t, 3, count(b.pdf, "picture"), "the whole mold and two of the channels")
	assert.Contains(t, words(strings.Join(textOf(t, data), " ")), "no air pocket stays in the part")
}

// At most two pictures a page, so that each can be read (practice).
func TestTwoPicturesAPage(t *testing.T) {
	for name, tilt := range map[string]float64{"demo": 15, "comb": 0} {
		b, _ := written(t, New(outcome(t, name, tilt), "0.1"))
		on := map[int]int{}
		for _, it := range b.pdf.Placed() {
			if it.Kind == "picture" {
				on[it.Page]++
			}
		}
		for page, n := range on {
			assert.LessOrEqual(t, n, 2, "%s page %d", name, page)
		}
		assert.GreaterOrEqual(t, len(on), 3)
	}
}

func TestEmptyOutcome(t *testing.T) {
	_, data := written(t, New(&checks.Outcome{Verdict: checks.NoJudgement}, ""))
	assert.NotEmpty(t, data)
}
