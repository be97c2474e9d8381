package render

import (
	"cmp"
	"image"
	"image/color"
	"math"
	"slices"
)

// quantizer turns a picture of any number of colours into one of at most 256:
// exactly where it has no more; else the commonest colours keep entries of their
// own and the set of the others is cut into boxes (Heckbert, Color image
// quantization for frame buffer display, SIGGRAPH 1982; the box of largest
// squared error is cut next). Everything is ordered by count and colour, so equal
// pictures get equal palettes.
type quantizer struct {
	keys  []uint32 // open addressing; colour + 1, 0 for free
	slots []int32  // index into seen
	seen  []tint
	order []int32
	index []uint8 // palette entry of each seen colour
	runs  []run   // of pixels of one colour
}

// run ends before a pixel; its colour is an index into seen.
type run struct{ end, seen int32 }

// tint is a colour and how many pixels have it.
type tint struct {
	c rgb
	n int64
}

const maxColors = 256

func (q *quantizer) image(px []rgb, w, h int) *image.Paletted {
	q.count(px)
	pal := q.choose()
	img := image.NewPaletted(image.Rect(0, 0, w, h), pal)
	from := 0
	for _, r := range q.runs {
		fill(img.Pix[from:r.end], q.index[r.seen])
		from = int(r.end)
	}
	return img
}

// find returns the slot of a colour, or the free slot it would take.
func (q *quantizer) find(c rgb) int {
	mask := len(q.keys) - 1
	k := int(uint32(c)*0x9e3779b1>>8) & mask
	for q.keys[k] != 0 && q.keys[k] != uint32(c)+1 {
		k = (k + 1) & mask
	}
	return k
}

// count collects the picture's colours. White comes first, so that paper is
// entry 0.
func (q *quantizer) count(px []rgb) {
	if q.keys == nil {
		q.keys, q.slots = make([]uint32, 1<<12), make([]int32, 1<<12)
	}
	clear(q.keys)
	q.seen, q.runs = q.seen[:0], q.runs[:0]
	q.add(0xffffff, 0)
	for i := 0; i < len(px); {
		c, j := px[i], i+1
		for j < len(px) && px[j] == c {
			j++
		}
		q.runs = append(q.runs, run{int32(j), q.add(c, int64(j-i))})
		i = j
	}
}

// add counts n pixels of a colour and returns its index in seen.
func (q *quantizer) add(c rgb, n int64) int32 {
	k := q.find(c)
	if q.keys[k] != 0 {
		i := q.slots[k]
		q.seen[i].n += n
		return i
	}
	at := int32(len(q.seen))
	q.keys[k], q.slots[k] = uint32(c)+1, at
	q.seen = append(q.seen, tint{c, n})
	if 2*len(q.seen) > len(q.keys) {
		q.keys, q.slots = make([]uint32, 2*len(q.keys)), make([]int32, 2*len(q.keys))
		for i, t := range q.seen {
			k := q.find(t.c)
			q.keys[k], q.slots[k] = uint32(t.c)+1, int32(i)
		}
	}
	return at
}

// cutBox is a run of q.order.
type cutBox struct {
	lo, hi  int
	err     float64 // squared error of the widest channel, weighted by pixels
	channel uint    // its shift
}

// choose fixes the palette and the entry of each colour.
func (q *quantizer) choose() color.Palette {
	q.index = resize(q.index, len(q.seen))
	var pal color.Palette
	if len(q.seen) <= maxColors {
		for i, t := range q.seen {
			q.index[i] = uint8(i)
			pal = append(pal, t.c.color())
		}
		return pal
	}
	pal = q.popular(pal)
	boxes := []cutBox{q.measure(0, len(q.order))}
	for len(boxes) < maxColors-len(pal) {
		worst := 0
		for i := range boxes {
			if boxes[i].err > boxes[worst].err {
				worst = i
			}
		}
		if boxes[worst].err == 0 {
			break
		}
		b := boxes[worst]
		m := q.split(b)
		boxes[worst] = q.measure(b.lo, m)
		boxes = append(boxes, q.measure(m, b.hi))
	}
	for _, b := range boxes {
		pal = append(pal, q.mean(b).color())
	}
	q.nearest(pal)
	return pal
}

// exactColors is how many of the commonest colours get an entry of their own:
// the shades of plain and of softly shaded faces, where a wrong step would be
// seen as a band. What is left are mostly mixtures along lines.
const exactColors = 160

// popular adds white and the commonest colours to the palette and leaves the
// others in q.order.
func (q *quantizer) popular(pal color.Palette) color.Palette {
	q.order = q.order[:0]
	for i := 1; i < len(q.seen); i++ {
		q.order = append(q.order, int32(i))
	}
	slices.SortFunc(q.order, func(i, j int32) int {
		if d := cmp.Compare(q.seen[j].n, q.seen[i].n); d != 0 {
			return d
		}
		return cmp.Compare(q.seen[i].c, q.seen[j].c)
	})
	pal = append(pal, Paper)
	for _, i := range q.order[:exactColors] {
		pal = append(pal, q.seen[i].c.color())
	}
	q.order = q.order[exactColors:]
	return pal
}

// nearest gives every colour the entry at the least squared distance, the first
// of equals.
func (q *quantizer) nearest(pal color.Palette) {
	var r, g, b [maxColors]int32
	for k, c := range pal {
		v := c.(color.RGBA)
		r[k], g[k], b[k] = int32(v.R), int32(v.G), int32(v.B)
	}
	for i, t := range q.seen {
		cr, cg, cb := int32(t.c>>16), int32(t.c>>8&0xff), int32(t.c&0xff)
		best := int32(math.MaxInt32)
		for k := range pal {
			dr, dg, db := cr-r[k], cg-g[k], cb-b[k]
			if d := dr*dr + dg*dg + db*db; d < best {
				best, q.index[i] = d, uint8(k)
			}
		}
	}
}

// measure finds the channel of largest spread.
func (q *quantizer) measure(lo, hi int) cutBox {
	b := cutBox{lo: lo, hi: hi}
	for _, shift := range [3]uint{8, 16, 0} {
		var n, s, s2 int64
		for _, i := range q.order[lo:hi] {
			t := q.seen[i]
			v := int64(t.c >> shift & 0xff)
			n, s, s2 = n+t.n, s+v*t.n, s2+v*v*t.n
		}
		if n == 0 {
			continue
		}
		if e := float64(s2) - float64(s)*float64(s)/float64(n); e > b.err && e > 1e-3 {
			b.err, b.channel = e, shift
		}
	}
	return b
}

// split orders a box along its channel and returns where to cut it: at the mean,
// with at least one colour on each side.
func (q *quantizer) split(b cutBox) int {
	part := q.order[b.lo:b.hi]
	key := func(i int32) uint32 { return uint32(q.seen[i].c>>b.channel) & 0xff }
	slices.SortFunc(part, func(i, j int32) int {
		if d := cmp.Compare(key(i), key(j)); d != 0 {
			return d
		}
		return cmp.Compare(q.seen[i].c, q.seen[j].c)
	})
	var n, s int64
	for _, i := range part {
		n, s = n+q.seen[i].n, s+int64(key(i))*q.seen[i].n
	}
	k := 1
	for k < len(part)-1 && int64(key(part[k]))*n <= s {
		k++
	}
	return b.lo + k
}

// mean returns the mean colour of a box's pixels.
func (q *quantizer) mean(b cutBox) rgb {
	var n, r, g, bl int64
	for _, i := range q.order[b.lo:b.hi] {
		t := q.seen[i]
		n += t.n
		r += int64(t.c>>16&0xff) * t.n
		g += int64(t.c>>8&0xff) * t.n
		bl += int64(t.c&0xff) * t.n
	}
	return rgb((r+n/2)/n)<<16 | rgb((g+n/2)/n)<<8 | rgb((bl+n/2)/n)
}
