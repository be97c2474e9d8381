package geom

import (
	"fmt"
	"slices"
)

// Kinds of Repair and of Caution, in the order in which Mend reports them.
const (
	RepairRepeated  = "repeated-corner" // facets that named a vertex twice, dropped
	RepairDuplicate = "duplicate-facet" // exact repeats, dropped
	RepairTurned    = "turned-facet"    // facets turned to agree with their neighbours
	RepairStitched  = "stitched-corner" // corners of open edges so near each other that they are one
	RepairSeam      = "open-seam"       // edges that ran along each other without a common corner, joined
	RepairHole      = "closed-hole"     // holes closed by a flat patch
	RepairInsideOut = "inside-out"      // closed shells that faced inward, turned

	CautionEmpty       = "no-facets"      // nothing is left
	CautionOpen        = "open-edge"      // edges used by one facet
	CautionCrowded     = "crowded-edge"   // edges used by more than two facets
	CautionOpposed     = "opposed-facet"  // neighbours that disagree, in a shell that cannot be mended
	CautionInwardOpen  = "open-inward"    // an open shell whose facets seem to face inward
	CautionCoincident  = "coincident"     // facets that lie on others, kept because they close a second shell
	CautionDegenerate  = "zero-area"      // facets of no area, kept because they close the surface
	CautionFlat        = "flat-shell"     // closed shells that enclose nothing
	CautionNestedSolid = "nested-solid"   // an outward shell inside solid
	CautionVoid        = "sealed-void"    // an inward shell inside solid
	CautionStrayVoid   = "stray-void"     // an inward shell that is not inside solid
	CautionNesting     = "nested-unknown" // too many overlapping shells to tell
)

// Repair is a change made to a mesh so that its meaning is clear.
type Repair struct {
	Kind  string
	Count int     // facets, or shells for RepairInsideOut
	At    Vec     // the first place, in the order of Vec.Less
	Width float64 // of the widest hole, mm; else 0
	Text  string
}

// Caution is something about a mesh that stays as it is and that its owner should
// know.
type Caution struct {
	Kind  string
	Count int
	At    Vec // the first place, in the order of Vec.Less
	Text  string
}

// Mended is a mesh after repair, and what there is to say of it.
type Mended struct {
	Mesh     *Mesh
	Defects  *Defects // of the mesh after repair
	Repairs  []Repair
	Cautions []Caution
	Holes    []Hole // loops of open edges that the mesh had, the widest first; at most 64

	coincident Places // duplicate facets that were kept

	patched int // facets of patches without area
	left    int // holes that were not closed
}

// Mend makes the changes that leave no doubt about the shape meant: it drops
// exact duplicate facets and facets that name a vertex twice; it joins corners of
// open edges within 0.001 mm of each other; it turns facets to
// agree with their neighbours, the smaller area of a shell to the larger; it
// closes holes of up to a tenth of their shell's area with the flattest patch, seams
// whose edges run along each other among them; and it turns a closed shell that
// faces inward, with all that lies inside it, where no other shell is around it
// (so a mesh whose every shell faces inward is turned). An inward shell inside
// solid stays: it is a sealed void. A shell that stays open is not turned.
//
// Solid is where the winding count is at least 1. The mesh given is not changed.
// Cost: one Inspect, and one more after each kind of repair.
func Mend(m *Mesh) *Mended {
	r := &Mended{Mesh: m}
	r.dropRepeated() // first: many of them on one edge would take room
	r.Defects = Inspect(r.Mesh)
	r.dropDuplicates()
	r.stitch()
	r.turnFacets()
	r.closeHoles()
	r.turnShells()
	r.caution()
	return r
}

// repair notes a repair and inspects the changed mesh.
func (r *Mended) repair(m *Mesh, reports ...Repair) {
	r.Mesh, r.Defects = m, nil // those of the mesh before take room
	r.Defects = Inspect(m)
	r.Repairs = append(r.Repairs, reports...)
}

// repeatsCorner reports whether a facet names a vertex twice.
func repeatsCorner(t [3]int32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

// dropRepeated removes facets that name a vertex twice. They close nothing: a facet
// a, a, b runs along its edge once each way.
func (r *Mended) dropRepeated() {
	m := r.Mesh
	var dropped Places
	for f, t := range m.Facets {
		if repeatsCorner(t) {
			dropped.Add(m.Triangle(f).Centroid())
		}
	}
	if dropped.Count == 0 {
		return
	}
	r.Mesh = &Mesh{Vertices: m.Vertices, Facets: make([][3]int32, 0, len(m.Facets)-dropped.Count)}
	for _, t := range m.Facets {
		if !repeatsCorner(t) {
			r.Mesh.Facets = append(r.Mesh.Facets, t)
		}
	}
	r.Repairs = append(r.Repairs, Repair{RepairRepeated, dropped.Count, dropped.At[0], 0,
		count(dropped.Count, "facet", "facets") + " with two equal corners dropped"})
}

// dropDuplicates removes exact duplicates that close nothing: most are there a second
// time.
func (r *Mended) dropDuplicates() {
	d, m := r.Defects, r.Mesh
	if d.Duplicate.Count == 0 {
		return
	}
	kept := &Mesh{Vertices: m.Vertices, Facets: make([][3]int32, 0, len(m.Facets))}
	var spare []int32
	spare, r.coincident = d.spareDuplicates(m)
	if len(spare) == 0 {
		return
	}
	var dropped Places
	for f, t := range m.Facets {
		if len(spare) > 0 && int(spare[0]) == f {
			spare = spare[1:]
			dropped.Add(m.Triangle(f).Centroid())
			continue
		}
		kept.Facets = append(kept.Facets, t)
	}
	r.repair(kept, Repair{RepairDuplicate, dropped.Count, dropped.At[0], 0,
		count(dropped.Count, "exact duplicate facet", "exact duplicate facets") + " dropped"})
}

// turnFacets makes shells evenly wound by passing the winding on from
// facet to facet, over edges that two facets use.
func (r *Mended) turnFacets() {
	d, m := r.Defects, r.Mesh
	if d.Opposed.Count == 0 {
		return
	}
	turn, side := make([]bool, len(m.Facets)), make([]int8, len(m.Facets))
	var turned Places
	for i := range d.Shells {
		if s := &d.Shells[i]; !s.Even {
			for _, f := range d.minority(m, s, side) {
				turn[f] = true
				turned.Add(m.Triangle(int(f)).Centroid())
			}
		}
	}
	if turned.Count == 0 {
		return
	}
	out := &Mesh{Vertices: m.Vertices, Facets: slices.Clone(m.Facets)}
	for f, t := range out.Facets {
		if turn[f] {
			out.Facets[f] = [3]int32{t[0], t[2], t[1]}
		}
	}
	r.repair(out, Repair{RepairTurned, turned.Count, turned.At[0], 0,
		count(turned.Count, "facet", "facets") + " turned to agree with their neighbours"})
}

// minority returns the facets of a shell that must be turned to make it
// evenly wound, the smaller area of the two ways; nil where no way exists (a
// one-sided surface) or where crowded edges leave it open which facets belong
// together. side marks the facets reached, 1 or 2 by winding; it is 0 at first.
func (d *Defects) minority(m *Mesh, s *Shell, side []int8) []int32 {
	side[s.first] = 1
	queue := []int32{s.first}
	var area [3]Sum
	var number [3]int
	for i := 0; i < len(queue); i++ {
		f := queue[i]
		area[side[f]].Add(m.Triangle(int(f)).Area())
		number[side[f]]++
		for h := 3 * f; h < 3*f+3; h++ {
			mate := d.mates[h]
			if mate == Open {
				continue
			}
			if mate == Crowded {
				return nil
			}
			want := side[f]
			if m.sameWay(h, mate) {
				want = 3 - want
			}
			if have := side[mate/3]; have == 0 {
				side[mate/3] = want
				queue = append(queue, mate/3)
			} else if have != want {
				return nil
			}
		}
	}
	least := int8(1)
	if a, b := area[1].Value(), area[2].Value(); b < a || b == a && number[2] <= number[1] {
		least = 2
	}
	var out []int32
	for _, f := range queue {
		if side[f] == least {
			out = append(out, f)
		}
	}
	return out
}

// turnShells turns every closed shell that faces inward and has no shell around
// it, with all shells inside it.
func (r *Mended) turnShells() {
	d, m := r.Defects, r.Mesh
	turn := make([]bool, len(d.Shells))
	var turned Places
	closed := 0
	for i := range d.Shells {
		s := &d.Shells[i]
		if !s.Closed {
			continue
		}
		closed++
		if s.Parent >= 0 {
			turn[i] = turn[s.Parent] // a parent comes first
		} else {
			turn[i] = s.Even && s.Inward()
		}
		if turn[i] {
			turned.Add(s.At)
		}
	}
	if turned.Count == 0 || d.NestingUnknown && turned.Count < closed {
		return
	}
	out := &Mesh{Vertices: m.Vertices, Facets: slices.Clone(m.Facets)}
	for f, t := range out.Facets {
		if turn[d.ShellOf[f]] {
			out.Facets[f] = [3]int32{t[0], t[2], t[1]}
		}
	}
	text := "the mesh was inside-out and has been turned"
	if turned.Count < closed {
		text = fmt.Sprintf("%d of %d closed shells turned: they were inside-out, or inside one that was", turned.Count, closed)
	}
	r.repair(out, Repair{RepairInsideOut, turned.Count, turned.At[0], 0, text})
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n, " ", many)
}
