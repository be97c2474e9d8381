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
	for py := py0; py < py1; py++ {
		o := (py*subPixel-t.oy)*t.side - t.ox
		for px := px0; px < px1; px++ {
			i := o + px*subPixel
			k := i + t.side
			f.depth[py*f.w+px] = min(t.z[i], t.z[i+1], t.z[k], t.z[k+1])
			if t.empty(i) && t.empty(k) {
				f.rgb[py*f.w+px] = 0xffffff
				continue
			}
			gx, gy := px*subPixel, py*subPixel
			f.rgb[py*f.w+px] = mean(t.sample(i, gx, gy), t.sample(i+1, gx+1, gy),
				t.sample(k, gx, gy+1), t.sample(k+1, gx+1, gy+1))
		}
	}
}

// empty reports whether two neighbouring samples show bare paper.
func (t *tile) empty(i int) bool {
	if t.id[i] != nothing || t.id[i+1] != nothing || t.line[i]|t.line[i+1] != noLine {
		return false
	}
	return !t.hasGhost || t.gid[i] == nothing && t.gid[i+1] == nothing
}

// blank paints a tile that no facet reaches.
func (t *tile) blank(tx, ty int) {
	f := t.f
	px0, py0 := tx*tileSide/subPixel, ty*tileSide/subPixel
	px1, py1 := min(px0+tileSide/subPixel, f.w), min(py0+tileSide/subPixel, f.h)
	for py := py0; py < py1; py++ {
		fill(f.rgb[py*f.w+px0:py*f.w+px1], 0xffffff)
		fill(f.depth[py*f.w+px0:py*f.w+px1], far)
	}
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
		c = f.blend(id, &f.bodies[f.norm[id]>>24], gx, gy)
	}
	if k := t.line[i]; k != noLine {
		c = c.mix(ink, lineDark[k])
	}
	if t.hasGhost && t.gid[i] != nothing && t.gz[i] < t.z[i] {
		g := t.gid[i]
		c = c.mix(f.blend(g, &f.bodies[f.norm[g]>>24], gx, gy), ghostTint)
	}
	return c
}
