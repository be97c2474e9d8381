package pdf

import (
	"encoding/binary"
	"errors"
	"math"
	"sync"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
)

// Style picks one of the three embedded fonts.
type Style uint8

// The three fonts of a report.
const (
	Regular Style = iota
	Bold
	Mono // for coordinates, file names and hashes
)

// font is one embedded font and, once asked for, its advance widths.
type font struct {
	family  string
	ttf     []byte
	metrics func() *metrics
}

var fonts = [3]font{
	newFont("regular", goregular.TTF),
	newFont("bold", gobold.TTF),
	newFont("mono", gomono.TTF),
}

func newFont(family string, ttf []byte) font {
	return font{family: family, ttf: ttf, metrics: sync.OnceValue(func() *metrics {
		m, err := parseMetrics(ttf)
		if err != nil {
			panic(err) // an embedded font, checked by a test
		}
		return m
	})}
}

// metrics holds advance widths in 1/1000 em by rune of the first plane; -1
// where the font has no glyph.
type metrics struct{ advance [1 << 16]int16 }

var errFont = errors.New("font: tables cut short or of an unknown kind")

// parseMetrics reads which runes a TrueType font has and how wide they are
// (OpenType specification, tables cmap format 4, head, hhea, hmtx). Widths are
// rounded as the PDF library rounds them, so that lines end where viewers end them.
func parseMetrics(ttf []byte) (m *metrics, err error) {
	defer func() {
		if recover() != nil { // an index beyond the data
			m, err = nil, errFont
		}
	}()
	u16 := func(b []byte, at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
	u32 := func(b []byte, at int) int { return int(binary.BigEndian.Uint32(b[at:])) }
	table := map[string][]byte{}
	for i := range u16(ttf, 4) {
		r := ttf[12+16*i:]
		table[string(r[:4])] = ttf[u32(r, 8) : u32(r, 8)+u32(r, 12)]
	}
	scale := 1000 / float64(u16(table["head"], 18))
	long := u16(table["hhea"], 34) // glyphs with a width of their own; later ones share the last
	cmap := table["cmap"]
	var sub []byte
	for i := range u16(cmap, 2) {
		if at := u32(cmap, 8+8*i); u16(cmap, 4+8*i) == 3 && u16(cmap, at) == 4 {
			sub = cmap[at:]
		}
	}
	m = &metrics{}
	for i := range m.advance {
		m.advance[i] = -1
	}
	segs := u16(sub, 6) / 2
	for s := range segs {
		end, start := u16(sub, 14+2*s), u16(sub, 16+2*segs+2*s)
		delta, shift := u16(sub, 16+4*segs+2*s), u16(sub, 16+6*segs+2*s)
		for r := start; r <= end && r < 0xffff; r++ {
			glyph := r
			if shift != 0 {
				if glyph = u16(sub, 16+6*segs+2*s+shift+2*(r-start)); glyph == 0 {
					continue
				}
			}
			if glyph = (glyph + delta) & 0xffff; glyph != 0 {
				m.advance[r] = int16(math.Round(scale * float64(u16(table["hmtx"], 4*min(glyph, long-1)))))
			}
		}
	}
	return m, nil
}

// has tells whether the font has a glyph for r.
func (s Style) has(r rune) bool {
	return r >= 0 && r < 1<<16 && fonts[s].metrics().advance[r] >= 0
}

// advance returns the width of r in 1/1000 em, also of signs drawn by us.
func (s Style) advance(r rune) int {
	if s.has(r) {
		return int(fonts[s].metrics().advance[r])
	}
	if g, ok := signs[r]; ok {
		return g.advance
	}
	return 0
}

// measure returns the width of s in points. The sum is taken in whole
// thousandths, so it does not depend on the order of the parts.
func measure(s string, style Style, size float64) float64 {
	sum := 0
	for _, r := range s {
		sum += style.advance(r)
	}
	return float64(sum) * size / 1000
}
