package report

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/report/pdf"
)

func viewOf(t *testing.T, d *Document) string {
	t.Helper()
	_, data, err := Pages(d)
	require.NoError(t, err)
	return string(data)
}

// void are the elements of HTML that have no end tag.
var void = map[string]bool{"meta": true, "br": true, "rect": true, "path": true, "circle": true, "image": true}

// requireSoundHTML fails where elements are not closed in order, an id stands
// twice, a link leads nowhere, or anything would be loaded.
func requireSoundHTML(t *testing.T, page string) {
	t.Helper()
	body := regexp.MustCompile(`(?s)<(style|script)>.*?</(style|script)>`).ReplaceAllString(page, "")
	var open []string
	for _, m := range regexp.MustCompile(`<(/?)([a-zA-Z][a-zA-Z0-9]*)((?:[^>"]|"[^"]*")*?)(/?)>`).FindAllStringSubmatch(body, -1) {
		switch {
		case m[1] == "/":
			require.NotEmpty(t, open, "</%s> without a beginning", m[2])
			require.Equal(t, open[len(open)-1], m[2])
			open = open[:len(open)-1]
		case m[4] != "/" && !void[m[2]]:
			open = append(open, m[2])
		}
	}
	require.Empty(t, open)
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(body, -1) {
		require.False(t, ids[m[1]], "id %s twice", m[1])
		ids[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`(?:href|src|srcset|action|data)="([^"]{0,40})`).FindAllStringSubmatch(body, -1) {
		if target, local := strings.CutPrefix(m[1], "#"); local {
			require.True(t, ids[target], "#%s leads nowhere", target)
			continue
		}
		require.True(t, strings.HasPrefix(m[1], "data:image/png;base64,"), "loads %s", m[1])
	}
	assert.NotContains(t, page, "url(")
	assert.NotContains(t, page, "\x00")
	assert.NotContains(t, page, "@import")
	assert.Contains(t, page, "default-src &#39;none&#39;")
}

// The view says what the pages say: every finding with its advice, every heading.
func TestHTMLSaysWhatThePagesSay(t *testing.T) {
	d := document(t, 30)
	b, _ := written(t, d)
	page := viewOf(t, d)
	requireSoundHTML(t, page)
	pictures := 0
	for _, block := range b.pdf.Story() {
		if block.Kind == pdf.HeadingBlock {
			assert.Contains(t, page, ">"+strings.ReplaceAll(block.Title, "'", "&#39;")+"</h")
		}
		for _, f := range block.Figures {
			if f.Image != nil {
				pictures++
			}
		}
	}
	assert.Equal(t, count(b.pdf, "picture")+count(b.pdf, "strip"), pictures)
	assert.Equal(t, pictures, strings.Count(page, "data:image/png;base64,"))
	for i := range d.Outcome.Findings {
		f := &d.Outcome.Findings[i]
		assert.Contains(t, page, `<tr id="`+actionAnchor(f)+`"`)
		assert.Contains(t, page, strings.ReplaceAll(typeset(f.Title), "'", "&#39;"))
	}
	assert.Equal(t, 1, strings.Count(page, `<div class="strip">`))
	assert.Contains(t, page, VerdictLine(d))
	assert.Less(t, len(page), 4<<20)
}

// What comes from files and job files is text, never markup.
func TestHTMLEscapes(t *testing.T) {
	d := document(t, 3)
	const bad = `</title><script>alert("x")</script><img src=x onerror='y'>&amp;` + "\x00\x07"
	d.Title, d.Revision, d.Author = bad, bad, bad
	d.Outcome.Findings[1].Title, d.Outcome.Findings[1].Advice, d.Outcome.Findings[1].Why = bad, bad, bad
	d.Outcome.Findings[1].Accepted = pointer(bad)
	d.Outcome.Findings[2].Where.Body = bad
	page := viewOf(t, d)
	requireSoundHTML(t, page)
	assert.Equal(t, 3, strings.Count(page, "<script>"), "the page's own, the library, the view's")
	assert.NotContains(t, page, "<img")
	assert.Contains(t, page, "&lt;script&gt;alert(")
}

func TestHTMLSameBytesAndExtremes(t *testing.T) {
	one, two := viewOf(t, document(t, 4)), viewOf(t, document(t, 4))
	assert.True(t, one == two)
	many := viewOf(t, document(t, 200))
	requireSoundHTML(t, many)
	assert.Equal(t, 200, strings.Count(many, `<tr id="action-`))
	none := viewOf(t, New(&checks.Outcome{Verdict: checks.NoJudgement}, ""))
	requireSoundHTML(t, none)
	assert.Contains(t, none, "The mold could not be closed"[4:])
}

// A figure is the same in both forms: every word over a picture is text in the
// drawing, and charts and discs are drawn, not pictured.
func TestHTMLFiguresAreDrawings(t *testing.T) {
	b, _ := written(t, document(t, 3))
	for _, block := range b.pdf.Story() {
		for _, f := range block.Figures {
			require.Positive(t, f.Width)
			require.Positive(t, f.Height)
			assert.Equal(t, f.Image != nil, strings.Contains(f.SVG, pdf.ImageHere))
			assert.True(t, bytes.Contains([]byte(f.SVG), []byte("<text ")) || f.Image != nil)
		}
	}
}
