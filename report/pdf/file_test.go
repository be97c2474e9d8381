package pdf

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// run starts an outside reader of PDF files and returns what it printed; it
// must print nothing to stderr. Without the program the test is skipped, with
// its name; in CI, where both packages are installed, that is a failure.
func run(t *testing.T, program string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is not installed: install qpdf and poppler-utils", program)
		}
		t.Skipf("%s is not installed: install qpdf and poppler-utils to run this test", program)
	}
	var out, complaints bytes.Buffer
	cmd := exec.Command(program, args...)
	cmd.Stdout, cmd.Stderr = &out, &complaints
	require.NoError(t, cmd.Run(), "%s: %s", program, complaints.String())
	require.Empty(t, complaints.String(), program)
	return out.String()
}

// finished writes a document and returns its path.
func finished(t *testing.T, d *Doc) string {
	t.Helper()
	data, err := d.Bytes()
	require.NoError(t, err)
	return save(t, data)
}

func TestOutsideReadersAccept(t *testing.T) {
	for _, paper := range []string{"a4", "letter"} {
		path := finished(t, sample(t, paper))
		assert.Contains(t, run(t, "qpdf", "--check", path), "No syntax or stream encoding errors found")
		run(t, "pdftoppm", "-r", "40", "-png", path, filepath.Join(t.TempDir(), "page"))
		info := run(t, "pdfinfo", path)
		assert.Contains(t, info, "PDF version:     1.7")
		assert.Contains(t, info, "CreationDate:    Fri Mar 14 00:00:00 2025")
		assert.Contains(t, info, "Author:          A. Weiß")
		assert.Regexp(t, `Pages: +3\n`, info)
		for _, l := range strings.Split(strings.TrimSpace(run(t, "pdffonts", path)), "\n")[2:] {
			assert.Regexp(t, `utf8(regular|bold|mono) +CID TrueType +Identity-H +yes +no +yes`, l, "embedded, with the way back to text")
		}
	}
}

func TestEmptyDocument(t *testing.T) {
	path := finished(t, empty(t))
	assert.Contains(t, run(t, "qpdf", "--check", path), "No syntax")
	assert.Contains(t, run(t, "pdftotext", path, "-"), "page 1 of 1")
	assert.Contains(t, run(t, "pdfinfo", path), "2000", "no clock: a fixed date")
}

const signsInReports = "° ± µ ³ ² × ≤ ≥ Ø θ ½ € – — · … é à ü ß ñ č ř ž ł ő Å → ≈ √ Δ π ∞ ₀ Кириллица Ελληνικά ✓ ⚠ ⌀ ∠ ⊥ ( ) \\"

func TestTextComesOutAsItWentIn(t *testing.T) {
	d := empty(t)
	d.Para(Text(signsInReports))
	d.Para(Strong(signsInReports))
	d.Para(Code(signsInReports))
	d.Table(Table{Columns: []Column{{Title: "Größe, mm³"}, {Title: "x"}}, Rows: []Row{R("640 mm³ (8 %)", "≤ 10")}})
	require.Empty(t, d.Missing())
	text := strings.Join(strings.Fields(run(t, "pdftotext", finished(t, d), "-")), " ")
	assert.Equal(t, 3, strings.Count(text, signsInReports), text)
	assert.Contains(t, text, "Größe, mm³")
	assert.Contains(t, text, "640 mm³ (8 %)")
}

func TestNames(t *testing.T) {
	const far = "上模 𝄞.stl"
	d := empty(t)
	for in, want := range map[string]string{
		"Gehäuse Ø8 – ½ µm €.stl": "Gehäuse Ø8 – ½ µm €.stl",
		`half (a) \ b).stl`:       `half (a) \ b).stl`,
		"Geha\u0308use.stl":       "Gehäuse.stl", // taken apart, as some systems store it
		far:                       "<U+4E0A><U+6A21> <U+1D11E>.stl",
		"bad\xff\x00\nname":       "bad<0xFF><U+0000><U+000A>name",
	} {
		got := d.Name(in)
		assert.Equal(t, want, got)
		d.Para(Text(got))
	}
	d.Heading(1, far)
	d.Para(Text("end"))
	assert.Equal(t, []rune("上模𝄞"), d.Missing(), "the heading was set without escapes")
	path := finished(t, d)
	text := strings.Join(strings.Fields(run(t, "pdftotext", path, "-")), " ")
	for _, want := range []string{"Gehäuse Ø8 – ½ µm €.stl", `half (a) \ b).stl`, "Gehäuse.stl", "<U+4E0A><U+6A21> <U+1D11E>.stl", "?? ?.stl"} {
		assert.Contains(t, text, want)
	}
	assert.Contains(t, run(t, "pdfinfo", path), far, "the name itself is in the keywords")
}

func TestBrokenStringsEverywhere(t *testing.T) {
	const bad = "a\xc3\x00\x1b𝄞\uffff\ufffe\xf0\x9f"
	d, err := New(Options{Title: bad, Author: bad, Subject: bad, Revision: bad, Date: bad, Footer: bad})
	require.NoError(t, err)
	d.Title()
	d.Heading(1, bad)
	d.Para(Text(bad), To(bad, bad))
	d.Anchor(bad)
	d.Numbers(Number{bad, bad, bad})
	d.Fields(Field{Label: bad, Options: []string{bad}})
	d.Name(bad)
	path := finished(t, d)
	assert.Contains(t, run(t, "qpdf", "--check", path), "No syntax")
	run(t, "pdftoppm", "-r", "20", path, filepath.Join(t.TempDir(), "page"))
	assert.Contains(t, d.Missing(), '𝄞')
	assert.Contains(t, d.Missing(), '\ufffd')
}

func TestAttachments(t *testing.T) {
	d := sample(t, "a4")
	files := map[string][]byte{"report.json": []byte(`{"schema":"pourproof/1"}`), "größe 上.csv": []byte("a,b\n"), "empty.bin": {}, "big.bin": bytes.Repeat([]byte{1, 2, 3, 0xff}, 1<<16)}
	for name, data := range files {
		if name != "report.json" { // the sample has it
			d.Attach(name, "application/octet-stream", data)
		}
	}
	path := finished(t, d)
	dir := t.TempDir()
	run(t, "pdfdetach", "-saveall", "-o", dir, path)
	got, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, got, len(files))
	for name, want := range files {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, data), name)
	}
	assert.Contains(t, run(t, "qpdf", "--check", path), "No syntax")
}

// destinations returns page (from 1) and height on it of everything in the
// file that leads to a page, matched by what precedes it.
func destinations(t *testing.T, data []byte, before string) (pages []int, heights []float64) {
	t.Helper()
	kids := regexp.MustCompile(`/Kids \[([0-9 R]+)\]`).FindSubmatch(data)
	require.NotNil(t, kids)
	number := map[string]int{}
	for i, m := range regexp.MustCompile(`(\d+) 0 R`).FindAllSubmatch(kids[1], -1) {
		number[string(m[1])] = i + 1
	}
	for _, m := range regexp.MustCompile(before+`/Dest \[(\d+) 0 R /XYZ 0 ([\d.]+) null\]`).FindAllSubmatch(data, -1) {
		require.Contains(t, number, string(m[1]), "leads to a page")
		pages = append(pages, number[string(m[1])])
		h, err := strconv.ParseFloat(string(m[2]), 64)
		require.NoError(t, err)
		heights = append(heights, h)
	}
	return pages, heights
}

func TestBookmarksAndLinksLeadToTheirPlaces(t *testing.T) {
	d := sample(t, "a4") // with an attachment and pictures, which must not shift anything
	d.PageBreak()
	d.Heading(1, "Last")
	d.Para(Ref("back to ", "actions"))
	data, err := d.Bytes()
	require.NoError(t, err)
	var headings []Item
	for _, it := range d.Placed() {
		if it.Kind == "heading" {
			headings = append(headings, it)
		}
	}
	pages, heights := destinations(t, data, `/Parent \d+ 0 R\n(?:/(?:Prev|Next|First|Last) \d+ 0 R\n)*`)
	require.Len(t, pages, len(headings)-1, "one for each heading but the title")
	_, pageH := d.PaperSize()
	for i, h := range headings[1:] {
		assert.Equal(t, h.Page, pages[i], "bookmark %d", i)
		assert.InDelta(t, (pageH-h.Box.Y)*point, heights[i], 0.02)
	}
	// Links of the sample: two on page 1 to the actions (page 1), the callout to
	// finding 1, five rows and five numbers to the air (page 2), one back.
	pages, _ = destinations(t, data, `/Border \[0 0 0\] `)
	count := map[int]int{}
	for _, p := range pages {
		count[p]++
	}
	assert.Equal(t, map[int]int{1: 2 + 1 + 1, 2: 10}, count)
	text := run(t, "pdftotext", "-f", "4", save(t, data), "-")
	assert.Contains(t, text, "back to 1\n")
}

func TestOutlineAsAReaderSeesIt(t *testing.T) {
	d := empty(t)
	for i := range 3 {
		d.PageBreak()
		d.Heading(1, fmt.Sprint("Ä section ", i))
		d.Heading(3, "too deep for its parent")
		d.Para(Text("x"))
		d.Heading(2, "part")
		d.Para(Text("x"))
	}
	d.Attach("a.txt", "text/plain", []byte("a"))
	json := run(t, "qpdf", "--json", "--json-key=outlines", finished(t, d))
	for i, m := range regexp.MustCompile(`"destpageposfrom1": (\d+)`).FindAllStringSubmatch(json, -1) {
		assert.Equal(t, strconv.Itoa(i/3+1), m[1], "bookmark %d", i)
	}
	assert.Equal(t, 9, strings.Count(json, `"destpageposfrom1"`))
	assert.Equal(t, 3, strings.Count(json, `Ä section`))
}

func TestPageCountIsFlushRight(t *testing.T) {
	d := empty(t)
	for range 11 {
		d.Para(Text("x"))
		d.PageBreak()
	}
	d.Para(Text("last"))
	text := run(t, "pdftotext", finished(t, d), "-")
	for p := range 12 {
		assert.Contains(t, text, fmt.Sprintf("page %d of 12", p+1))
	}
	w, _ := d.PaperSize()
	counts := 0
	for _, it := range d.Placed() {
		if it.Kind == "running" && it.Box.Y > 250 {
			assert.InDelta(t, w-20, it.Box.X+it.Box.W, 0.01)
			counts++
		}
	}
	assert.Equal(t, 12, counts)
}

func TestUpdateRefusesAForeignFile(t *testing.T) {
	d := empty(t)
	for _, base := range []string{"", "trailer", "trailer\n<<\n/Size 9\n/Root 1 0 R\n/Info 2 0 R\n>>\nstartxref\n999999\n%%EOF", "xref\n0 3\ntrailer\n<<\n/Size 3\n/Root 1 0 R\n/Info 2 0 R\n>>\nstartxref\n0\n%%EOF"} {
		_, err := d.extend([]byte(base))
		require.ErrorIs(t, err, errLibrary, "%q", base)
	}
}

// TestMetricsAgreeWithTheLibrary: our lines must end where the library's do.
func TestMetricsAgreeWithTheLibrary(t *testing.T) {
	d := empty(t)
	for s := Regular; s <= Mono; s++ {
		d.lib.SetFont(fonts[s].family, "", 10)
		n := 0
		for r := rune(0x20); r < 0xffff; r++ {
			if s.has(r) && s.advance(r) > 0 {
				require.Equal(t, d.lib.GetStringSymbolWidth(string(r)), s.advance(r), "%q", r)
				n++
			}
		}
		assert.Greater(t, n, 500)
	}
	_, err := parseMetrics([]byte("no font"))
	require.ErrorIs(t, err, errFont)
}
