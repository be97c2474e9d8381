package mold

import "math"

// Modulus returns Young's modulus in MPa of rubber of a hardness, Shore A about 20 to 80:
// E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)) (Gent, Transactions of the
// Institution of the Rubber Industry 34, 1958). Other relations in use differ from it by
// a fifth and more: take it as a range, ModulusSpread to either side.
func Modulus(shoreA float64) float64 {
	return 0.0981 * (56 + float64(7.62336*shoreA)) / (0.137505 * (254 - float64(2.54*shoreA)))
}

// ModulusSpread is the share by which the modulus of rubber of one hardness may be off.
const ModulusSpread = 0.25

// StrainEnergy returns the energy in J/mm3 times 1e3, which is MPa, that rubber of
// modulus e MPa stores when it is pulled to the stretch l along one axis (neo-Hookean):
// W = e/6 (l^2 + 2/l - 3).
func StrainEnergy(e, l float64) float64 { return e / 6 * (float64(l*l) + 2/l - 3) }

// CriticalFlaw returns the depth in mm of the edge cut from which rubber tears on at the
// stretch l: c = G/(2 k W), k = pi/sqrt(l), for the tear energy G in J/m2 and the modulus e
// in MPa (Rivlin and Thomas, Journal of Polymer Science 10, 1953; k after Greensmith,
// 1963). It holds for cuts that are small beside the rubber they run in. Infinite without
// stretch.
func CriticalFlaw(g, e, l float64) float64 {
	w := StrainEnergy(e, l)
	if !(w > 0) {
		return math.Inf(1)
	}
	return g / 1000 / (2 * (math.Pi / math.Sqrt(l)) * w) // 1 J/m2 = 1/1000 MPa mm
}

// TearEnergyOfTrouser returns the tear energy in J/m2 of a trouser test piece with stiff
// legs that tears at strength kN/m, force over thickness: G = 2 F/h (Rivlin and Thomas,
// 1953).
func TearEnergyOfTrouser(strength float64) float64 { return 2000 * strength }

// TearEnergy returns the rubber's tear energy in J/m2: as given, or from a trouser test.
func (r *Rubber) TearEnergy() float64 {
	if r.TearStrengthT > 0 {
		return TearEnergyOfTrouser(r.TearStrengthT)
	}
	return r.Tear
}

// refusedTear says why a tear strength of a data sheet is no tear energy (ASTM D624: A,
// B and C are a maximum force over the thickness, T a mean one). Keys are settings that
// a job file may not hold.
var refusedTear = map[string]string{
	"rubber.tear_strength_a": notTrouser("A (nicked crescent)"),
	"rubber.tear_strength_b": notTrouser("B (nicked tab)"),
	"rubber.tear_strength_c": notTrouser("C (right angle)"),
	"rubber.tear_strength": "is refused, for it does not say by which test: give tear_strength_t for a trouser test (type T), or tear_j_m2, the tear energy. " +
		"Strengths of type A, B and C are no tear energy",
}

func notTrouser(kind string) string {
	return "is refused: a tear strength of type " + kind + " is the greatest force over the thickness, and holds the work that starts the tear and what the rubber stores while it is stretched. " +
		"It is no tear energy and would promise far too much. Give tear_strength_t of a trouser test (type T: tear energy = 2 x force / thickness), or tear_j_m2; without either a generic value is used"
}

// Flaw is the critical flaw at a stretch, over the range of the modulus, mm.
type Flaw struct{ Mid, Least, Most float64 }

// leastStretch is the stretch below which nothing tears: the flaw would be larger than
// any mold.
const leastStretch = 1.01

// Flaw returns the critical flaw at a stretch; nil where nothing stretches.
func (r *Rubber) Flaw(stretch *float64) *Flaw {
	e, g := Modulus(r.ShoreA), r.TearEnergy()
	if stretch == nil || *stretch < leastStretch || !(e > 0) || !(g > 0) {
		return nil
	}
	return &Flaw{CriticalFlaw(g, e, *stretch), CriticalFlaw(g, e*(1+ModulusSpread), *stretch), CriticalFlaw(g, e*(1-ModulusSpread), *stretch)}
}
