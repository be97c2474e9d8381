package mold

import (
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// fromNode returns a job file's value as Set takes it. The value's kind must fit
// the setting's form: a number in quotes is not a number.
func (s *Setting) fromNode(v *unstable.Node) (string, error) {
	number := v.Kind == unstable.Float || v.Kind == unstable.Integer
	switch s.Form {
	case Number:
		if number {
			return digits(v), nil
		}
		return "", fmt.Errorf("must be a number%s, not %s", lead(" in ", s.Unit), kindOf(v))
	case Numbers, Point, Direction:
		return s.list(v)
	case Points:
		return s.lists(v)
	case Switch:
		if v.Kind == unstable.Bool {
			return string(v.Data), nil
		}
		return "", fmt.Errorf("must be true or false, not %s", kindOf(v))
	case TiltForm:
		if number {
			return digits(v), nil
		}
		return s.quoted(v, `must be a number of degrees or "ANGLE@SIDE"`)
	case Pressure:
		if number {
			return "", errors.New(`needs a unit: write it as "60psi", "414kPa" or "4.1bar" (gauge)`)
		}
		return s.quoted(v, `must be text as "60psi"`)
	case Date:
		switch v.Kind {
		case unstable.LocalDate, unstable.LocalDateTime, unstable.DateTime:
			return string(v.Data), nil
		}
		return s.quoted(v, "must be a date")
	}
	return s.quoted(v, "must be text in quotes")
}

func (s *Setting) quoted(v *unstable.Node, want string) (string, error) {
	if v.Kind != unstable.String {
		return "", fmt.Errorf("%s, not %s", want, kindOf(v))
	}
	return string(v.Data), nil
}

// list returns a list of as many numbers as the form has.
func (s *Setting) list(v *unstable.Node) (string, error) {
	want := 3
	if s.Form == Numbers {
		want = s.Count
	}
	if v.Kind != unstable.Array {
		return "", fmt.Errorf("must be a list of %d numbers, not %s", want, kindOf(v))
	}
	var words []string
	for it := v.Children(); it.Next(); {
		n := it.Node()
		if n.Kind == unstable.Comment {
			continue
		}
		if n.Kind != unstable.Float && n.Kind != unstable.Integer {
			return "", fmt.Errorf("must be a list of %d numbers; one of them is %s", want, kindOf(n))
		}
		words = append(words, digits(n))
	}
	if len(words) != want {
		return "", fmt.Errorf("must be a list of %d numbers, has %d", want, len(words))
	}
	return strings.Join(words, ","), nil
}

// lists returns one list of numbers or several.
func (s *Setting) lists(v *unstable.Node) (string, error) {
	if v.Kind != unstable.Array {
		return "", fmt.Errorf("must be a point [x, y, z] or a list of points, not %s", kindOf(v))
	}
	var all []string
	for it := v.Children(); it.Next(); {
		switch it.Node().Kind {
		case unstable.Comment:
		case unstable.Array:
			one, err := s.list(it.Node())
			if err != nil {
				return "", err
			}
			all = append(all, one)
		default:
			return s.list(v)
		}
	}
	if len(all) == 0 {
		return "", errors.New("must be a point [x, y, z] or a list of points, is empty")
	}
	return strings.Join(all, ";"), nil
}

// digits returns a number without the underscores TOML allows in it.
func digits(v *unstable.Node) string { return strings.ReplaceAll(string(v.Data), "_", "") }

func kindOf(v *unstable.Node) string {
	switch v.Kind {
	case unstable.String:
		return fmt.Sprintf("the text %q", cut(string(v.Data)))
	case unstable.Bool:
		return string(v.Data)
	case unstable.Float, unstable.Integer:
		return "the number " + string(v.Data)
	case unstable.Array:
		return "a list"
	case unstable.InlineTable:
		return "a table"
	}
	return "a date or time"
}

func cut(s string) string {
	if len(s) > 40 {
		return s[:40] + "..."
	}
	return s
}

// tableKind tells whether a job file knows a table, and whether it may be there
// more than once.
func tableKind(name string) (many, known bool) {
	if name == "limits" {
		return false, true
	}
	for i := range settings {
		if settings[i].Table == name {
			return settings[i].Many, true
		}
	}
	return false, false
}

func tableNames() []string {
	names := []string{"limits"}
	for i := range settings {
		if i == 0 || settings[i].Table != settings[i-1].Table {
			names = append(names, settings[i].Table)
		}
	}
	return names
}

// settingKeys returns the keys of one table, or table.key of all of them.
func settingKeys(table string) []string {
	var keys []string
	for i := range settings {
		switch {
		case table == "":
			keys = append(keys, settings[i].Name())
		case settings[i].Table == table:
			keys = append(keys, settings[i].Key)
		}
	}
	return keys
}

func didYouMean(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return fmt.Sprintf("; did you mean %s?", near)
	}
	return ""
}

// Nearest returns the known word that a mistyped one most likely stands for, by
// the number of letters to insert, drop, change or swap with their neighbour
// (Damerau 1964, optimal string alignment), else the only one that it begins;
// empty where that is more than a third of its letters, and at least 1.
func Nearest(word string, known []string) string {
	best, least := "", max(1, len(word)/3)+1
	if len(word) > 64 {
		return ""
	}
	for _, k := range known {
		if d := editDistance(strings.ToLower(word), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	if best != "" && least < len(word) {
		return best
	}
	best = ""
	for _, k := range known {
		if len(word) >= 3 && strings.HasPrefix(k, word) {
			if best != "" {
				return ""
			}
			best = k
		}
	}
	return best
}

func editDistance(a, b string) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for k := range rows[0] {
		rows[0][k] = k
	}
	for i := 1; i <= len(a); i++ {
		for k := 1; k <= len(b); k++ {
			change := 1
			if a[i-1] == b[k-1] {
				change = 0
			}
			d := min(rows[i-1][k]+1, rows[i][k-1]+1, rows[i-1][k-1]+change)
			if i > 1 && k > 1 && a[i-1] == b[k-2] && a[i-2] == b[k-1] {
				d = min(d, rows[i-2][k-2]+1)
			}
			rows[i][k] = d
		}
	}
	return rows[len(a)][len(b)]
}
