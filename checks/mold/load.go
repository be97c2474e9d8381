package mold

import (
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/meshio"
)

// Intake is the meshes of a job, read, repaired and put in their places.
type Intake struct {
	Inputs []Input // the part first, then the halves in the order given
	Part   Body
	Halves []Body
}

// Load reads the meshes that a job names through fsys. It repairs and reports
// what leaves no doubt, and refuses only what would make every answer
// meaningless: an error names the file, the place and the remedy.
func Load(fsys fs.FS, job *Job) (*Intake, error) {
	if len(job.Halves) < 2 {
		return nil, fmt.Errorf("a closed mold needs a part and at least two halves, got %d halves", len(job.Halves))
	}
	specs := append([]*BodySpec{&job.Part}, nil...)
	for i := range job.Halves {
		specs = append(specs, &job.Halves[i])
	}
	for _, spec := range specs { // all before any is read: a slip is told at once
		if err := meshio.Look(fsys, spec.path()); err != nil {
			return nil, err
		}
	}
	names := Names(job)
	inputs, bodies := make([]Input, len(specs)), make([]Body, len(specs))
	faults := make([]error, len(specs))
	var group sync.WaitGroup
	for i, spec := range specs {
		role := "half"
		if i == 0 {
			role = "part"
		}
		group.Go(func() {
			inputs[i], bodies[i], faults[i] = loadBody(fsys, job, i, spec, role, names[i])
		})
	}
	group.Wait()
	for _, err := range faults {
		if err != nil {
			return nil, err
		}
	}
	if err := sameFile(inputs); err != nil {
		return nil, err
	}
	in := &Intake{Inputs: inputs, Part: bodies[0], Halves: bodies[1:]}
	in.cautionOrder()
	return in, nil
}

// LoadFile reads one mesh on its own, for a look at what it holds. units is that
// of a file that states none, empty for mm; from says who chose it.
func LoadFile(fsys fs.FS, file, units, from string) (Input, error) {
	job := &Job{Units: units}
	job.SetFrom("units", from)
	in, _, err := loadBody(fsys, job, 0, &BodySpec{File: file}, "", onOneLine(Stem(file)))
	return in, err
}

// Names returns the name of every body of a job, the part first: as the job says,
// else the file's stem; equal names get -2, -3.
func Names(job *Job) []string {
	specs := append([]BodySpec{job.Part}, job.Halves...)
	out := make([]string, len(specs))
	taken := map[string]bool{} // asked by name only
	for i, s := range specs {
		name := s.Name
		if name == "" {
			name = s.Body
		}
		if name == "" {
			name = Stem(s.File)
		}
		name = onOneLine(name)
		out[i] = name
		for n := 2; taken[out[i]]; n++ {
			out[i] = fmt.Sprintf("%s-%d", name, n)
		}
		taken[out[i]] = true
	}
	return out
}

// onOneLine replaces what a report cannot carry in a name: controls, characters that
// turn the direction of writing, and bytes that are no character.
func onOneLine(name string) string {
	return strings.Map(func(r rune) rune {
		if unprintable(r) {
			return '_'
		}
		return r
	}, name)
}

func unprintable(r rune) bool {
	return r == utf8.RuneError || unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)
}

// Stem returns a file's name without folder and ending.
func Stem(file string) string {
	base := filepath.Base(file)
	if stem := strings.TrimSuffix(base, filepath.Ext(base)); stem != "" {
		return stem
	}
	return base
}

func loadBody(fsys fs.FS, job *Job, i int, spec *BodySpec, role, name string) (Input, Body, error) {
	units, from := spec.Units, job.From(unitsName(role, i))
	if units == "" {
		units, from = job.Units, job.From("units")
	}
	path := spec.path()
	f, err := meshio.ReadFile(fsys, path, meshio.Options{Units: units})
	if err != nil {
		return Input{}, Body{}, err
	}
	mesh, err := pickBody(f, spec.Body, path)
	if err != nil {
		return Input{}, Body{}, err
	}
	mended := geom.Mend(spec.place(mesh))
	in := Input{Role: role, Name: name, File: spec.File, SHA256: f.SHA256, Units: f.Units, Format: formatNames[f.Format]}
	switch {
	case f.Format == meshio.ThreeMF:
		in.UnitsFrom = "stated in the file"
	case f.Assumed:
		in.UnitsFrom = "assumed"
	default:
		in.UnitsFrom = from
	}
	for _, w := range f.Warnings {
		in.Warnings = append(in.Warnings, Caution{Kind: w.Kind, Text: w.Text})
	}
	in.take(mended)
	sums := amountsOf(mended.Mesh)
	if err := usable(path, mended, &sums); err != nil {
		return Input{}, Body{}, err
	}
	if in.cautionCrossings(mended) || mended.Defects.Crowded.Count > 0 {
		in.overlapped(mended.Mesh, &sums)
	}
	chords := mended.Defects.Chords(mended.Mesh)
	in.Chord = chords.Largest
	return in, Body{Name: name, Mesh: mended.Mesh, ChordError: in.Chord, Pull: spec.Pull, file: path, index: newBodyIndex(mended.Mesh, mended.Defects, chords, sums)}, nil
}

// path is where the body's file is.
func (s *BodySpec) path() string {
	if s.Path != "" {
		return s.Path
	}
	return s.File
}

func unitsName(role string, i int) string {
	if role == "part" {
		return "part.units"
	}
	return fmt.Sprintf("half %d.units", i)
}

var formatNames = map[meshio.Format]string{meshio.STLBinary: "STL binary", meshio.STLText: "STL text", meshio.OBJ: "OBJ", meshio.ThreeMF: "3MF"}

// pickBody returns the mesh of one named body, or all bodies as one.
func pickBody(f *meshio.File, body, path string) (*geom.Mesh, error) {
	if body == "" {
		return f.Merged(), nil
	}
	var found *geom.Mesh
	var known []string
	for _, b := range f.Bodies {
		known = append(known, b.Name)
		if b.Name != body {
			continue
		}
		if found != nil {
			return nil, fmt.Errorf("%s: two bodies are named %q; give them different names", path, body)
		}
		found = b.Mesh
	}
	if found == nil {
		return nil, fmt.Errorf("%s: has no body named %q; it has %q", path, body, known)
	}
	return found, nil
}

// place moves a mesh as its spec says.
func (s *BodySpec) place(m *geom.Mesh) *geom.Mesh {
	if (s.Scale == 0 || s.Scale == 1) && s.Turn == (geom.Vec{}) && s.Move == (geom.Vec{}) {
		return m
	}
	scale := s.Scale
	if scale == 0 {
		scale = 1
	}
	sin, cos := [3]float64{}, [3]float64{}
	for i, a := range [3]float64{s.Turn.X, s.Turn.Y, s.Turn.Z} {
		si, co := math.Sincos(a)
		sin[i], cos[i] = roundAngle(si), roundAngle(co)
	}
	return m.Map(func(v geom.Vec) geom.Vec {
		v = v.Scale(scale)
		v.Y, v.Z = float64(v.Y*cos[0])-float64(v.Z*sin[0]), float64(v.Y*sin[0])+float64(v.Z*cos[0])
		v.Z, v.X = float64(v.Z*cos[1])-float64(v.X*sin[1]), float64(v.Z*sin[1])+float64(v.X*cos[1])
		v.X, v.Y = float64(v.X*cos[2])-float64(v.Y*sin[2]), float64(v.X*sin[2])+float64(v.Y*cos[2])
		return v.Add(s.Move)
	})
}

// take copies what the repair found into the input's facts.
func (in *Input) take(r *geom.Mended) {
	in.Triangles, in.Shells, in.Closed = len(r.Mesh.Facets), len(r.Defects.Shells), r.Defects.Closed()
	in.Volume, in.Box = r.Defects.SolidVolume(), r.Mesh.Box()
	for i := range r.Defects.Shells {
		in.Area += r.Defects.Shells[i].Area
		if s := &r.Defects.Shells[i]; !s.Closed {
			in.Volume += s.Volume
		}
	}
	for _, p := range r.Repairs {
		at := p.At
		in.Repairs = append(in.Repairs, Repair{Kind: p.Kind, Count: p.Count, At: &at, Width: p.Width, Text: p.Text})
	}
	for _, c := range r.Cautions {
		at := c.At
		in.Warnings = append(in.Warnings, Caution{Kind: c.Kind, Text: c.Text, At: &at, Size: float64(c.Count)})
	}
}

// Kinds of Caution about a surface that passes through itself.
const (
	CautionCrossing = "self-crossing"      // a shell crosses itself
	CautionOverlap  = "overlapping-shells" // shells cross each other
)

// leastCrossing is how deep a surface must pass through itself to be told of, mm:
// below it no figure that is told changes. Coordinates are rounded to single
// precision, each by 2^-24 of its size, so that two surfaces that touch may lie
// four times that in each other where both ends of both edges are off.
func leastCrossing(b geom.Box) float64 {
	reach := max(-b.Min.X, b.Max.X, -b.Min.Y, b.Max.Y, -b.Min.Z, b.Max.Z)
	return max(0.001, reach*4/(1<<24))
}

// overlapped corrects the volume of a mesh whose shells may lie in each other: what
// the surface winds around twice counts once. Columns measure that; where they agree
// with the surface integral, that is the more exact one.
func (in *Input) overlapped(m *geom.Mesh, sums *amounts) {
	var p BodyProof
	if err := p.volumes(m, sums, geom.Vec{Z: 1}, false); err == nil && math.Abs(in.Volume-p.Columns) > p.Error {
		in.Volume = p.Columns
	}
}

// cautionCrossings tells where the surface passes through itself, and whether it
// does. Nothing is changed: what the surface winds around at least once is solid.
func (in *Input) cautionCrossings(r *geom.Mended) bool {
	c := bvh.FindCrossings(r.Mesh, r.Defects, leastCrossing(in.Box))
	atLeast := ""
	if c.Partial {
		atLeast = "at least "
	}
	for _, k := range []struct {
		kind, text string
		p          *geom.Places
	}{
		{CautionCrossing, "the surface crosses itself at %s%d pairs of facets, the first at %s; what it winds around at least once is read as solid", &c.Within},
		{CautionOverlap, "shells cross each other at %s%d pairs of facets, the first at %s; they are read as one solid", &c.Between},
	} {
		if k.p.Count > 0 {
			at := k.p.At[0]
			in.Warnings = append(in.Warnings, Caution{Kind: k.kind, Text: fmt.Sprintf(k.text, atLeast, k.p.Count, placeText(at)), At: &at, Size: float64(k.p.Count)})
		}
	}
	if c.Partial {
		in.Warnings = append(in.Warnings, Caution{Kind: "crossings-unknown", Text: "so many facets lie close together that the surface was not looked through everywhere for places where it crosses itself"})
	}
	return c.Within.Count+c.Between.Count > 0
}

// sameFile refuses one mesh under two roles.
func sameFile(in []Input) error {
	for i := range in {
		for k := range i {
			if in[i].SHA256 == in[k].SHA256 && in[i].Box == in[k].Box && in[i].Volume == in[k].Volume {
				return fmt.Errorf("%s: is the same mesh as %s (the %s); name the part first, then each half once", in[i].File, in[k].File, in[k].Role)
			}
		}
	}
	return nil
}

// cautionOrder warns where the first mesh does not lie within the others, or
// another one does: the part comes first.
func (in *Intake) cautionOrder() {
	const slack = 0.5 // mm: what a shrink allowance and facets move a face by
	halves := geom.EmptyBox()
	for _, h := range in.Halves {
		halves = halves.Union(h.Mesh.Box())
	}
	b := in.Part.Mesh.Box()
	if g := halves.Grow(slack); g.Contains(b.Min) && g.Contains(b.Max) {
		return
	}
	text := fmt.Sprintf("the part %s does not lie inside the halves: check that all files are exported in the assembled position", in.Part.Name)
	for k, h := range in.Halves {
		g := b
		for o := range in.Halves {
			if o != k {
				g = g.Union(in.Halves[o].Mesh.Box())
			}
		}
		c := h.Mesh.Box()
		if g = g.Grow(slack); g.Contains(c.Min) && g.Contains(c.Max) && c.Diagonal() < b.Diagonal() {
			text = fmt.Sprintf("the part comes first: %s does not lie inside the other meshes, %s does", in.Part.Name, h.Name)
		}
	}
	at := b.Center()
	in.Inputs[0].Warnings = append(in.Inputs[0].Warnings, Caution{Kind: "part-outside", Text: text, At: &at})
}

func placeText(v geom.Vec) string {
	r := func(x float64) float64 { return math.Round(x*1000)/1000 + 0 }
	return fmt.Sprintf("(%.3f, %.3f, %.3f)", r(v.X), r(v.Y), r(v.Z))
}
