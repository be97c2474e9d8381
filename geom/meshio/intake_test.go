package meshio_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom/meshio"
)

var update = flag.Bool("update", false, "rewrite the small inputs in testdata/intake and their table")

// Where the small inputs are, and how large one may be, bytes: the larger ones of the
// tables in cases_*_test.go are made anew in every run.
const (
	intakeDir   = "testdata/intake"
	intakeTable = "TABLE.txt"
	intakeMost  = 100 << 10
	intakeLeast = 80 // lines
)

// intakeHead heads the table.
const intakeHead = `# Small inputs and what must come of each, one a line, columns parted by tabs, - for nothing.
# go test ./geom/meshio -run TestIntake reads it; with -update it is written anew from cases_*_test.go.
#
# file     in this folder; its ending plays no part in reading it
# outcome  loads or refuses
# units    what the reader is told that the file is in; mm where nothing is told
# facets   as read
# volume   mm3 after mending, right to 1e-6 of itself; - where the surface is open
# bodies   their names, joined by |
# notes    loads: kinds of all warnings, repairs and cautions; refuses: a part of the message
# input    what it is
#
`

// intakeLine is one line of the table.
type intakeLine struct {
	fileCase
	file   string
	facets int
}

func (l *intakeLine) String() string {
	outcome, facets, volume, notes := "loads", strconv.Itoa(l.facets), strconv.FormatFloat(l.volume, 'g', -1, 64), l.notes
	if l.refused != "" {
		outcome, facets, volume, notes = "refuses", "", "", l.refused
	} else if math.IsNaN(l.volume) {
		volume = ""
	}
	columns := []string{l.file, outcome, l.units, facets, volume, l.bodies, notes, l.name}
	for i, c := range columns {
		if c == "" {
			columns[i] = "-"
		}
	}
	return strings.Join(columns, "\t")
}

// parseIntake reads one line of the table.
func parseIntake(line string) (l intakeLine, err error) {
	columns := strings.Split(line, "\t")
	if len(columns) != 8 {
		return l, fmt.Errorf("%d columns in %q", len(columns), line)
	}
	for i, c := range columns {
		if c == "-" {
			columns[i] = ""
		}
	}
	l.file, l.units, l.bodies, l.name = columns[0], columns[2], columns[5], columns[7]
	switch columns[1] {
	case "refuses":
		l.refused = columns[6]
		if l.refused == "" {
			err = fmt.Errorf("no message in %q", line)
		}
		return l, err
	case "loads":
		l.notes, l.volume = columns[6], open
		if l.facets, err = strconv.Atoi(columns[3]); err == nil && columns[4] != "" {
			l.volume, err = strconv.ParseFloat(columns[4], 64)
		}
		return l, err
	}
	return l, fmt.Errorf("outcome %q in %q", columns[1], line)
}

// intake returns the lines of the table with the content of their files.
func intake(t testing.TB) []intakeLine {
	table, err := os.ReadFile(filepath.Join(intakeDir, intakeTable))
	require.NoError(t, err)
	var out []intakeLine
	for line := range strings.Lines(string(table)) {
		if line = strings.TrimSuffix(line, "\n"); strings.HasPrefix(line, "#") {
			continue
		}
		l, err := parseIntake(line)
		require.NoError(t, err)
		l.content, err = os.ReadFile(filepath.Join(intakeDir, l.file))
		require.NoError(t, err, "a line without a file")
		out = append(out, l)
	}
	return out
}

// Every file of the folder has its line and every line its file, and of each comes what
// the line says.
func TestIntake(t *testing.T) {
	if *update {
		writeIntake(t)
	}
	lines := intake(t)
	assert.GreaterOrEqual(t, len(lines), intakeLeast)
	listed := []string{intakeTable}
	for i := range lines {
		l := &lines[i]
		listed = append(listed, l.file)
		t.Run(l.file, func(t *testing.T) {
			l.run(t)
			if l.refused == "" {
				f, err := read(l.content, meshio.Options{Units: l.units})
				require.NoError(t, err)
				assert.Equal(t, l.facets, f.Facets())
			}
		})
	}
	var present []string
	entries, err := os.ReadDir(intakeDir)
	require.NoError(t, err)
	for _, e := range entries {
		present = append(present, e.Name())
	}
	slices.Sort(listed)
	assert.Equal(t, listed, present, "files of the table and of the folder")
}

// The stored files are those that the cases make: who changes one changes the other.
// What is compressed may be packed otherwise by another version of the packer.
func TestIntakeIsAsMade(t *testing.T) {
	lines, made := intake(t), madeIntake(t)
	require.Equal(t, len(made), len(lines), "write them anew with -update")
	for i, l := range lines {
		l.facets = made[i].facets
		assert.Equal(t, made[i].String(), l.String())
		packed := bytes.HasPrefix(l.content, []byte("PK")) || bytes.HasPrefix(l.content, []byte("\x1F\x8B"))
		if !packed && !bytes.Equal(made[i].content, l.content) {
			t.Errorf("%s differs from what the case makes: write it anew with -update", l.file)
		}
	}
}

// madeIntake returns the cases that are small enough to be stored, without the number
// of their facets.
func madeIntake(t testing.TB) []intakeLine {
	var out []intakeLine
	for _, k := range []struct {
		kind, ending string
		cases        []fileCase
	}{{"stl", "stl", stlCases(t)}, {"obj", "obj", objCases()}, {"3mf", "3mf", threeMFCases(t)}, {"foreign", "dat", foreignCases(t)}} {
		for _, c := range k.cases {
			if len(c.content) <= intakeMost {
				slug := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(c.name), "-"), "-")
				out = append(out, intakeLine{fileCase: c, file: k.kind + "-" + slug + "." + k.ending})
			}
		}
	}
	return out
}

func writeIntake(t *testing.T) {
	require.NoError(t, os.RemoveAll(intakeDir))
	require.NoError(t, os.MkdirAll(intakeDir, 0o755))
	table := intakeHead
	for _, l := range madeIntake(t) {
		if l.refused == "" {
			f, err := read(l.content, meshio.Options{Units: l.units})
			require.NoError(t, err, l.name)
			l.facets = f.Facets()
		}
		table += l.String() + "\n"
		require.NoError(t, os.WriteFile(filepath.Join(intakeDir, l.file), l.content, 0o644))
	}
	require.NoError(t, os.WriteFile(filepath.Join(intakeDir, intakeTable), []byte(table), 0o644))
}
