package mold

import (
	"errors"
	"math"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
)

// SelfProof is what the program can check of its own work on these very files, by
// two ways that share little.
type SelfProof struct {
	Bodies  []BodyProof // part, then halves
	Balance float64     // mm3, cavity - filled - trapped - unreached, four sums made apart; 0 if all is well
	Poured  bool        // there is a fill to balance
}

// BodyProof checks one mesh.
type BodyProof struct {
	Name string

	// Sum of the indices of its critical points along the pour's up (Banchoff 1970)
	// against the Euler characteristic of its vertices, edges and facets.
	Indices, Euler int
	Closed         bool   // else there is no such sum
	Why            string // it was not judged, empty if it was

	// Volume by the divergence theorem over the facets, and by summing columns.
	Divergence, Columns float64 // mm3
	Error               float64 // mm3, most by which the columns may be off
	VolumeWhy           string  // the volumes were not held against each other
}

// IndicesAgree tells whether the index sum is right, or was not judged.
func (b *BodyProof) IndicesAgree() bool { return b.Why != "" || b.Indices == b.Euler }

// VolumesAgree tells whether the two volumes are equal within the error, or were not
// held against each other.
func (b *BodyProof) VolumesAgree() bool {
	return b.VolumeWhy != "" || math.Abs(b.Divergence-b.Columns) <= b.Error
}

// BalanceDoubt in mm3 is what the sums of a balance may differ by: each is rounded to
// a double, and a cavity of a litre has 1e6 mm3.
const BalanceDoubt = 1e-6

// proofColumns is how many columns a mesh is measured with, at most: a hundredth of a
// second.
const proofColumns = 250_000

// ProveSelf checks the meshes of a mold and the balance of its pour; f may be nil.
// inputs are the files of part and halves, in this order. Cost: linear in the facets, and
// a cast for each mesh.
func ProveSelf(m *Mold, inputs []Input, f *Fill) (*SelfProof, error) {
	s := &SelfProof{}
	up := m.Up
	if f != nil {
		up, s.Poured = f.Up, true
		s.Balance = f.Cavity - f.Filled - f.Trapped - f.Unreached
	}
	bodies := append([]Body{m.Part}, m.Halves...)
	s.Bodies = make([]BodyProof, len(bodies))
	faults := make([]error, len(bodies))
	var group sync.WaitGroup
	for i, b := range bodies {
		group.Go(func() {
			p := &s.Bodies[i]
			p.Name = b.Name
			p.topology(b.Mesh, b.mates(), up)
			sums := b.amounts()
			faults[i] = p.volumes(b.Mesh, &sums, up, i < len(inputs) && inputs[i].Shells > 1)
		})
	}
	group.Wait()
	return s, errors.Join(faults...)
}

func (p *BodyProof) topology(mesh *geom.Mesh, mates []int32, up geom.Vec) {
	var fans, vertices int
	p.Indices, fans, p.Closed = mesh.CriticalIndices(up, mates)
	if !p.Closed {
		p.Why = "it has open edges, or edges of more than two facets"
		return
	}
	if p.Euler, vertices = mesh.EulerCharacteristic(); fans != vertices {
		p.Why = "surfaces of it touch in single vertices"
	}
}

// volumes measures the mesh by columns along up. Between two neighbouring columns the
// material's edge lies anywhere: half a cell times the difference of their lengths.
func (p *BodyProof) volumes(mesh *geom.Mesh, sums *amounts, up geom.Vec, severalShells bool) error {
	p.Divergence = sums.volume
	frame := PourFrame(up)
	box := boxSeenFrom(frame, mesh.Vertices)
	size, shadow := box.Size(), sums.shadow.value()
	lat, err := column.NewLattice(frame, box, max(math.Sqrt(size.X*size.Y/proofColumns), max(size.X, size.Y, size.Z)/8000, finestCell, math.Sqrt((shadow.X+shadow.Y+shadow.Z)/intakeCrossings)))
	if err != nil {
		return err
	}
	lines := column.Snap(lat, []*geom.Mesh{mesh}, nil).Cast(2)
	long := make([]int64, lines.NU*lines.NV)
	var sum, jumps int64
	for c := range long {
		for i := lines.Start[c]; i < lines.Start[c+1]; i++ {
			long[c] += int64(lines.Hi[i] - lines.Lo[i])
		}
		sum += long[c]
		if c%lines.NV > 0 {
			jumps += absQuanta(long[c] - long[c-1])
		}
		if c >= lines.NV {
			jumps += absQuanta(long[c] - long[c-lines.NV])
		}
	}
	cell := lat.Pitch() * lat.Pitch()
	p.Columns = float64(sum) * lat.Q * cell
	p.Error = float64(jumps)*lat.Q*cell/2 + float64(sums.area*lat.Q) // and what snapping moves
	switch {
	case !p.Closed:
		p.VolumeWhy = "it has open edges, or edges of more than two facets"
	case severalShells && p.Columns < p.Divergence-p.Error:
		p.VolumeWhy = "shells of it overlap: what they share counts once in columns"
	}
	return nil
}

// boxSeenFrom returns the box of points in a turned frame. By comparisons, as in
// geom.Mesh.Box: most points widen nothing.
func boxSeenFrom(frame geom.Rigid, points []geom.Vec) geom.Box {
	b := geom.EmptyBox()
	for _, v := range points {
		if p := frame.Turn(v); !b.Contains(p) {
			b = b.Include(p)
		}
	}
	return b
}

// absQuanta is the size of a difference of heights.
func absQuanta(x int64) int64 { return max(x, -x) }
