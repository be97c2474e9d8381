package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// setup is a mold that a test changes as a whole before closing it.
type setup struct {
	job    Job
	part   Body
	halves []Body
}

func storedSetup(t testing.TB, name string) setup {
	part, halves := loadCase(t, name)
	return setup{part: part, halves: halves}
}

// change passes every mesh through f.
func (s setup) change(f func(*geom.Mesh) *geom.Mesh) setup {
	out := setup{job: s.job, part: s.part}
	out.part.Mesh = f(s.part.Mesh)
	for _, h := range s.halves {
		h.Mesh = f(h.Mesh)
		out.halves = append(out.halves, h)
	}
	return out
}

// move moves every mesh.
func (s setup) move(r geom.Rigid) setup {
	return s.change(func(m *geom.Mesh) *geom.Mesh { return geomtest.Transform(m, r) })
}

// shift moves every mesh by d.
func (s setup) shift(d geom.Vec) setup {
	r := geom.Identity()
	r.T = d
	return s.move(r)
}

// turn moves the meshes and with them the rest direction, and names the gate.
func (s setup) turn(r geom.Rigid, gate geom.Vec) setup {
	out := s.move(r)
	up := r.Turn(geom.Vec{Z: 1})
	out.job.Up, out.job.Gates = &up, []geom.Vec{r.Apply(gate)}
	return out
}

func (s setup) close(t testing.TB) *Mold {
	t.Helper()
	m, err := Close(s.job, s.part, s.halves)
	require.NoError(t, err)
	return m
}

// level is the upward direction of a mold that rests on its -z side.
var level = geom.Vec{Z: 1}

// tilted returns up for a mold at rest on its -z side, raised by angle degrees on
// the side facing azimuth side.
func tilted(angle, side float64) geom.Vec { return UpFor(level, *deg(angle, side)) }

func pourUp(t testing.TB, m *Mold, up geom.Vec) *Fill {
	t.Helper()
	f, err := m.Pour(up)
	require.NoError(t, err)
	return f
}

// gateOf returns the only gate.
func gateOf(t testing.TB, m *Mold) Channel { return only(t, m, Gate) }

// only returns the only channel of a role.
func only(t testing.TB, m *Mold, role Role) Channel {
	t.Helper()
	var out []Channel
	for _, c := range m.Channels {
		if c.Role == role {
			out = append(out, c)
		}
	}
	require.Len(t, out, 1, "%s\n%s", role, channelList(m))
	return out[0]
}

func tan(degrees float64) float64 { return math.Tan(degrees * math.Pi / 180) }

// box is an axis-aligned stretch of space.
type box struct{ lo, hi geom.Vec }

func vec(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }

func boxAt(x0, y0, z0, x1, y1, z1 float64) box { return box{vec(x0, y0, z0), vec(x1, y1, z1)} }

// blockMold is a mold made of boxes: a block split at a height, in it the rooms of
// the part, a gate and other hollows.
type blockMold struct {
	block box
	split float64
	rooms []box
	gate  box
	cuts  []box // vents, and hollows that do not reach the part
}

func (b *blockMold) setup() setup {
	half := func(z0, z1 float64) *geom.Mesh {
		lo, hi := b.block.lo, b.block.hi
		lo.Z, hi.Z = z0, z1
		ops := []geomtest.Op{geomtest.Add(lo, hi)}
		for _, h := range append(append([]box{b.gate}, b.rooms...), b.cuts...) {
			if h.lo.Z < z1 && h.hi.Z > z0 {
				ops = append(ops, geomtest.Cut(h.lo, h.hi))
			}
		}
		return geomtest.Grid(ops...)
	}
	var part []geomtest.Op
	for _, r := range b.rooms {
		part = append(part, geomtest.Add(r.lo, r.hi))
	}
	return setup{part: Body{Name: "part", Mesh: geomtest.Grid(part...)}, halves: []Body{
		{Name: "bottom", Mesh: half(b.block.lo.Z, b.split)},
		{Name: "top", Mesh: half(b.split, b.block.hi.Z)},
	}}
}

// b0Blocks is mold B0, built here.
func b0Blocks() *blockMold {
	return &blockMold{
		block: boxAt(0, 0, 0, 60, 40, 30), split: 15,
		rooms: []box{boxAt(10, 10, 10, 50, 30, 20)},
		gate:  boxAt(28, 18, 0, 32, 22, 10),
		cuts:  []box{boxAt(29, 19, 20, 31, 21, 30)},
	}
}
