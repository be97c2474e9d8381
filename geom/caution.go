package geom

import (
	"fmt"
	"math"
	"slices"
)

// caution lists what stays in the mesh and should be known.
func (r *Mended) caution() {
	if len(r.Mesh.Facets) == 0 {
		r.Cautions = append(r.Cautions, Caution{Kind: CautionEmpty, Text: "no facets are left"})
		return
	}
	d := r.Defects
	r.cautionPlaces(CautionOpen, d.Open, "open edge (used by one facet only)", "open edges (used by one facet only)")
	r.cautionHoles()
	r.cautionPlaces(CautionCrowded, d.Crowded, "edge used by more than two facets", "edges used by more than two facets")
	r.cautionPlaces(CautionOpposed, d.Opposed, "edge where two neighbouring facets face opposite sides",
		"edges where two neighbouring facets face opposite sides")
	r.cautionPlaces(CautionCoincident, r.coincident, "facet that lies on another, kept because it closes a second shell there",
		"facets that lie on others, kept because they close a second shell there")
	flat := d.Degenerate
	flat.Count -= r.patched // told as seams
	r.cautionPlaces(CautionDegenerate, flat, "facet without area, kept because it joins its neighbours",
		"facets without area, kept because they join their neighbours")
	if d.NestingUnknown {
		r.Cautions = append(r.Cautions, Caution{CautionNesting, len(d.Shells), d.Shells[0].At,
			"too many overlapping shells to tell which lies inside which"})
	}
	r.cautionShells()
}

// maxNamed is how many shells of one kind are named one by one; the rest are
// counted together.
const maxNamed = 4

// cautionShells names the largest shells of each kind and counts the others.
func (r *Mended) cautionShells() {
	rest := map[string]int{} // asked by kind, never ranged over
	var kinds []string
	for i := range r.Defects.Shells {
		s := &r.Defects.Shells[i]
		kind, text := s.oddity()
		if kind == "" {
			continue
		}
		if rest[kind] == 0 {
			kinds = append(kinds, kind)
		}
		if rest[kind]++; rest[kind] <= maxNamed {
			r.Cautions = append(r.Cautions, Caution{kind, 1, s.At, s.name() + text})
		}
	}
	for _, kind := range kinds {
		if n := rest[kind] - maxNamed; n > 0 {
			at := r.Cautions[slices.IndexFunc(r.Cautions, func(c Caution) bool { return c.Kind == kind })].At
			r.Cautions = append(r.Cautions, Caution{kind, n, at, count(n, "smaller shell", "smaller shells") + " likewise"})
		}
	}
}

func (r *Mended) cautionPlaces(kind string, p Places, one, many string) {
	if p.Count > 0 {
		r.Cautions = append(r.Cautions, Caution{kind, p.Count, p.At[0],
			count(p.Count, one, many) + ", the first at " + place(p.At[0])})
	}
}

// oddity says what keeps a shell from reading as plain solid; nothing for most.
func (s *Shell) oddity() (kind, text string) {
	switch {
	case !s.Closed && s.Inward():
		return CautionInwardOpen, " is open and seems to face inward: it is left as it is; export it closed, facing outward"
	case !s.Closed:
		return "", ""
	case s.Flat():
		return CautionFlat, " is closed but encloses nothing"
	case s.Inward() && s.Around >= 1:
		return CautionVoid, " faces inward inside solid: it is a sealed void"
	case s.Inward():
		return CautionStrayVoid, " faces inward where no solid is around it: it has no effect"
	case s.Around >= 1:
		return CautionNestedSolid, " faces outward inside solid: it is read as solid and changes nothing; " +
			"turn its facets inward if it is meant as a void"
	}
	return "", ""
}

// name tells the reader which shell is meant.
func (s *Shell) name() string {
	return fmt.Sprintf("the shell of %s from %s to %s", count(s.Facets, "facet", "facets"), place(s.Box.Min), place(s.Box.Max))
}

// place writes a coordinate for a message, to a thousandth.
func place(v Vec) string {
	r := func(x float64) float64 { return math.Round(x*1000)/1000 + 0 } // + 0: no "-0.000"
	return fmt.Sprintf("(%.3f, %.3f, %.3f)", r(v.X), r(v.Y), r(v.Z))
}
