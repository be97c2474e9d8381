package mold

import "math"

// BubbleUnder returns the diameter in mm that a bubble of diameter d mm has once the
// pressure around it goes from p0 to p1 kPa, the pressure of its own skin 4 gamma/d
// counted (Laplace; surface tension in mN/m): (p0 + 4 gamma/d) d^3 = (p1 + 4 gamma/x) x^3.
// Rounded to 1e-9 mm.
func BubbleUnder(d, p0, p1, tension float64) float64 {
	skin := 4 * tension * 1e-3 // kPa mm
	gas := (float64(p0*d) + skin) * float64(d*d)
	lo, hi := 0.0, 2*d*max(p0/p1, 1)
	for range 80 { // halves to below the last digit
		mid := (lo + hi) / 2
		if (float64(p1*mid)+skin)*float64(mid*mid) < gas {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Round((lo+hi)/2*1e9) / 1e9
}

// RiseSpeed returns how fast a bubble of diameter d mm rises, in mm/s, in a liquid of
// density g/ml and viscosity mPa s: as a rigid sphere (Stokes 1851) and with a clean,
// mobile surface (Hadamard and Rybczynski 1911), which is half as fast again. Good while
// the Reynolds number is below 1; resin is never clean and follows the first.
func RiseSpeed(d, density, viscosity float64) (rigid, mobile float64) {
	rigid = density * gravity * 1e3 * float64(d*d) / (18 * viscosity)
	return rigid, 1.5 * rigid
}
