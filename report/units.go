package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pourproof/geom"
)

// This file is the only place where numbers become text for people. Three
// significant digits say all that a mold is known to; a decimal point everywhere.

// Figure writes x with at most three significant digits and no exponent; whole
// digits are kept: 636.5 is 637, 52974 is 52974.
func Figure(x float64) string {
	if x == 0 || math.IsNaN(x-x) {
		if x == 0 {
			return "0"
		}
		return "?"
	}
	e := strconv.FormatFloat(x, 'e', 2, 64) // rounds first: 9.996 has one digit more
	power, _ := strconv.Atoi(e[strings.IndexByte(e, 'e')+1:])
	digits := min(max(2-power, 0), 6)
	s := strconv.FormatFloat(x, 'f', digits, 64)
	if digits > 0 {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// Volume writes mm3, and ml from 10000 mm3 on.
func Volume(mm3 float64) string {
	if math.Abs(mm3) >= 10000 {
		return Figure(mm3/1000) + " ml"
	}
	return Figure(mm3) + " mm³"
}

// Milliliters writes mm3 as ml.
func Milliliters(mm3 float64) string { return Figure(mm3/1000) + " ml" }

// Length writes mm to a hundredth.
func Length(mm float64) string { return hundredth(mm) + " mm" }

// Area writes mm2.
func Area(mm2 float64) string { return Figure(mm2) + " mm²" }

// Degrees writes radians as degrees to a tenth.
func Degrees(rad float64) string {
	return strconv.FormatFloat(math.Round(rad*1800/math.Pi)/10+0, 'f', -1, 64) + "°"
}

// Place writes a CAD coordinate to a hundredth of a millimetre.
func Place(v geom.Vec) string {
	return fmt.Sprintf("(%s, %s, %s)", hundredth(v.X), hundredth(v.Y), hundredth(v.Z))
}

// Way writes a direction to three decimals.
func Way(v geom.Vec) string {
	n := func(x float64) string { return strconv.FormatFloat(math.Round(x*1000)/1000+0, 'f', -1, 64) }
	return fmt.Sprintf("(%s, %s, %s)", n(v.X), n(v.Y), n(v.Z))
}

func hundredth(x float64) string {
	return strconv.FormatFloat(math.Round(x*100)/100+0, 'f', -1, 64)
}

// Number writes a measured value in its unit, as a finding carries it.
func Number(x float64, unit string) string {
	switch unit {
	case "mm3", "mm³":
		return Volume(x)
	case "mm2", "mm²":
		return Area(x)
	case "mm":
		return Length(x)
	case "deg":
		return Figure(x) + "°"
	case "":
		return Figure(x)
	}
	return Figure(x) + " " + unit
}

// Plural writes a count and its noun: 1 vent, 2 vents.
func Plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}
