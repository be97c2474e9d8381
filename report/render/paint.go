package render

// lineDark is how much of a sample's colour a line of each class replaces by
// ink, in 1/256.
var lineDark = [4]uint32{0, 150, 225, 244}

const ink = rgb(0x1b2129) // Ink

// ghostTint is how much of a sample's colour a ghost in front of it replaces,
// in 1/256.
const ghostTint = 46

// paint resolves the tile's samples to pixels.
func (t *tile) paint(tx, ty int) {
	f := t.f
	px0, py0 := tx*tileSide/subPixel, ty*tileSide/subPixel
	px1, py1 := min(px0+tileSide/subPixel, f.w), min(py0+tileSide/subPixel, f.h)
	// Outside what is drawn, lines around it included, there is bare paper.
	x0, y0, x1, y1 := t.ox+t.drawn.x0-f.halo, t.oy+t.drawn.y0-f.halo, t.ox+t.drawn.x1+f.halo, t.oy+t.drawn.y1+f.halo
	left, right := min(max(x0/subPixel, px0), px1), min(max(x1/subPixel+1, px0), px1)
	for py := py0; py < py1; py++ {
		a, b := left, right
		if py < y0/subPixel || py > y1/subPixel {
			a, b = px1, px1
		}
		t.paper(py, px0, a)
		t.paper(py, b, px1)
		o := (py*subPixel-t.oy)*t.side - t.ox
		for px := a; px < b; px++ {
			i := o + px*subPixel
			k := i + t.side
			f.depth[py*f.w+px] = min(t.z[i], t.z[i+1], t.z[k], t.z[k+1])
			f.rgb[py*f.w+px] = t.pixel(i, k, px*subPixel, py*subPixel)
		}
	}
}

// pixel returns the colour of a pixel whose upper samples are i and i+1 and whose lower
// ones k and k+1; the first is sample (gx, gy) of the picture.
func (t *tile) pixel(i, k, gx, gy int) rgb {
	id := t.id[i]
	plain := id == t.id[i+1] && id == t.id[k] && id == t.id[k+1] &&
		t.line[i]|t.line[i+1]|t.line[k]|t.line[k+1] == noLine && (!t.hasGhost || t.noGhost(i) && t.noGhost(k))
	switch {
	case !plain:
	case id == nothing:
		return 0xffffff
	case id < capBit:
		return t.shader.pixel(t.f, id, gx, gy)
	default:
		return t.f.bodies[id&^capBit].cap.pixel(gx, gy)
	}
	return mean(t.sample(i, gx, gy), t.sample(i+1, gx+1, gy), t.sample(k, gx, gy+1), t.sample(k+1, gx+1, gy+1))
}

// noGhost reports whether no ghost covers two neighbouring samples.
func (t *tile) noGhost(i int) bool { return t.gid[i] == nothing && t.gid[i+1] == nothing }

// blank paints a tile that no facet reaches.
func (t *tile) blank(tx, ty int) {
	f := t.f
	px0, py0 := tx*tileSide/subPixel, ty*tileSide/subPixel
	px1, py1 := min(px0+tileSide/subPixel, f.w), min(py0+tileSide/subPixel, f.h)
	for py := py0; py < py1; py++ {
		t.paper(py, px0, px1)
	}
}

// paper paints bare pixels of a row.
func (t *tile) paper(py, px0, px1 int) {
	o := py * t.f.w
	fill(t.f.rgb[o+px0:o+px1], 0xffffff)
	fill(t.f.depth[o+px0:o+px1], far)
}

// mean averages four colours, rounding to nearest.
func mean(a, b, c, d rgb) rgb {
	if a == b && a == c && a == d {
		return a
	}
	const rb, g = 0xff00ff, 0x00ff00
	x := (uint64(a&rb) + uint64(b&rb) + uint64(c&rb) + uint64(d&rb) + 0x020002) >> 2
	y := (uint64(a&g) + uint64(b&g) + uint64(c&g) + uint64(d&g) + 0x000200) >> 2
	return rgb(x)&rb | rgb(y)&g
}

// sample returns the colour of tile sample i at sample (gx, gy) of the picture.
func (t *tile) sample(i, gx, gy int) rgb {
	f := t.f
	c := rgb(0xffffff)
	id := t.id[i]
	switch {
	case id == nothing:
	case id >= capBit:
		c = f.bodies[id&^capBit].cap.at(gx, gy)
	default:
		c = t.shader.sample(f, id, gx, gy)
	}
	if k := t.line[i]; k != noLine {
		c = c.mix(ink, lineDark[k])
	}
	if t.hasGhost && t.gid[i] != nothing && t.gz[i] < t.z[i] {
		c = c.mix(t.veil.sample(f, t.gid[i], gx, gy), ghostTint)
	}
	return c
}
