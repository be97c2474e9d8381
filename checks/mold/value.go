package mold

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pourproof/geom"
)

// Set gives a setting the value written in text, as on the command line: 0.2,
// "0,0,1", 15@90, 60psi, true. i counts the tables of a setting that may be there
// more than once. Nothing changes on an error, which says what is wanted.
func (s *Setting) Set(j *Job, i int, text string) error {
	text = strings.TrimSpace(text)
	switch s.Form {
	case Text:
		return s.setText(j, i, text)
	case Word:
		if !slices.Contains(s.Words, text) {
			return fmt.Errorf("must be one of %s, not %q", strings.Join(s.Words, ", "), text)
		}
		*s.field(j, i).(*string) = text
	case Switch:
		if text != "true" && text != "false" {
			return fmt.Errorf("must be true or false, not %q", text)
		}
		*s.field(j, i).(*bool) = text == "true"
	case Date:
		if err := validDate(text); err != nil {
			return err
		}
		*s.field(j, i).(*string) = text
	case Pressure:
		x, err := ParsePressure(text)
		if err != nil {
			return err
		}
		if err := s.within(x); err != nil {
			return err
		}
		*s.field(j, i).(*float64) = x
	case TiltForm:
		return s.setTilt(j, i, text)
	case Points:
		return s.setPoints(j, i, text)
	default:
		return s.setNumbers(j, i, text)
	}
	return nil
}

// maxText bounds what a report's line can carry.
const maxText = 500

func (s *Setting) setText(j *Job, i int, text string) error {
	if text == "" || len(text) > maxText || strings.ContainsFunc(text, unprintable) {
		return fmt.Errorf("must be 1 to %d bytes of text on one line", maxText)
	}
	*s.field(j, i).(*string) = text
	return nil
}

// setNumbers sets a Number, Numbers, Point or Direction.
func (s *Setting) setNumbers(j *Job, i int, text string) error {
	want := map[Form]int{Number: 1, Point: 3, Direction: 3, Numbers: s.Count}[s.Form]
	n, err := s.numbers(text, want)
	if err != nil {
		return err
	}
	switch p := s.field(j, i).(type) {
	case *float64:
		*p = s.radians(n[0])
	case *[]float64:
		*p = n
	case *geom.Vec:
		*p = s.vec(n)
	case **geom.Vec:
		v := s.vec(n)
		// A direction shorter than this cannot be told from a slip of the pen.
		if v.Norm() < 1e-6 {
			return errors.New("must not be 0, 0, 0: it is a direction")
		}
		*p = &v
	}
	return nil
}

func (s *Setting) setPoints(j *Job, i int, text string) error {
	var points []geom.Vec
	for _, one := range strings.Split(text, ";") {
		n, err := s.numbers(one, 3)
		if err != nil {
			return err
		}
		points = append(points, s.vec(n))
	}
	*s.field(j, i).(*[]geom.Vec) = points
	return nil
}

func (s *Setting) setTilt(j *Job, i int, text string) error {
	angle, side, both := strings.Cut(text, "@")
	a, err := s.numbers(angle, 1)
	if err != nil {
		return fmt.Errorf("%w; write ANGLE@SIDE in degrees, as 15@90", err)
	}
	t := Tilt{Angle: s.radians(a[0])}
	if both {
		f := Setting{Low: -anyAngle, High: anyAngle, Unit: "deg"}
		b, err := f.numbers(side, 1)
		if err != nil {
			return fmt.Errorf("the side facing which azimuth is raised: %w; write ANGLE@SIDE in degrees, as 15@90", err)
		}
		t.Side = s.radians(b[0])
	}
	*s.field(j, i).(**Tilt) = &t
	return nil
}

// numbers reads want numbers set apart by commas and holds each against the
// setting's range.
func (s *Setting) numbers(text string, want int) ([]float64, error) {
	words := strings.Split(text, ",")
	if len(words) != want {
		if want == 1 {
			return nil, fmt.Errorf("must be one number, not %q", text)
		}
		return nil, fmt.Errorf("must be %d numbers, got %d", want, len(words))
	}
	out := make([]float64, want)
	for i, w := range words {
		x, err := parseNumber(w)
		if err != nil {
			return nil, err
		}
		if err := s.within(x); err != nil {
			return nil, err
		}
		out[i] = x
	}
	return out, nil
}

// parseNumber reads a decimal number; not a number and infinity are none.
func parseNumber(text string) (float64, error) {
	w := strings.TrimSpace(text)
	x, err := strconv.ParseFloat(w, 64)
	if err != nil || math.IsNaN(x-x) || strings.ContainsAny(w, "xX_pP") {
		return 0, fmt.Errorf("must be a finite number, not %q", w)
	}
	return x + 0, nil // + 0: no -0
}

func (s *Setting) within(x float64) error {
	if x < s.Low || x > s.High {
		return fmt.Errorf("must be %s to %s%s, not %s", plain(s.Low), plain(s.High), lead(" ", s.Unit), plain(x))
	}
	return nil
}

func lead(sep, s string) string {
	if s == "" {
		return ""
	}
	return sep + s
}

// plain writes a number in the shortest way, without an exponent where it can.
func plain(x float64) string {
	if a := math.Abs(x); a != 0 && (a < 1e-6 || a >= 1e12) {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// pressureUnits are the units a gauge pressure may be given in, in kPa. A psi is
// 0.45359237 kg x 9.80665 m/s2 on a square inch of 25.4 mm (NIST SP 811, B.8).
var pressureUnits = []struct {
	name string
	kPa  float64
}{{"kPa", 1}, {"MPa", 1000}, {"bar", 100}, {"psi", 0.45359237 * 9.80665 / (0.0254 * 0.0254) / 1000}}

// ParsePressure reads a gauge pressure with its unit, as 60psi, 414kPa or
// 4.1 bar, and returns kPa. A bare number is refused: bar and psi differ by 14.
func ParsePressure(text string) (float64, error) {
	t := strings.TrimSpace(text)
	for _, u := range pressureUnits {
		if n := len(t) - len(u.name); n > 0 && strings.EqualFold(t[n:], u.name) {
			x, err := parseNumber(t[:n])
			if err != nil {
				return 0, err
			}
			return x * u.kPa, nil
		}
	}
	return 0, fmt.Errorf("needs a number and a unit, as 60psi, 414kPa or 4.1bar (gauge), not %q", t)
}

// validDate accepts 2026-03-31 and any other short text: people write revisions
// of a date as they like, and nothing is computed from it.
func validDate(text string) error {
	if text == "" || len(text) > 40 || strings.ContainsFunc(text, unprintable) {
		return errors.New("must be a short date, as 2026-03-31")
	}
	return nil
}

// Show returns a setting's value as Set takes it, its number where it is one
// (in the setting's unit), and whether it has a value at all.
func (s *Setting) Show(j *Job, i int) (text string, number *float64, given bool) {
	switch p := s.field(j, i).(type) {
	case *string:
		return *p, nil, *p != ""
	case *bool:
		return strconv.FormatBool(*p), nil, true
	case *float64:
		x := s.inUnit(*p)
		if x == 0 && s.Default == "" && s.Low > 0 {
			return "", nil, false
		}
		return plain(x), &x, true
	case *[]float64:
		return joinNumbers(*p), nil, len(*p) > 0
	case *geom.Vec:
		return s.showVec(*p), nil, *p != geom.Vec{}
	case **geom.Vec:
		if *p == nil {
			return "", nil, false
		}
		return s.showVec(**p), nil, true
	case *[]geom.Vec:
		var all []string
		for _, v := range *p {
			all = append(all, s.showVec(v))
		}
		return strings.Join(all, "; "), nil, len(all) > 0
	case **Tilt:
		if *p == nil {
			return "", nil, false
		}
		return plain(s.inUnit((*p).Angle)) + "@" + plain(s.inUnit((*p).Side)), nil, true
	}
	return "", nil, false
}

func (s *Setting) showVec(v geom.Vec) string {
	return joinNumbers([]float64{s.inUnit(v.X), s.inUnit(v.Y), s.inUnit(v.Z)})
}

func joinNumbers(n []float64) string {
	words := make([]string, len(n))
	for i, x := range n {
		words[i] = plain(x)
	}
	return strings.Join(words, ", ")
}
