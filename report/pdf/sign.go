package pdf

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// sign is a character that the fonts lack and we draw: strokes in 1/1000 em
// above the baseline, and an optional circle.
type sign struct {
	advance int
	strokes [][]xy
	ring    struct{ x, y, r float64 }
}

// signs are the characters drawn as strokes. In the file an invisible
// character lies over each, so that it can be searched and copied.
var signs = map[rune]sign{
	'✓': {advance: 800, strokes: [][]xy{{{90, 330}, {310, 90}, {710, 640}}}},
	'⚠': {advance: 900, strokes: [][]xy{{{60, 30}, {450, 700}, {840, 30}, {60, 30}}, {{450, 450}, {450, 240}}, {{450, 150}, {450, 120}}}},
	'⌀': {advance: 800, strokes: [][]xy{{{110, 40}, {690, 620}}}, ring: struct{ x, y, r float64 }{400, 330, 270}},
	'∠': {advance: 800, strokes: [][]xy{{{660, 600}, {100, 30}, {720, 30}}}},
	'⊥': {advance: 800, strokes: [][]xy{{{100, 30}, {700, 30}}, {{400, 30}, {400, 620}}}},
}

// alike maps characters without a glyph to one that means the same.
var alike = map[rune]string{
	'\u2010': "-", '\u2011': "-", '\u2009': "\u00a0", '\u202f': "\u00a0", '\u2007': "\u00a0",
	'\u200b': "", '\ufeff': "", '\u00ad': "", '\u200e': "", '\u200f': "", '∅': "Ø", '\u2215': "/", '\u2044': "/",
}

// composed lists base letter, combining mark and the one letter they make.
// Some systems store file names taken apart; the fonts have only the whole letters.
var composed = func() map[[2]rune]rune {
	const rows = "\u0300AÀEÈIÌOÒUÙaàeèiìoòuùNǸnǹ" + "\n\u0301AÁEÉIÍOÓUÚYÝaáeéiíoóuúyýCĆcćLĹlĺNŃnńRŔrŕSŚsśZŹzź" +
		"\n\u0302AÂEÊIÎOÔUÛaâeêiîoôuûCĈcĉGĜgĝHĤhĥJĴjĵSŜsŝWŴwŵYŶyŷ" + "\n\u0303AÃNÑOÕaãnñoõIĨiĩUŨuũ" +
		"\n\u0304AĀaāEĒeēIĪiīOŌoōUŪuū" + "\n\u0306AĂaăGĞgğEĔeĕIĬiĭOŎoŏUŬuŭ" + "\n\u0307CĊcċEĖeėGĠgġIİZŻzż" +
		"\n\u0308AÄEËIÏOÖUÜaäeëiïoöuüyÿYŸ" + "\n\u030aAÅaåUŮuů" + "\n\u030bOŐoőUŰuű" +
		"\n\u030cCČcčDĎdďEĚeěNŇnňRŘrřSŠsšTŤtťZŽzžLĽlľ" + "\n\u0327CÇcçSŞsşTŢtţGĢKĶkķLĻlļNŅnņRŖrŗ" + "\n\u0328AĄaąEĘeęIĮiįUŲuų"
	out := map[[2]rune]rune{}
	for row := range strings.SplitSeq(rows, "\n") {
		r := []rune(row)
		for i := 1; i+1 < len(r); i += 2 {
			out[[2]rune{r[i], r[0]}] = r[i+1]
		}
	}
	return out
}()

// compose joins letters with the marks that follow them.
func compose(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return unicode.Is(unicode.Mn, r) }) {
		return s
	}
	var out []rune
	for _, r := range s {
		if n := len(out); n > 0 {
			if whole, ok := composed[[2]rune{out[n-1], r}]; ok {
				out[n-1] = whole
				continue
			}
		}
		out = append(out, r)
	}
	return string(out)
}

// shown tells whether every font shows r, by its glyph or by our strokes.
func shown(r rune) bool {
	if _, ours := signs[r]; ours {
		return true
	}
	return Regular.has(r) && Bold.has(r) && Mono.has(r)
}

// clean makes a string safe for the file: valid UTF-8 of the first plane, no
// control characters but line ends, and only signs the fonts show. What they
// lack turns into '?' and is remembered for Missing.
func (d *Doc) clean(s string) string {
	return printable(s, func(r rune, _ string) string {
		d.lacking[r] = true
		return "?"
	})
}

// oneLine is clean for text that is not broken into lines.
func (d *Doc) oneLine(s string) string { return strings.ReplaceAll(d.clean(s), "\n", " ") }

// printable maps s to characters the fonts have; instead gets each character
// they lack with the bytes it came from (utf8.RuneError for invalid bytes).
func printable(s string, instead func(r rune, raw string) string) string {
	if strings.ContainsRune(s, '\r') {
		s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	}
	s = compose(s)
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		raw := s[i : i+n]
		i += n
		switch like, known := alike[r]; {
		case r == '\n':
			b.WriteByte('\n')
		case r == '\t':
			b.WriteByte(' ')
		case r == utf8.RuneError && n == 1, unicode.IsControl(r):
			b.WriteString(instead(r, raw))
		case shown(r):
			b.WriteString(raw)
		case known:
			b.WriteString(like)
		default:
			b.WriteString(instead(r, raw))
		}
	}
	return b.String()
}

// Name returns a file or part name as the report can print it: a letter that
// the fonts lack is shown as <U+4E2D>, a byte that is no UTF-8 as <0xE4>, so that
// two different names stay different. When that changed anything, the name
// itself is kept in the document's keywords, where every letter is possible.
func (d *Doc) Name(s string) string {
	out := printable(s, func(r rune, raw string) string {
		if r == utf8.RuneError && len(raw) == 1 {
			return fmt.Sprintf("<0x%02X>", raw[0])
		}
		return fmt.Sprintf("<U+%04X>", r)
	})
	out = strings.ReplaceAll(out, "\n", "<U+000A>")
	if out != compose(s) && !slices.Contains(d.names, s) {
		d.names = append(d.names, s)
	}
	return out
}

// Missing returns, sorted, the characters that were asked for and that no
// font has; each stands as '?' in the document. Bytes that were no UTF-8 count
// as U+FFFD.
func (d *Doc) Missing() []rune {
	out := make([]rune, 0, len(d.lacking))
	for r := range d.lacking {
		out = append(out, r)
	}
	slices.Sort(out)
	return out
}

// utf16BE encodes a document property with its byte order mark; every
// character is possible. The library's own encoder knows the first plane only
// and reads beyond the end of a string that is cut off.
func utf16BE(s string) string {
	if s == "" {
		return ""
	}
	out := []byte{0xfe, 0xff}
	for _, u := range utf16.Encode([]rune(s)) {
		out = append(out, byte(u>>8), byte(u))
	}
	return string(out)
}

// firstPlane makes a bookmark title safe for the library, which encodes it
// itself; viewers show it in fonts of their own, so letters our fonts lack may stay.
func firstPlane(s string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xffff || unicode.IsControl(r) {
			return '\ufffd'
		}
		return r
	}, compose(strings.ToValidUTF8(s, "\ufffd")))
}
