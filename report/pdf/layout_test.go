package pdf

import (
	"fmt"
	"image"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// tester is what testing.T and rapid.T have in common.
type tester interface {
	Errorf(format string, args ...any)
	FailNow()
	Helper()
}

// slack is what rounding to 1/100 point can move two edges apart, in mm.
const slack = 0.02 / point * 2

func contains(outer, inner Box) bool {
	return inner.X >= outer.X-slack && inner.Y >= outer.Y-slack &&
		inner.X+inner.W <= outer.X+outer.W+slack && inner.Y+inner.H <= outer.Y+outer.H+slack
}

func overlap(a, b Box) bool {
	return a.X+a.W > b.X+slack && b.X+b.W > a.X+slack && a.Y+a.H > b.Y+slack && b.Y+b.H > a.Y+slack
}

// requireSound asserts the invariants of a layout: every item lies inside the
// page or the item it belongs to, and neighbours do not overlap.
func requireSound(t tester, d *Doc) {
	t.Helper()
	w, h := d.PaperSize()
	items := d.Placed()
	groups := map[[2]int][]Item{}
	for i, it := range items {
		outer := Box{X: 10, Y: 8, W: w - 20, H: h - 16}
		if it.Inside >= 0 {
			require.Less(t, it.Inside, i)
			require.Equal(t, items[it.Inside].Page, it.Page, "%+v", it)
			outer = items[it.Inside].Box
		}
		require.True(t, contains(outer, it.Box), "%+v sticks out of %+v", it, outer)
		if it.Kind != "label" {
			groups[[2]int{it.Page, it.Inside}] = append(groups[[2]int{it.Page, it.Inside}], it)
		}
	}
	for _, g := range groups {
		for i, a := range g {
			for _, b := range g[:i] {
				require.False(t, overlap(a.Box, b.Box), "%+v overlaps %+v", a, b)
			}
		}
	}
}

// kinds counts the placed items of a kind.
func kinds(d *Doc, kind string) (n int) {
	for _, it := range d.Placed() {
		if it.Kind == kind {
			n++
		}
	}
	return n
}

func empty(t testing.TB) *Doc {
	t.Helper()
	d, err := New(Options{Title: "A title"})
	require.NoError(t, err)
	return d
}

func TestSoundCheckNoticesFaults(t *testing.T) {
	broken := func(spoil func(items []Item)) bool {
		d := empty(t)
		d.Para(Text("one"))
		d.Para(Text("two"))
		spoil(d.items)
		probe := &recorder{}
		func() {
			defer func() { _ = recover() }()
			requireSound(probe, d)
		}()
		return probe.failed
	}
	assert.False(t, broken(func([]Item) {}))
	assert.True(t, broken(func(it []Item) { it[2].Box.Y = it[0].Box.Y }), "overlap")
	assert.True(t, broken(func(it []Item) { it[1].Box.X -= 30 }), "out of its block")
	assert.True(t, broken(func(it []Item) { it[2].Box.Y = 840 }), "off the page")
}

// recorder stands in for a test that is expected to fail.
type recorder struct{ failed bool }

func (r *recorder) Errorf(string, ...any) { r.failed = true }
func (r *recorder) FailNow()              { panic("failed") }
func (r *recorder) Helper()               {}

func TestTables(t *testing.T) {
	columns := []Column{{Title: "No.", Align: Right}, {Title: "What"}, {Title: "Where, mm", Align: Center}}
	for _, n := range []int{0, 1, 200} {
		for _, paper := range []string{"a4", "letter"} {
			d, err := New(Options{Paper: paper, Title: "Tables"})
			require.NoError(t, err)
			d.Heading(1, "All of them")
			table := Table{Columns: columns, Zebra: n == 1}
			for i := range n {
				what := strings.Repeat("some words about it ", 1+i%9)
				if i%7 == 0 {
					what = strings.Repeat("a_very-long.name/without_blanks", 1+i%5)
				}
				table.Rows = append(table.Rows, Row{Cells: []Runs{Formatted("%d", i+1), Plain(what), {Code("1.00, 2.00, 3.00")}}, Anchor: fmt.Sprint("row", i), Link: "row0", Total: i == n-1})
			}
			d.Table(table)
			data, err := d.Bytes()
			require.NoError(t, err)
			requireSound(t, d)
			assert.Equal(t, max(n, 1), kinds(d, "row"), "an empty table says so in a row of its own")
			assert.Equal(t, d.Pages(), kinds(d, "table head"), "every page repeats the head")
			if n == 200 {
				assert.Greater(t, d.Pages(), 5)
				assert.NotEmpty(t, data)
			}
		}
	}
}

func TestRowHigherThanAPageIsParted(t *testing.T) {
	d := empty(t)
	d.Table(Table{Columns: []Column{{Title: "a", Width: 30}, {Title: "b"}}, Rows: []Row{R(strings.Repeat("word ", 2000), "x"), R("next", "y")}})
	_, err := d.Bytes()
	require.NoError(t, err)
	requireSound(t, d)
	assert.Greater(t, d.Pages(), 3)
}

func TestColumnWidths(t *testing.T) {
	d := empty(t)
	d.Table(Table{Columns: []Column{{Title: "a", Width: 30}, {Title: "b"}, {Title: "c"}}, Rows: []Row{R("1", "short", strings.Repeat("long text ", 30))}})
	var cells []Item
	for _, it := range d.Placed() {
		if it.Kind == "cell" {
			cells = append(cells, it)
		}
	}
	require.Len(t, cells, 6)
	assert.InDelta(t, 30, cells[3].Box.W, 0.01, "a given width is kept")
	assert.InDelta(t, 170, cells[3].Box.W+cells[4].Box.W+cells[5].Box.W, 0.02, "the rest fills the page")
	assert.Less(t, cells[4].Box.W, 20.0, "a short column stays narrow")
}

func TestHeadingStaysWithItsBlock(t *testing.T) {
	for lines := 30; lines < 62; lines++ {
		d := empty(t)
		d.Para(Text(strings.Repeat("x\n", lines)))
		d.Heading(1, "Section")
		d.Heading(2, "Part")
		d.Figure(Picture{Image: image.NewGray(image.Rect(0, 0, 40, 20)), Height: 30, Caption: Plain("caption")})
		_, err := d.Bytes()
		require.NoError(t, err)
		requireSound(t, d)
		page := map[string]int{}
		for _, it := range d.Placed() {
			page[it.Kind] = it.Page
		}
		assert.Equal(t, page["heading"], page["picture"], "%d lines", lines)
		assert.Equal(t, page["caption"], page["picture"])
	}
}

func TestRoomIsEnough(t *testing.T) {
	d := empty(t)
	d.Para(Text(strings.Repeat("x\n", 20)))
	d.Heading(1, "Section")
	d.Heading(2, "Part")
	room := d.Room()
	d.Figure(Picture{Image: image.NewGray(image.Rect(0, 0, 10, 10)), Height: room - 3}) // 3: a figure's own white above
	assert.Equal(t, 1, d.Pages())
	assert.InDelta(t, 297-25-22, empty(t).Room(), 0.01, "a whole page")
}

func TestParagraphLeavesNoLoneLine(t *testing.T) {
	for n := 40; n < 62; n++ {
		d := empty(t)
		d.Para(Text(strings.Repeat("x\n", n)))
		d.Para(Text("a\nb\nc\nd\ne"))
		_, err := d.Bytes()
		require.NoError(t, err)
		requireSound(t, d)
		perPage := map[int]int{}
		last := -1
		for i, it := range d.Placed() {
			if it.Kind == "paragraph" {
				last = i
			}
		}
		second := d.Placed()[last]
		perPage[second.Page] = int(math.Round(second.Box.H * point / leading(bodySize)))
		assert.GreaterOrEqual(t, perPage[second.Page], 2, "%d lines before", n)
	}
}

func TestLongWordsBreakAtTheirJoints(t *testing.T) {
	d := empty(t)
	lines := d.wrap(Plain("upper_half-revision.0012-final_really_final.stl"), 10, 120)
	require.Greater(t, len(lines), 1)
	whole := ""
	for i, l := range lines {
		assert.LessOrEqual(t, l.w, 120.0)
		for _, p := range l.pieces {
			whole += p.text
		}
		if i < len(lines)-1 {
			assert.Contains(t, "_-.", whole[len(whole)-1:])
		}
	}
	assert.Equal(t, "upper_half-revision.0012-final_really_final.stl", whole)
}

// TestAnyDocument sets documents of random blocks with random text and asserts
// that each is a sound layout and a finished file.
func TestAnyDocument(t *testing.T) {
	words := rapid.StringOfN(rapid.RuneFrom([]rune("aWi0 .-_/\n é°³中𝄞\u0308✓⚠\x00()\\")), 0, 120, -1)
	rapid.Check(t, func(t *rapid.T) {
		d, err := New(Options{Paper: rapid.SampledFrom([]string{"a4", "letter"}).Draw(t, "paper"), Title: words.Draw(t, "title"), Footer: words.Draw(t, "footer")})
		require.NoError(t, err)
		for range rapid.IntRange(1, 12).Draw(t, "blocks") {
			drawBlock(t, d, words)
		}
		data, err := d.Bytes()
		require.NoError(t, err)
		require.NotEmpty(t, data)
		requireSound(t, d)
	})
}

// drawBlock adds one random block.
func drawBlock(t *rapid.T, d *Doc, words *rapid.Generator[string]) {
	runs := func() Runs {
		return Runs{Text(words.Draw(t, "text")), Strong(words.Draw(t, "strong")), Tag(Mark(rapid.IntRange(0, 6).Draw(t, "mark")), words.Draw(t, "tag"), ink), Code(words.Draw(t, "code"))}
	}
	pic := Picture{Image: image.NewGray(image.Rect(0, 0, rapid.IntRange(100, 900).Draw(t, "w"), rapid.IntRange(100, 900).Draw(t, "h"))), Caption: runs(),
		Over: Overlay{Circles: []Circle{{X: rapid.Float64Range(-50, 950).Draw(t, "x"), Y: 3, Text: words.Draw(t, "n")}}, Labels: []Label{{X: 10, Y: rapid.Float64Range(-50, 950).Draw(t, "y"), Text: words.Draw(t, "label")}}}}
	chart := Chart{X: Axis{Label: words.Draw(t, "axis")}, Y: Axis{Label: words.Draw(t, "axis")}, Caption: runs(),
		Bars:   Series{Name: words.Draw(t, "bars"), X: []float64{1, 2}, Y: rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 2, 2).Draw(t, "bar")},
		Limits: []Limit{{At: rapid.Float64Range(-10, 10).Draw(t, "limit"), Label: words.Draw(t, "limit"), Vertical: rapid.Bool().Draw(t, "vertical")}}}
	disc := Disc{Rings: []float64{10, 20}, Sectors: 3, Values: rapid.SliceOfN(rapid.Float64Range(-1e5, 1e5), 6, 6).Draw(t, "values"), Label: words.Draw(t, "bar"),
		Size: 30, Marks: []DiscMark{{Angle: 20, Azimuth: rapid.Float64Range(0, 360).Draw(t, "azimuth"), Text: "best"}}}
	switch rapid.IntRange(0, 10).Draw(t, "kind") {
	case 0:
		d.Heading(rapid.IntRange(1, 3).Draw(t, "level"), words.Draw(t, "heading"))
	case 1:
		d.Para(append(runs(), Text(strings.Repeat("more words ", rapid.IntRange(0, 900).Draw(t, "more"))))...)
	case 2:
		d.Bullets(runs(), runs())
	case 3:
		d.Pairs(rapid.IntRange(1, 3).Draw(t, "columns"), Pair{words.Draw(t, "key"), runs()}, Pair{words.Draw(t, "key"), runs()})
	case 4:
		table := Table{Columns: []Column{{Title: words.Draw(t, "column")}, {Title: "b", Width: 20}, {}}, Empty: words.Draw(t, "empty")}
		for range rapid.IntRange(0, 30).Draw(t, "rows") {
			table.Rows = append(table.Rows, Row{Cells: []Runs{runs(), Plain("b")}})
		}
		d.Table(table)
	case 5:
		d.Figure(pic)
	case 6:
		d.Figure(pic, chart)
	case 7:
		d.Figure(disc, pic)
	case 8:
		d.Banner(Half, red, words.Draw(t, "title"), runs()...)
	case 9:
		d.Numbers(Number{words.Draw(t, "value"), words.Draw(t, "unit"), words.Draw(t, "label")}, Number{"1", "mm", "x"})
	case 10:
		d.Fields(Field{Label: words.Draw(t, "label"), Options: []string{words.Draw(t, "option"), "b"}}, Field{Label: "x", Weight: 3})
	}
}
