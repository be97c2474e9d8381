package mold

import (
	"strconv"

	"pourproof/geom"
)

// voidKind says what a place between the halves is part of.
type voidKind uint8

const (
	inRubber  voidKind = iota
	inSpace            // the cavity or a channel
	inOutside          // or a space that is open to it, as a pry slot
	inHollow           // a closed space that neither reaches: a key's socket
)

// voids tells places of the closed mold's void apart.
type voids struct {
	w       sorter
	known   map[int32]int32 // node to hollow, outsideHollow for the outside; asked by node only
	hollows int
}

const outsideHollow = -1

func newVoids(m *Mold) *voids {
	return &voids{w: sorter{labels: *m.labels, m: m, sp: m.space}, known: map[int32]int32{}}
}

// at returns what a place is part of: by the lattice node nearest to it. The
// number is 0 for the cavity and that of the channel or hollow.
func (v *voids) at(p geom.Vec) (voidKind, int) {
	i, j, k := v.w.place(p)
	if n := &v.w.lat.N; uint(i) >= uint(n[0]) || uint(j) >= uint(n[1]) || uint(k) >= uint(n[2]) {
		return inOutside, 0
	}
	if v.w.run(i*v.w.lat.N[1]+j, k) < 0 {
		return inRubber, 0
	}
	x := v.w.index(i, j, k)
	switch l := v.w.of[x]; {
	case l == cavity:
		return inSpace, v.w.m.mouthAt(p)
	case l >= firstChannel && l&material == 0:
		n := int(l-firstChannel) + 1
		if n <= len(v.w.m.Channels) && v.w.m.Channels[n-1].Slit {
			return inHollow, v.slit(n) // as open as any other gap
		}
		return inSpace, n
	case l == beyond || v.w.m.fixed.outside.holds(v.w.point(x)):
		return inOutside, 0
	}
	if h := v.hollow(x); h != outsideHollow {
		return inHollow, int(h)
	}
	return inOutside, 0
}

// slit gives an open gap of the parting face the number of a hollow.
func (v *voids) slit(channel int) int {
	key := -int32(channel) - 1 // no node
	if h, ok := v.known[key]; ok {
		return int(h)
	}
	v.hollows++
	v.known[key] = int32(v.hollows)
	return v.hollows
}

// hollow walks the space around a void node that is neither cavity, channel nor
// known to lie outside, until it meets the outside or has seen all of it.
func (v *voids) hollow(x int32) int32 {
	if h, ok := v.known[x]; ok {
		return h
	}
	v.hollows++
	h := int32(v.hollows)
	v.known[x] = h
	queue := []int32{x}
	out := false
	for head := 0; head < len(queue) && !out; head++ {
		v.w.around(queue[head], func(y int32) {
			seen, ok := v.known[y]
			switch {
			case ok:
				out = out || seen == outsideHollow
			case v.w.of[y] == beyond || v.w.m.fixed.outside.holds(v.w.point(y)):
				out = true
			default:
				v.known[y] = h
				queue = append(queue, y)
			}
		})
	}
	if out {
		for _, y := range queue {
			v.known[y] = outsideHollow
		}
		return outsideHollow
	}
	return h
}

func itoa(n int) string { return strconv.Itoa(n) }
