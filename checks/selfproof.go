package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
)

// selfProof reports where the program's own work does not agree with itself; part of
// the intake.
func (p *Pass) selfProof() {
	s := p.Proof
	if s == nil {
		return
	}
	const keep = "Do not rely on this report. Export the meshes again with other settings; if it stays, keep the files and tell the makers of this program."
	if s.Poured && math.Abs(s.Balance) > mold.BalanceDoubt*max(1, p.Fill.Cavity/1e6) {
		p.Report(Finding{kind: "self-balance", Severity: Stop, harm: maxHarm, Title: fmt.Sprintf("The pour does not add up: %s are missing", mm3(s.Balance)),
			Why: "Cavity is not filled + trapped + not reached.", Advice: keep})
	}
	for i := range s.Bodies {
		b := &s.Bodies[i]
		if !b.IndicesAgree() {
			p.Report(Finding{kind: "self-index", of: b.Name, Severity: Stop, harm: maxHarm, Where: Where{Body: b.Name}, Title: fmt.Sprintf("Critical points of %s add up to %d instead of %d", b.Name, b.Indices, b.Euler),
				Why: "On a closed surface their sum is the Euler characteristic.", Advice: keep})
		}
		if !b.VolumesAgree() {
			p.Report(Finding{kind: "self-volume", of: b.Name, Severity: Discuss, harm: 1, Where: Where{Body: b.Name},
				Title:  fmt.Sprintf("The volume of %s is not certain: %s by its facets, %s by columns", b.Name, mm3(b.Divergence), mm3(b.Columns)),
				Why:    fmt.Sprintf("They should agree within %s. They differ where a surface passes through itself.", mm3(b.Error)),
				Advice: "Unite the body in CAD, so that no surface of it cuts another, and export it again."})
		}
	}
}
