package render

import "image/color"

// The drawing colours.
//
// Colour is never the only sign: cut faces differ by their pattern, marks by
// the weight of their ring and by their number. The colours still were chosen
// to hold apart for every reader:
//
//   - materials that meet in a section differ in CIE lightness L* by at least 7,
//     so they stay apart in grey print: paper 100, rubber 88 and 76, resin 69, part
//     56, air 45, ink 13;
//   - seen with protanopia, deuteranopia or tritanopia (matrices of Machado,
//     Oliveira, Fernandes 2009, severity 1) any two of them, gate and vent included,
//     differ by more than 10 in CIE 1976 colour difference, where about 2.3 is just
//     noticeable; the test computes it;
//   - the three emphases differ in L* by 18 and more (strong 34, light 52, medium
//     72) and go along red, blue and amber, which no common colour blindness brings
//     together.
var (
	Ink   = color.RGBA{0x1b, 0x21, 0x29, 0xff} // lines and text
	Paper = color.RGBA{0xff, 0xff, 0xff, 0xff}

	Rubber1 = color.RGBA{0xd3, 0xdf, 0xea, 0xff} // first half: pale blue grey
	Rubber2 = color.RGBA{0xb4, 0xc0, 0xb2, 0xff} // second half: sage grey
	Resin   = color.RGBA{0xdd, 0x9c, 0x3f, 0xff} // ochre
	Air     = color.RGBA{0x2b, 0x6c, 0xb0, 0xff} // blue, cut faces dotted on white
	Part    = color.RGBA{0x68, 0x8d, 0x90, 0xff} // slate
	Gate    = color.RGBA{0x63, 0x38, 0x80, 0xff} // violet
	Vent    = color.RGBA{0x57, 0xb4, 0xd3, 0xff} // sky

	Strong = color.RGBA{0x9c, 0x1c, 0x28, 0xff} // would spoil the job
	Medium = color.RGBA{0xe3, 0xa6, 0x1d, 0xff} // to be discussed
	Light  = color.RGBA{0x3f, 0x80, 0xc4, 0xff} // worth knowing
)

// rgb is a colour packed as 0xRRGGBB.
type rgb uint32

func pack(c color.RGBA) rgb { return rgb(c.R)<<16 | rgb(c.G)<<8 | rgb(c.B) }

func (c rgb) color() color.RGBA {
	return color.RGBA{uint8(c >> 16), uint8(c >> 8), uint8(c), 0xff}
}

// mix returns the colour a fraction t/256 of the way from c to d, rounded.
func (c rgb) mix(d rgb, t uint32) rgb {
	u := 256 - t
	ch := func(shift uint) rgb {
		a, b := uint32(c>>shift)&0xff, uint32(d>>shift)&0xff
		return rgb((a*u+b*t+128)>>8) << shift
	}
	return ch(16) | ch(8) | ch(0)
}

// shades is the number of steps from the darkest to the lightest shade of a
// surface colour.
const shades = 64

// ramp returns the shades of a surface colour. The middle of the ramp is the
// colour itself; shadows go towards a dark blue, since a shadow that only loses
// light looks dirty on white paper, and lit faces towards white. Behind a
// section plane everything is paler, so that the cut faces stand out.
func ramp(c rgb, behind bool) [shades]rgb {
	const shadow = rgb(0x1d2740)
	var r [shades]rgb
	for i := range r {
		t := i*512/(shades-1) - 256 // -256 darkest .. 256 lightest
		if t < 0 {
			r[i] = c.mix(shadow, uint32(-t*150/256))
		} else {
			r[i] = c.mix(0xffffff, uint32(t*120/256))
		}
		if behind {
			r[i] = r[i].mix(0xffffff, 56)
		}
	}
	return r
}
