package report

import (
	"fmt"

	"pourproof/checks/mold"
	"pourproof/report/pdf"
)

type selfProofJSON struct {
	Balance *float64        `json:"balance_mm3"`
	Bodies  []bodyProofJSON `json:"bodies"`
}

type bodyProofJSON struct {
	Name      string   `json:"name"`
	Indices   *int     `json:"index_sum"`
	Euler     *int     `json:"euler_characteristic"`
	Why       *string  `json:"index_not_judged"`
	Volume    *float64 `json:"volume_by_divergence_mm3"`
	Columns   *float64 `json:"volume_by_columns_mm3"`
	Error     *float64 `json:"columns_error_mm3"`
	VolumeWhy *string  `json:"volume_not_judged"`
}

// newSelfProof returns nil for a nil proof.
func newSelfProof(s *mold.SelfProof) *selfProofJSON {
	if s == nil {
		return nil
	}
	j := &selfProofJSON{Bodies: []bodyProofJSON{}}
	if s.Poured {
		j.Balance = num(s.Balance)
	}
	for i := range s.Bodies {
		b := &s.Bodies[i]
		one := bodyProofJSON{Name: b.Name, Why: word(b.Why), Volume: num(b.Divergence), Columns: num(b.Columns), Error: num(b.Error), VolumeWhy: word(b.VolumeWhy)}
		if b.Why == "" {
			one.Indices, one.Euler = &b.Indices, &b.Euler
		}
		j.Bodies = append(j.Bodies, one)
	}
	return j
}

// selfProof says what the program checked of its own work.
func (b *book) selfProof() {
	s := b.Outcome.Proof
	if s == nil {
		return
	}
	b.pdf.Keep(20 + 8*float64(len(s.Bodies)))
	b.pdf.Heading(2, "Self-check")
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Body"}, {Title: "Critical points", Align: pdf.Right}, {Title: "Euler characteristic", Align: pdf.Right},
		{Title: "Volume by facets", Align: pdf.Right}, {Title: "By columns", Align: pdf.Right}, {Title: "May differ by", Align: pdf.Right}, {Title: "Agree"}}}
	for i := range s.Bodies {
		q := &s.Bodies[i]
		agree, indices, euler := "yes", fmt.Sprint(q.Indices), fmt.Sprint(q.Euler)
		if q.Why != "" {
			indices, euler, agree = "–", "–", "not judged: "+q.Why
		}
		switch {
		case !q.IndicesAgree() || !q.VolumesAgree():
			agree = "no"
		case q.Why == "" && q.VolumeWhy != "":
			agree = "volume not judged: " + q.VolumeWhy
		}
		t.Rows = append(t.Rows, pdf.R(b.pdf.Name(q.Name), indices, euler, exactly(q.Divergence), exactly(q.Columns), exactly(q.Error), agree))
	}
	b.pdf.Table(t)
	balance := "The pour was not computed, so there is no balance."
	if s.Poured {
		balance = fmt.Sprintf("Balance of the pour: cavity less filled, trapped and not reached leaves %.6f mm³.", max(s.Balance, -s.Balance))
	}
	b.pdf.Note(pdf.Text("Two ways each that share little: the indices of critical points along the pour's up (Banchoff 1970) against vertices, edges and facets; volume by the divergence theorem against columns. " + balance))
}

// exactly writes a volume with two decimals: here its digits count.
func exactly(mm3 float64) string { return fmt.Sprintf("%.2f mm³", mm3) }
