package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/checks/mold"
)

func TestSelfProofIsJudged(t *testing.T) {
	in := clean()
	in.Proof = &mold.SelfProof{Poured: true, Bodies: []mold.BodyProof{{Name: "part", Closed: true, Indices: 2, Euler: 2, Divergence: 100, Columns: 101, Error: 2}}}
	before := Run(in)
	proper(t, before)
	for _, kind := range []string{"self-balance", "self-index", "self-volume"} {
		assert.Empty(t, named(before, "intake/"+kind))
	}
	in.Proof = &mold.SelfProof{Poured: true, Balance: 0.5, Bodies: []mold.BodyProof{{Name: "part", Closed: true, Indices: 1, Euler: 2, Divergence: 100, Columns: 104, Error: 2}}}
	o := Run(in)
	proper(t, o)
	assert.Equal(t, Stop, one(t, o, "intake/self-balance").Severity)
	assert.Equal(t, Stop, one(t, o, "intake/self-index").Severity)
	f := one(t, o, "intake/self-volume")
	assert.Equal(t, Discuss, f.Severity)
	assert.Contains(t, f.Title, "100 mm3 by its facets, 104 mm3 by columns")
	in.Proof.Bodies[0].Why, in.Proof.Bodies[0].VolumeWhy = "it has open edges", "it has open edges"
	in.Proof.Balance = 0
	o = Run(in)
	assert.Empty(t, named(o, "intake/self-index"))
	assert.Empty(t, named(o, "intake/self-volume"))
}
