package checks

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"pourproof/geom"
)

// A key names a finding across runs: check/kind@x:y:z, check/kind/body for what may
// be found once a file, check/kind for what there is one of. The place is that of the feature, not of
// the number: the high point over a pocket, the mouth of a channel. It is the
// middle of a cell of keyCell mm, so the noise of another cell size or of other
// facets and most small moves in CAD leave the key alone.
//
// A move can cross a cell's face however small it is. SameKey therefore also
// tells keys of one kind in neighbouring cells for the same, which takes in every
// move up to keyCell.

const (
	// keyCell is the size of a key's cells in mm: above twice the 2 mm that a
	// feature may move and still be the same, and below the distance of two
	// features that one vent could not serve.
	keyCell = 5.0
	// keyShift keeps the faces of the cells (2.37, 7.37, … mm) away from the
	// places where CAD models have their features: 0.13 mm from every half and
	// 0.12 mm from every quarter millimetre.
	keyShift = 2.37
)

// keyOf returns a finding's key before collisions are resolved.
func keyOf(f *Finding) string {
	k := f.Check + "/" + f.kind
	switch {
	case f.anchor != nil:
		return k + "@" + cellName(*f.anchor)
	case f.of != "":
		return k + "/" + plainName(f.of)
	}
	return k
}

func cellName(v geom.Vec) string {
	c := cellOf(v)
	return strconv.Itoa(c[0]*keyCell) + ":" + strconv.Itoa(c[1]*keyCell) + ":" + strconv.Itoa(c[2]*keyCell)
}

func cellOf(v geom.Vec) [3]int {
	n := func(x float64) int { return int(math.Floor((x-keyShift)/keyCell)) + 1 }
	return [3]int{n(v.X), n(v.Y), n(v.Z)}
}

// plainName writes a body's name with letters, digits and dashes only, so that a
// key can stand in KEY=reason and on a command line without quotes.
func plainName(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, s)
	return strings.Trim(s, "-")
}

// giveKeys gives every finding its key. Findings that would share one are told
// apart by #2, #3, … in the order of their places, so that the numbers do not
// depend on how bad each is.
func giveKeys(list []Finding) {
	order := make([]int, len(list))
	for i := range list {
		list[i].Key = keyOf(&list[i])
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		f, g := &list[a], &list[b]
		return cmp.Or(cmp.Compare(f.Key, g.Key), comparePlaces(f.anchor, g.anchor), cmp.Compare(f.Title, g.Title))
	})
	for i, n := 1, 1; i < len(order); i++ {
		f, before := &list[order[i]], &list[order[i-1]]
		if keyOf(f) != keyOf(before) {
			n = 1
			continue
		}
		n++
		f.Key += "#" + strconv.Itoa(n)
	}
}

// comparePlaces orders places by X, Y, Z; none comes first.
func comparePlaces(a, b *geom.Vec) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return -1
	case b == nil:
		return 1
	case a.Less(*b):
		return -1
	case b.Less(*a):
		return 1
	}
	return 0
}

// SameKey tells whether two keys may name one finding: they are equal, or of one
// check and kind and in cells that touch.
func SameKey(a, b string) bool {
	if a == b {
		return true
	}
	ka, ca, ok := splitKey(a)
	kb, cb, ok2 := splitKey(b)
	if !ok || !ok2 || ka != kb {
		return false
	}
	for i := range ca {
		if d := ca[i] - cb[i]; d < -int(keyCell) || d > int(keyCell) {
			return false
		}
	}
	return true
}

// splitKey returns check and kind of a key with a place, and that place.
func splitKey(key string) (kind string, cell [3]int, ok bool) {
	kind, place, ok := strings.Cut(key, "@")
	if !ok {
		return "", cell, false
	}
	place, _, _ = strings.Cut(place, "#")
	words := strings.Split(place, ":")
	if len(words) != 3 {
		return "", cell, false
	}
	for i, w := range words {
		n, err := strconv.Atoi(w)
		if err != nil {
			return "", cell, false
		}
		cell[i] = n
	}
	return kind, cell, true
}
