package mold

import "encoding/binary"

// thicken labels material within two steps of labelled void, so that places
// between the nodes find a label. Of two labels the node first in number gives it.
func (w *sorter) thicken() {
	front := w.thickenVoid()
	var rows rows
	for _, x := range front {
		i, j, k := w.node(x)
		rows.around(w, i, j)
		rows.label(w, k, w.of[x], nil)
	}
}

// thickenVoid labels material one step from void, and returns it in order. Most void
// lies in the middle of more of it: six nodes are passed at a time where all eight
// from one below to one above are labelled in the nine columns around.
func (w *sorter) thickenVoid() []int32 {
	var made []int32
	var rows rows
	for i := range w.lat.N[0] {
		for j := range w.lat.N[1] {
			rows.around(w, i, j)
			own := rows.of[4]
			for k := 0; k < len(own); k++ {
				if k > 0 && k+7 <= len(own) {
					if binary.LittleEndian.Uint64(own[k-1:]) == 0 || rows.full(k-1) {
						k += 5
						continue
					}
				}
				if l := own[k]; l != nothing && l != beyond && l&material == 0 {
					made = rows.label(w, k, l, made)
				}
			}
		}
	}
	return made
}

// rows are the labels of the nine columns around one, itself in the middle, in order
// of their number; nil beyond the lattice.
type rows struct {
	of     [9][]label
	column [9]int
}

func (r *rows) around(w *sorter, i, j int) {
	*r = rows{}
	nz := w.lat.N[2]
	for n := range r.of {
		a, b := i+n/3-1, j+n%3-1
		if a >= 0 && b >= 0 && a < w.lat.N[0] && b < w.lat.N[1] {
			c := a*w.lat.N[1] + b
			r.column[n], r.of[n] = c, w.of[c*nz:(c+1)*nz]
		}
	}
}

// full tells whether eight nodes from k on are labelled in every column.
func (r *rows) full(k int) bool {
	for n := range r.of {
		if r.of[n] == nil {
			continue
		}
		// Mycroft's test for a byte that is zero.
		if v := binary.LittleEndian.Uint64(r.of[n][k:]); (v-0x0101010101010101)&^v&0x8080808080808080 != 0 {
			return false
		}
	}
	return true
}

// label gives the material around node k the label l, and adds it to made.
func (r *rows) label(w *sorter, k int, l label, made []int32) []int32 {
	for n, of := range r.of {
		for z := max(k-1, 0); z <= k+1 && z < len(of); z++ {
			if of[z] == nothing && w.run(r.column[n], z) < 0 {
				of[z] = l | material
				made = append(made, int32(r.column[n]*w.lat.N[2]+z))
			}
		}
	}
	return made
}
