package mold

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// TestClosingOrder: the order of facets changes nothing that a report shows, to
// 1e-4 of its unit.
func TestClosingOrder(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"keys", "bunny", "torus", "parting-gap03"} {
		s := storedSetup(t, name)
		_, want := s.shut(t)
		other := s.change(func(m *geom.Mesh) *geom.Mesh { return geomtest.ShuffleFacets(m, 7) })
		_, got := other.shut(t)
		assert.Equal(t, shown(want), shown(got), name)
	}
}

// shown returns what a report shows of a fit, every number rounded to 1e-4.
func shown(c *Closing) any {
	d := *c
	d.Faces, d.Deviation.Samples = nil, nil
	for i := range d.Keys {
		d.Keys[i].cells = nil
	}
	v := reflect.ValueOf(&d).Elem()
	roundAll(v)
	return d
}

func roundAll(v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if v.CanSet() {
			v.SetFloat(math.Round(v.Float()*1e4)/1e4 + 0)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			roundAll(v.Field(i))
		}
	case reflect.Slice:
		for i := range v.Len() {
			roundAll(v.Index(i))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			roundAll(v.Elem())
		}
	}
}
