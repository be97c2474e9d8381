package meshio

import (
	"bytes"
	"errors"
	"strconv"
)

// pow10 holds the powers of ten that float64 holds exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseNumber reads a decimal number such as 1, +2., -.5e-3 or 1.0E+001. It
// knows no locale, no hexadecimal, no inf and no nan. ok is false for anything
// else and for a number beyond float64.
//
// Where the digits fit 2^53 and the power of ten is at most 22, one division or
// product of exact numbers is rightly rounded (Clinger 1990); other numbers go to
// strconv, so the result never depends on how a number is written.
func parseNumber(b []byte) (x float64, ok bool) {
	i, negative := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		i, negative = 1, b[0] == '-'
	}
	var digits uint64
	seen, exp, short := 0, 0, true
	for point := false; i < len(b); i++ {
		c := b[i]
		if c == '.' && !point {
			point = true
			continue
		}
		if c -= '0'; c > 9 {
			break
		}
		seen++
		if digits >= 1<<53/10 {
			short = false
		}
		digits = digits*10 + uint64(c)
		if point {
			exp--
		}
	}
	if seen == 0 {
		return 0, false
	}
	if i < len(b) {
		e, ok := parseExponent(b[i:])
		if !ok {
			return 0, false
		}
		exp += e
	}
	switch {
	case short && exp <= 0 && exp >= -22:
		x = float64(digits) / pow10[-exp]
	case short && exp > 0 && exp <= 22:
		x = float64(digits) * pow10[exp]
	default:
		x, err := strconv.ParseFloat(string(b), 64)
		return x, err == nil
	}
	if negative {
		x = -x
	}
	return x, true
}

// parseExponent reads e+001 and the like; a huge exponent is cut to one that
// strconv will judge.
func parseExponent(b []byte) (e int, ok bool) {
	if b[0]|0x20 != 'e' {
		return 0, false
	}
	b, negative := b[1:], false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		b, negative = b[1:], b[0] == '-'
	}
	if len(b) == 0 {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		e = min(e*10+int(c-'0'), 1e6)
	}
	if negative {
		e = -e
	}
	return e, true
}

// numberFault says why parseNumber refused a word, and what to do.
func numberFault(word []byte) (what, remedy string) {
	lower := bytes.ToLower(bytes.TrimLeft(word, "+-"))
	switch {
	case bytes.IndexByte(word, ',') >= 0:
		return "decimal comma in " + quote(word), "export it with decimal points"
	case bytes.HasPrefix(lower, []byte("nan")), bytes.HasPrefix(lower, []byte("inf")), bytes.HasPrefix(lower, []byte("1.#")),
		bytes.HasPrefix(lower, []byte("-nan")):
		return quote(word) + " is not a finite number", remedyExport
	}
	if _, err := strconv.ParseFloat(string(word), 64); errors.Is(err, strconv.ErrRange) {
		return quote(word) + " is too large for a coordinate", remedyExport
	}
	return quote(word) + " is not a number", remedyExport
}
