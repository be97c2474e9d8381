package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"unicode/utf8"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/geom/meshio"
)

// ventColumns heads vents.csv. Coordinates and lengths are mm, frees and gain mm3: less
// air with this vent alone, and once the vents above it are there.
var ventColumns = []string{"id", "pocket", "mouth_x", "mouth_y", "mouth_z", "exit_x", "exit_y", "exit_z",
	"direction_x", "direction_y", "direction_z", "diameter", "length", "half", "frees", "gain", "show"}

// suggestedVents returns the suggested vents of a run, in order of gain.
func suggestedVents(d *Document) []mold.SuggestedVent {
	if d.Outcome.Fill == nil {
		return nil
	}
	return d.Outcome.Fill.Vents
}

// numbers lists the pockets that a vent frees: 1 3.
func numbers(ids []int, sep string) string {
	var out []string
	for _, id := range ids {
		out = append(out, strconv.Itoa(id))
	}
	return strings.Join(out, sep)
}

// VentsCSV returns the suggested vents as a table with a head line (RFC 4180,
// decimal points, line ends \r\n). Words that a spreadsheet would take for a formula
// begin with an apostrophe.
func VentsCSV(d *Document) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	w.Write(ventColumns) // a bytes.Buffer takes everything
	for _, v := range suggestedVents(d) {
		row := []string{strconv.Itoa(v.ID), numbers(v.Pockets, " ")}
		for _, x := range [9]float64{v.Mouth.X, v.Mouth.Y, v.Mouth.Z, v.Exit.X, v.Exit.Y, v.Exit.Z, v.Direction.X, v.Direction.Y, v.Direction.Z} {
			row = append(row, decimal(x))
		}
		w.Write(append(row, decimal(v.Diameter), decimal(v.Length), plainCell(v.Half), decimal(v.Frees), decimal(v.Gain), plainCell(v.Show)))
	}
	w.Flush()
	return b.Bytes()
}

// plainCell keeps a spreadsheet from running a word as a formula: a half's name may come
// from a file that somebody else made. A word that begins with = + - @, a tab or a
// carriage return, also behind blanks or as the wide forms of these signs, gets an
// apostrophe in front; numbers do not pass here (common practice: OWASP, "CSV
// Injection", from memory).
func plainCell(word string) string {
	first, _ := utf8.DecodeRuneInString(strings.TrimLeft(word, " \u00A0"))
	if strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + word
	}
	return word
}

// decimal writes a number rounded to 1e-4, as report.json has it.
func decimal(x float64) string { return strconv.FormatFloat(round(x), 'f', -1, 64) }

// VentsSTL returns the suggested vents as closed cylinders to cut from the
// halves, nil where there is none. Each reaches a diameter beyond its mouth and
// its exit, so that the cut leaves no skin at either end.
func VentsSTL(d *Document) ([]byte, error) {
	cutters := &geom.Mesh{}
	for _, v := range suggestedVents(d) {
		start := v.Mouth.AddScaled(v.Direction, -v.Diameter/2)
		cutters.Append(mold.Cylinder(start, v.Direction, v.Diameter/2, v.Length+1.5*v.Diameter))
	}
	if len(cutters.Facets) == 0 {
		return nil, nil
	}
	var b bytes.Buffer
	err := meshio.WriteBinarySTL(&b, cutters, "suggested vents, mm: cut from the halves")
	return b.Bytes(), err
}
