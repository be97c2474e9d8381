package main

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// screen is standard output or error for people. File names may hold anything, and
// what a terminal takes for an order to itself is shown instead: \x1b for an escape.
// Our own orders, to clear the line of progress and to colour, go through where the
// program writes to a terminal.
type screen struct {
	out      io.Writer
	terminal bool
}

// ownOrder is what the program itself may send: see progress and report.Summary.
var ownOrder = regexp.MustCompile(`^(\r\x1b\[K|\x1b\[(0|1;3[123])m)`)

// Write writes what is safe as it is.
func (s *screen) Write(b []byte) (int, error) {
	if !bytes.ContainsFunc(b, isOrder) {
		return s.out.Write(b)
	}
	var safe strings.Builder
	for rest := b; len(rest) > 0; {
		if own := ownOrder.Find(rest); own != nil && s.terminal {
			safe.Write(own)
			rest = rest[len(own):]
			continue
		}
		r, n := utf8.DecodeRune(rest)
		switch {
		case !isOrder(r):
			safe.Write(rest[:n])
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&safe, `\x%02x`, rest[0])
		case r < 0x100:
			fmt.Fprintf(&safe, `\x%02x`, r)
		default:
			fmt.Fprintf(&safe, `\u%04x`, r)
		}
		rest = rest[n:]
	}
	if _, err := io.WriteString(s.out, safe.String()); err != nil {
		return 0, err
	}
	return len(b), nil
}

// isOrder reports whether a terminal may take a character for an order: controls but
// the ends of lines, those that turn the direction of writing, and bytes that are no
// character.
func isOrder(r rune) bool {
	switch {
	case r == '\n' || r == '\t':
		return false
	case unicode.IsControl(r), r == utf8.RuneError:
		return true
	}
	return unicode.Is(unicode.Bidi_Control, r)
}

// writeData writes for programs, byte for byte.
func (w *world) writeData(data []byte) error {
	out := w.stdout
	if s, ok := out.(*screen); ok {
		out = s.out
	}
	_, err := out.Write(data)
	return err
}
