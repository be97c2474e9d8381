package meshio

import (
	"bytes"
	"strconv"
)

// maxLine bounds one line of a text file. A polygon of an OBJ may be long; a
// megabyte holds one of fifty thousand corners.
const maxLine = 1 << 20

// lines hands out a text file line by line without holding it.
type lines struct {
	in     *input
	rest   []byte // of the current piece
	carry  []byte // a line that began in an earlier piece
	end    byte   // '\n', or '\r' in a file that has no '\n'
	number int    // of the line last returned, from 1
	eof    bool
	ended  bool // the line last returned had an end
}

// newLines skips a byte order mark and finds out how lines end.
func newLines(in *input) (*lines, error) {
	piece, err := in.next(pieceLength)
	if err != nil {
		return nil, err
	}
	l := &lines{in: in, rest: bytes.TrimPrefix(piece, []byte(byteOrderMark)), end: '\n'}
	if bytes.IndexByte(piece, '\n') < 0 && bytes.IndexByte(piece, '\r') >= 0 {
		l.end = '\r'
	}
	return l, nil
}

// next returns the next line without its end; ok is false after the last one.
// The line stays valid until next is called again.
func (l *lines) next() (line []byte, ok bool, err error) {
	l.carry = l.carry[:0]
	l.number++
	for {
		if i := bytes.IndexByte(l.rest, l.end); i >= 0 {
			line, l.rest, l.ended = l.rest[:i], l.rest[i+1:], true
			break
		}
		if l.eof {
			line, l.rest = l.rest, nil
			if len(line) == 0 && len(l.carry) == 0 {
				l.number--
				return nil, false, nil
			}
			l.ended = false
			break
		}
		l.carry = append(l.carry, l.rest...)
		if len(l.carry) > maxLine {
			return nil, false, l.fault("the line is longer than a megabyte", remedyExport)
		}
		if l.rest, err = l.in.next(pieceLength); err != nil {
			return nil, false, err
		}
		l.eof = len(l.rest) == 0
	}
	if len(l.carry) > 0 {
		l.carry = append(l.carry, line...)
		line = l.carry
	}
	if len(line) > maxLine {
		return nil, false, l.fault("the line is longer than a megabyte", remedyExport)
	}
	return line, true, nil
}

// fault makes a ReadError at the line last returned.
func (l *lines) fault(what, remedy string) error {
	return &ReadError{File: l.in.name, Line: max(l.number, 1), Byte: -1, What: what, Remedy: remedy}
}

// word cuts the first blank-separated word off a line.
func word(line []byte) (first, rest []byte) {
	i := 0
	for i < len(line) && isBlank(line[i]) {
		i++
	}
	j := i
	for j < len(line) && !isBlank(line[j]) {
		j++
	}
	return line[i:j], line[j:]
}

// isBlank takes every control character for a blank: tabs, and the 0x1A that some
// systems write at the end of a text.
func isBlank(c byte) bool { return c <= ' ' }

// quote shows a word of the file in a message, cut to a readable length.
func quote(word []byte) string {
	const most = 80
	if len(word) > most {
		return strconv.Quote(string(word[:most])) + "..."
	}
	return strconv.Quote(string(word))
}
