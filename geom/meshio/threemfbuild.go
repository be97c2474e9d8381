package meshio

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"pourproof/geom"
)

// affine is a transform of the 3MF specification (section 3.3): row vectors, so a
// point becomes x*row 0 + y*row 1 + z*row 2 + row 3.
type affine [4]geom.Vec

var identityAffine = affine{{X: 1}, {Y: 1}, {Z: 1}, {}}

// parseAffine reads twelve numbers, row by row.
func parseAffine(s string) (affine, error) {
	fields := strings.Fields(s)
	if len(fields) != 12 {
		return affine{}, fmt.Errorf("a transform has %d numbers, not 12", len(fields))
	}
	var v [12]float64
	for i, f := range fields {
		x, ok := parseNumber([]byte(f))
		if !ok || math.Abs(x) > math.MaxFloat32 {
			return affine{}, fmt.Errorf("a transform holds %s, not a finite number", quote([]byte(f)))
		}
		v[i] = x
	}
	var a affine
	for i := range a {
		a[i] = geom.Vec{X: v[3*i], Y: v[3*i+1], Z: v[3*i+2]}
	}
	return a, nil
}

// turn applies the transform without its shift.
func (a affine) turn(p geom.Vec) geom.Vec {
	return a[0].Scale(p.X).AddScaled(a[1], p.Y).AddScaled(a[2], p.Z)
}

func (a affine) apply(p geom.Vec) geom.Vec { return a.turn(p).Add(a[3]) }

// then returns the transform that does a first and b after it.
func (a affine) then(b affine) affine {
	return affine{b.turn(a[0]), b.turn(a[1]), b.turn(a[2]), b.apply(a[3])}
}

// determinant is negative for a mirror.
func (a affine) determinant() float64 { return a[0].Dot(a[1].Cross(a[2])) }

// Bounds on the tree of components. A tree of objects that each hold the next
// twice would grow without bound from a small file.
const (
	maxComponents = 1 << 16 // places visited in all
	maxAssembly   = 32      // levels
)

// placed is a mesh object at its place.
type placed struct {
	object *object3MF
	place  affine
}

// build makes a body of each item. A single item that is an assembly stands for
// its components: each of them becomes a body.
func (p *packageReader) build(root *model3MF) error {
	items, home, at := root.build, root, identityAffine
	if len(items) == 0 {
		return p.fault(root.name, "the build list is empty", "add the bodies to the build and export again")
	}
	b := &builder{reader: p}
	for depth := 0; len(items) == 1 && depth < maxAssembly; depth++ {
		model, o, err := p.resolve(home, &items[0])
		if err != nil {
			return err
		}
		if len(o.components) == 0 || o.kind != "model" {
			break
		}
		if o.name != "" {
			b.assembly = o.name
		}
		at = items[0].place.then(at)
		at = model.inUnitOf(home).then(at)
		home, items = model, o.components
	}
	for i := range items {
		if err := b.item(home, &items[i], at); err != nil {
			return err
		}
	}
	return b.finish()
}

// inUnitOf returns the transform from a model's unit to another's.
func (m *model3MF) inUnitOf(home *model3MF) affine {
	k := m.unit.mm / home.unit.mm
	return affine{{X: k}, {Y: k}, {Z: k}, {}}
}

// builder collects the bodies of a build list.
type builder struct {
	reader   *packageReader
	assembly string // name of the assembly that was opened
	visited  int
	facets   int
	skipped  int    // objects that are not parts
	kind     string // of the first of them
	pieces   []placed
	ends     []int // of each body in pieces
	names    []string
}

// resolve finds the object a reference names.
func (p *packageReader) resolve(home *model3MF, r *reference3MF) (*model3MF, *object3MF, error) {
	model := home
	if r.model != "" {
		var err error
		if model, err = p.model(r.model); err != nil {
			return nil, nil, err
		}
	}
	o := model.objects[r.object]
	if o == nil {
		return nil, nil, p.fault(model.name, "there is no object "+quote([]byte(r.object))+", which the build needs", remedyExport)
	}
	return model, o, nil
}

// item gathers the meshes of one body.
func (b *builder) item(home *model3MF, r *reference3MF, at affine) error {
	before := len(b.pieces)
	if err := b.gather(home, r, at, 0); err != nil {
		return err
	}
	if len(b.pieces) > before {
		b.ends, b.names = append(b.ends, len(b.pieces)), append(b.names, b.nameOf(home, r))
	}
	return nil
}

// nameOf returns the name of the object, or of the item, or of the only component
// that a nameless object stands for.
func (b *builder) nameOf(home *model3MF, r *reference3MF) string {
	for range maxAssembly {
		model, o, err := b.reader.resolve(home, r)
		if err != nil { // not after gather
			break
		}
		if o.name != "" {
			return o.name
		}
		if r.partName != "" {
			return r.partName
		}
		if len(o.components) != 1 {
			break
		}
		home, r = model, &o.components[0]
	}
	return ""
}

// gather walks down the components to the meshes.
func (b *builder) gather(home *model3MF, r *reference3MF, at affine, depth int) error {
	p := b.reader
	model, o, err := p.resolve(home, r)
	if err != nil {
		return err
	}
	if b.visited++; b.visited > maxComponents || depth > maxAssembly {
		return p.fault(model.name, "the components are nested too deep or too many", "export the bodies without assemblies")
	}
	if o.kind != "model" {
		if b.skipped++; b.skipped == 1 {
			b.kind = o.kind
		}
		return nil
	}
	place := r.place.then(at)
	place = model.inUnitOf(home).then(place)
	if len(o.facets) > 0 {
		if b.facets += len(o.facets); b.facets > MaxFacets {
			return p.file.refuseSize(int64(b.facets))
		}
		b.pieces = append(b.pieces, placed{o, place})
	}
	for i := range o.components {
		if err := b.gather(model, &o.components[i], place, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// finish welds the bodies. All sizes are known and bounded by now.
func (b *builder) finish() error {
	f := b.reader.file
	if b.skipped > 0 {
		f.warn("object-skipped", "%d objects that are not parts (the first is of type %s) left out", b.skipped, quote([]byte(b.kind)))
	}
	if len(b.ends) == 0 {
		return f.refuse(-1, "the build list holds no mesh", "add the bodies to the build and export again")
	}
	if len(b.ends) == 1 && b.names[0] == "" {
		b.names[0] = b.assembly
	}
	start := 0
	for i, end := range b.ends {
		mesh, err := weldPieces(b.pieces[start:end])
		if err != nil {
			return f.refuse(-1, "body %s: %s", remedyExport, quote([]byte(b.names[i])), err.Error())
		}
		f.Bodies = append(f.Bodies, Body{Name: b.names[i], Mesh: mesh})
		start = end
	}
	return nil
}

// weldPieces places meshes and makes one of them. A mirror turns the facets over,
// so that they keep facing outward (section 3.3).
func weldPieces(pieces []placed) (*geom.Mesh, error) {
	total := 0
	for _, q := range pieces {
		total += len(q.object.facets)
	}
	w := geom.NewWelder(total)
	for _, q := range pieces {
		d := q.place.determinant()
		if d == 0 || math.IsInf(d, 0) || math.IsNaN(d) {
			return nil, errors.New("its transform flattens it or leaves all bounds")
		}
		vertices := make([]geom.Vec, len(q.object.vertices))
		for i, v := range q.object.vertices {
			if vertices[i] = q.place.apply(v); !vertices[i].Finite() {
				return nil, errors.New("its transform leaves all bounds")
			}
		}
		for _, t := range q.object.facets {
			if d < 0 {
				t[1], t[2] = t[2], t[1]
			}
			w.Add(vertices[t[0]], vertices[t[1]], vertices[t[2]])
		}
	}
	return w.Mesh(), nil
}
