package mold

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// JobFault is one thing wrong in a job file.
type JobFault struct {
	File         string
	Line, Column int // from 1
	Key          string
	What         string // what is wrong and what is wanted
}

// Error gives file, line, column, key and fault in one line.
func (f *JobFault) Error() string {
	key := ""
	if f.Key != "" {
		key = f.Key + " "
	}
	return fmt.Sprintf("%s:%d:%d: %s%s", f.File, f.Line, f.Column, key, f.What)
}

// JobFaults is every fault of a job file, in the order of their places.
type JobFaults []*JobFault

// Error gives one line a fault.
func (f JobFaults) Error() string {
	lines := make([]string, len(f))
	for i, one := range f {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// tomlText is a text in TOML and the faults found in it so far.
type tomlText struct {
	file   string
	data   []byte
	lines  []int // offset of each line's first byte
	faults JobFaults
}

// begin refuses what is no text, or none of the language; what says what the file
// should be, remedy what to name instead.
func (t *tomlText) begin(what, remedy string) error {
	if len(t.data) > MaxJobFile {
		return JobFaults{{t.file, 1, 1, "", fmt.Sprintf("is %d bytes, more than %s may have (%d): is it a mesh?", len(t.data), what, MaxJobFile)}}
	}
	if bytes.IndexByte(t.data, 0) >= 0 {
		return JobFaults{{t.file, 1, 1, "", "is not a text file: " + remedy}}
	}
	t.lines = append(t.lines, 0)
	for i, b := range t.data {
		if b == '\n' {
			t.lines = append(t.lines, i+1)
		}
	}
	// The decoder finds faults of the language (a key twice, a table begun anew); a
	// walk over the expressions finds those of the content.
	var any map[string]any
	if err := toml.Unmarshal(t.data, &any); err != nil {
		return t.language(err)
	}
	return nil
}

// language words a decoder's error.
func (t *tomlText) language(err error) error {
	var d *toml.DecodeError
	if errors.As(err, &d) {
		line, col := d.Position()
		return JobFaults{{t.file, max(line, 1), max(col, 1), strings.Join(d.Key(), "."), strings.TrimPrefix(d.Error(), "toml: ") + "; see toml.io for how to write it"}}
	}
	return JobFaults{{t.file, 1, 1, "", strings.TrimPrefix(err.Error(), "toml: ")}}
}

// line returns the line of an offset, from 1.
func (t *tomlText) line(off int) int { return sort.SearchInts(t.lines, off+1) }

func (t *tomlText) fault(off int, key, format string, args ...any) {
	line := t.line(off)
	t.faults = append(t.faults, &JobFault{t.file, line, off - t.lines[line-1] + 1, cutShort(key), cutShort(fmt.Sprintf(format, args...))})
}

// cutShort keeps a text of any length, as a file may hold, to what a screen shows.
func cutShort(text string) string {
	const most = 300
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "…"
}

// sorted returns the faults in the order of their places, nil if there are none.
func (t *tomlText) sorted() error {
	if len(t.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(t.faults, func(a, b *JobFault) int {
		if a.File != b.File {
			return strings.Compare(a.File, b.File)
		}
		return 10000*min(max(a.Line-b.Line, -1), 1) + min(max(a.Column-b.Column, -1), 1)
	})
	return t.faults[:min(len(t.faults), maxFaults)]
}

// keyPath returns the parts of an expression's key and where it begins.
func keyPath(e *unstable.Node) (path []string, off int) {
	for it := e.Key(); it.Next(); {
		if len(path) == 0 {
			off = int(it.Node().Raw.Offset)
		}
		path = append(path, string(it.Node().Data))
	}
	return path, off
}
