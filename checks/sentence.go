package checks

import (
	"math"
	"strconv"
	"strings"

	"pourproof/geom"
)

// Numbers in sentences: at most three significant digits and always a unit;
// coordinates with one decimal, in the CAD frame. Plain ASCII, so that a
// terminal of any code page shows them.

// figure writes x with at most three significant digits and no exponent. What is
// below half of the 1e-4 that every unit is reported to is 0.
func figure(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "?"
	}
	if math.Abs(x) < 0.5e-4 {
		return "0"
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 2, 64), 64)
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// mm writes a length: to a hundredth below 10 mm, else to a tenth, at most three
// significant digits.
func mm(x float64) string { return figure(math.Round(x*100)/100) + " mm" }

// mm3 writes a volume, mm2 an area, ml a volume in mm3 as millilitres.
func mm3(x float64) string { return figure(x) + " mm3" }
func mm2(x float64) string { return figure(x) + " mm2" }
func ml(x float64) string  { return figure(x) + " ml" }

// newton writes a force.
func newton(x float64) string { return figure(x) + " N" }

// percent writes a share of 1.
func percent(share float64) string {
	if share > 0 && share < 0.0005 {
		return "under 0.1 %"
	}
	if share < 0.095 {
		return figure(math.Round(share*1000)/10) + " %"
	}
	return figure(math.Round(share*100)) + " %"
}

// at writes a place.
func at(v geom.Vec) string {
	return "(" + tenth(v.X) + ", " + tenth(v.Y) + ", " + tenth(v.Z) + ")"
}

func tenth(x float64) string {
	s := strconv.FormatFloat(x, 'f', 1, 64)
	if s == "-0.0" {
		return "0.0"
	}
	return s
}

// way writes a direction: an axis of the CAD frame by its name.
func way(v geom.Vec) string {
	for _, a := range []struct {
		name string
		d    geom.Vec
	}{{"+X", geom.Vec{X: 1}}, {"-X", geom.Vec{X: -1}}, {"+Y", geom.Vec{Y: 1}}, {"-Y", geom.Vec{Y: -1}}, {"+Z", geom.Vec{Z: 1}}, {"-Z", geom.Vec{Z: -1}}} {
		if v.Dist(a.d) < 0.0005 { // what the three decimals below show as that axis
			return a.name
		}
	}
	n := func(x float64) string { return figure(math.Round(x*1000)/1000 + 0) }
	return "(" + n(v.X) + ", " + n(v.Y) + ", " + n(v.Z) + ")"
}

// count writes a number and its noun: 1 vent, 2 vents.
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}

// list joins words: a, b and c.
func list(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// text joins sentences that are not empty.
func text(sentences ...string) string {
	var out []string
	for _, s := range sentences {
		if s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, " ")
}

// flagPoint writes a place as a flag takes it.
func flagPoint(v geom.Vec) string { return tenth(v.X) + "," + tenth(v.Y) + "," + tenth(v.Z) }

// hundredths writes a shift, which one decimal would hide.
func hundredths(v geom.Vec) string {
	n := func(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100+0, 'f', 2, 64) }
	return "(" + n(v.X) + ", " + n(v.Y) + ", " + n(v.Z) + ")"
}
