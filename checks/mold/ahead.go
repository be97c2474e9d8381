package mold

import (
	"runtime"
	"sync"
	"sync/atomic"

	"pourproof/geom"
	"pourproof/geom/measure"
)

// ahead is the thickness of a half, measured while the mold is closed or when it is
// asked for, whichever is first.
type ahead struct {
	most  float64
	asked *atomic.Bool // for any half: those not begun are left to who asks
	once  sync.Once
	t     *measure.Thickness
	err   error
}

func (a *ahead) measure(m *geom.Mesh, shares int) {
	a.once.Do(func() { a.t, a.err = measure.Walls(m, measure.Options{Most: a.most, Shares: shares}) })
}

// MeasureAhead begins to measure the rubber for Rubber with these options, with half of
// the processors: closing a mold leaves some of them idle.
func (in *Intake) MeasureAhead(o RubberOptions) {
	asked := &atomic.Bool{}
	var list []*bodyIndex
	for i := range in.Halves {
		if b := &in.Halves[i]; b.known() {
			b.index.ahead = &ahead{most: o.filled().most(), asked: asked}
			list = append(list, b.index)
		}
	}
	go func() {
		for _, b := range list {
			if asked.Load() {
				return
			}
			b.ahead.measure(b.mesh, max(runtime.GOMAXPROCS(0)/2, 1))
		}
	}()
}

// walls measures the thickness of a half, up to most mm, or takes what was measured ahead.
func (b *Body) walls(most float64) (*measure.Thickness, error) {
	if b.known() && b.index.ahead != nil && b.index.ahead.most == most {
		a := b.index.ahead
		a.asked.Store(true)
		if a.measure(b.Mesh, 0); a.t != nil || a.err != nil {
			t := a.t
			a.t = nil // who takes it may let it go
			return t, a.err
		}
	}
	return measure.Walls(b.Mesh, measure.Options{Most: most})
}
