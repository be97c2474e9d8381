package meshio

import (
	"archive/zip"
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"pourproof/geom"
)

// model3MF is one model part: objects and, in the root model, the build list.
type model3MF struct {
	name    string
	unit    unit
	objects map[string]*object3MF // by id
	build   []reference3MF
}

// object3MF holds a mesh or components, never both.
type object3MF struct {
	id         string
	name       string
	kind       string // model, solidsupport, support, surface or other
	vertices   []geom.Vec
	facets     [][3]int32
	components []reference3MF
}

// reference3MF places an object: a component of another object or an item of the
// build list.
type reference3MF struct {
	model    string // part name; empty for the same part
	object   string // id
	partName string // part number, for an object without a name
	place    affine
}

// units3MF maps the specification's unit names (section 3.4.1).
var units3MF = map[string]string{"micron": "um", "millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "in", "foot": "ft", "": "mm"}

// harmless lists the extension namespaces a file may require: what they add does
// not change the shape, or is read here (production: objects in other parts).
var harmless = []string{
	"http://schemas.microsoft.com/3dmanufacturing/core/",
	"http://schemas.microsoft.com/3dmanufacturing/production/",
	"http://schemas.microsoft.com/3dmanufacturing/material/",
	"http://schemas.microsoft.com/3dmanufacturing/trianglesets/",
}

// model reads a model part, once.
func (p *packageReader) model(name string) (*model3MF, error) {
	z := p.find(name)
	if z == nil {
		return nil, p.fault(name, "is named by the model and missing from the package", remedyExport)
	}
	if m := p.models[z.Name]; m != nil {
		return m, nil
	}
	r, err := p.open(z)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	m := &model3MF{name: z.Name, objects: map[string]*object3MF{}}
	p.models[z.Name] = m
	if err := p.parse(m, newXMLReader(bufio.NewReaderSize(r, 1<<16))); err != nil {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		// A damaged file is told by its checksum, which is compared at the end.
		if _, rest := io.CopyN(io.Discard, r, bombSize); errors.Is(rest, zip.ErrChecksum) {
			err = rest
		}
		return nil, p.xmlFault(z.Name, err)
	}
	return m, nil
}

func (p *packageReader) parse(m *model3MF, x *xmlReader) error {
	root, err := x.next()
	if err != nil {
		return err
	}
	if root.name != "model" {
		return errors.New("the part is not a model but " + quote([]byte(root.name)))
	}
	if err := m.start(&root); err != nil {
		return err
	}
	// All levels in one loop: what is not known is skipped with all it holds.
	for {
		e, err := x.next()
		if err != nil {
			return err
		}
		switch {
		case e.end && e.name == "model":
			return p.drain(x)
		case e.end, e.name == "resources", e.name == "build":
		case e.name == "object":
			err = p.object(m, x, &e)
		case e.name == "item":
			var item reference3MF
			if item, err = reference(&e); err == nil {
				m.build = append(m.build, item)
				err = x.skip()
			}
		default:
			err = x.skip()
		}
		if err != nil {
			return err
		}
	}
}

// drain reads to the part's end, so that its checksum is compared.
func (p *packageReader) drain(x *xmlReader) error {
	_, err := x.next()
	if err == io.EOF {
		return nil
	}
	if err == nil {
		err = errors.New("something follows the model")
	}
	return err
}

// start reads the model's unit and refuses extensions that would change the shape.
func (m *model3MF) start(root *element) error {
	name := root.attr("unit")
	short, ok := units3MF[name]
	if !ok {
		return errors.New("unknown unit " + quote([]byte(name)))
	}
	m.unit, _ = unitNamed(short)
	for _, prefix := range strings.Fields(root.attr("requiredextensions")) {
		space := prefix
		for _, a := range root.attrs {
			if a.Name.Space == "xmlns" && a.Name.Local == prefix {
				space = a.Value
			}
		}
		known := false
		for _, h := range harmless {
			known = known || strings.HasPrefix(space, h)
		}
		if !known {
			return errors.New("the file needs the 3MF extension " + quote([]byte(space)) + ", which is not read")
		}
	}
	return nil
}

// reference reads an item or a component.
func reference(e *element) (reference3MF, error) {
	r := reference3MF{object: e.attr("objectid"), model: e.attr("path"), partName: e.attr("partnumber"), place: identityAffine}
	if r.object == "" {
		return r, errors.New("a " + e.name + " names no object")
	}
	if t := e.attr("transform"); t != "" {
		var err error
		if r.place, err = parseAffine(t); err != nil {
			return r, err
		}
	}
	return r, nil
}

// object reads one object with its mesh or components.
func (p *packageReader) object(m *model3MF, x *xmlReader, e *element) error {
	o := &object3MF{id: e.attr("id"), name: e.attr("name"), kind: e.attr("type")}
	if o.kind == "" {
		o.kind = "model"
	}
	if o.name == "" {
		o.name = e.attr("partnumber")
	}
	if m.objects[o.id] != nil {
		return errors.New("two objects have the id " + quote([]byte(o.id)))
	}
	m.objects[o.id] = o
	if err := p.objectParts(o, x); err != nil {
		return objectFault(o, err)
	}
	if len(o.components) > 0 && len(o.facets) > 0 {
		return objectFault(o, errors.New("it has a mesh and components, one of which is too many"))
	}
	return nil
}

func objectFault(o *object3MF, err error) error {
	return fmt.Errorf("object %s: %w", quote([]byte(o.id)), err)
}

func (p *packageReader) objectParts(o *object3MF, x *xmlReader) error {
	for {
		e, err := x.next()
		if err != nil {
			return err
		}
		switch {
		case e.end && e.name == "object":
			return nil
		case e.end, e.name == "mesh", e.name == "components":
		case e.name == "component":
			var c reference3MF
			if c, err = reference(&e); err == nil {
				o.components = append(o.components, c)
				err = x.skip()
			}
		case e.name == "vertices" && !e.empty:
			err = o.readVertices(x)
		case e.name == "triangles" && !e.empty:
			err = p.readTriangles(o, x)
		default:
			err = x.skip()
		}
		if err != nil {
			return err
		}
	}
}

// readVertices reads <vertex x= y= z=/> tags.
func (o *object3MF) readVertices(x *xmlReader) error {
	return x.flat("vertex", func(tag []byte) error {
		var at [3]float64
		seen := 0
		rest := skipName(tag)
		for {
			name, value, after, ok := nextAttr(rest)
			if !ok {
				return fmt.Errorf("vertex %d cannot be read", len(o.vertices))
			}
			if name == nil {
				break
			}
			rest = after
			if k := int(name[0]) - 'x'; len(name) == 1 && k >= 0 && k < 3 {
				number, ok := parseNumber(trimBlanks(value))
				if !ok || math.Abs(number) > math.MaxFloat32 {
					return fmt.Errorf("vertex %d: %s is not a finite number", len(o.vertices), quote(value))
				}
				at[k] = number
				seen |= 1 << k
			}
		}
		if seen != 7 {
			return fmt.Errorf("vertex %d lacks a coordinate", len(o.vertices))
		}
		if len(o.vertices) >= 3*MaxFacets {
			return errors.New("more vertices than can be read")
		}
		o.vertices = append(o.vertices, geom.Vec{X: at[0], Y: at[1], Z: at[2]})
		return nil
	})
}

// readTriangles reads <triangle v1= v2= v3=/> tags; properties are ignored.
func (p *packageReader) readTriangles(o *object3MF, x *xmlReader) error {
	return x.flat("triangle", func(tag []byte) error {
		var t [3]int32
		seen := 0
		rest := skipName(tag)
		for {
			name, value, after, ok := nextAttr(rest)
			if !ok {
				return fmt.Errorf("triangle %d cannot be read", len(o.facets))
			}
			if name == nil {
				break
			}
			rest = after
			if len(name) == 2 && name[0] == 'v' && name[1] >= '1' && name[1] <= '3' {
				i, ok := parseIndex(trimBlanks(value))
				if !ok || int(i) >= len(o.vertices) {
					return fmt.Errorf("triangle %d names vertex %s of %d", len(o.facets), quote(value), len(o.vertices))
				}
				t[name[1]-'1'] = i
				seen |= 1 << (name[1] - '1')
			}
		}
		if seen != 7 {
			return fmt.Errorf("triangle %d lacks a corner", len(o.facets))
		}
		if p.facets++; p.facets > MaxFacets {
			return p.file.refuseSize(int64(p.facets))
		}
		o.facets = append(o.facets, t)
		return nil
	})
}

// skipName passes over a tag's name.
func skipName(tag []byte) []byte {
	_, rest := word(tag)
	return rest
}

func trimBlanks(b []byte) []byte {
	for len(b) > 0 && isBlank(b[0]) {
		b = b[1:]
	}
	for len(b) > 0 && isBlank(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

// parseIndex reads a number from 0 to 2^31-1.
func parseIndex(b []byte) (int32, bool) {
	n := int64(0)
	for _, c := range b {
		if c -= '0'; c > 9 {
			return 0, false
		}
		if n = n*10 + int64(c); n > math.MaxInt32 {
			return 0, false
		}
	}
	return int32(n), len(b) > 0
}
