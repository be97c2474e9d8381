package meshio

import (
	"archive/zip"
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
)

// Bounds on the zip package of a 3MF.
const (
	// directoryBudget is how many bytes may be read to open the package, nearly
	// all of them the list of parts: some tens of thousands of parts.
	directoryBudget = 4 << 20
	// partLimit bounds a part unpacked: the largest mesh that is read needs about
	// 3 GB.
	partLimit = 4 << 30
	// Deflate packs at most 1032:1; a mesh as text packs 5 to 40:1. A part larger
	// than bombSize that packs better than bombRatio is no mesh.
	bombSize  = 64 << 20
	bombRatio = 200
)

// packageReader reads the parts of a 3MF.
type packageReader struct {
	file   *File
	parts  *zip.Reader
	models map[string]*model3MF // read so far, by part name; asked, never ranged over
	facets int                  // of all meshes read so far
}

// limitedReaderAt fails once more bytes have been asked for than it may hand out.
type limitedReaderAt struct {
	r    io.ReaderAt
	left int64
}

var errDirectory = errors.New("the list of parts is too long")

func (l *limitedReaderAt) ReadAt(b []byte, off int64) (int, error) {
	if l.left -= int64(len(b)); l.left < 0 {
		return 0, errDirectory
	}
	return l.r.ReadAt(b, off)
}

// readThreeMF reads the items of a 3MF's build list, each as a body (3MF core
// specification 1.4). Nothing is written to disk, and names of parts are only
// looked up in the package.
func (f *File) readThreeMF(r io.ReaderAt) (unit, error) {
	limited := &limitedReaderAt{r, directoryBudget}
	parts, err := zip.NewReader(limited, f.Size)
	if err != nil {
		if errors.Is(err, errDirectory) {
			return unit{}, f.refuse(-1, "the zip lists too many parts", remedyExport)
		}
		return unit{}, f.refuse(-1, "the zip cannot be opened (%s)", remedyCopy, strings.TrimPrefix(err.Error(), "zip: "))
	}
	limited.left = 1 << 62
	p := &packageReader{file: f, parts: parts, models: map[string]*model3MF{}}
	name, err := p.rootModel()
	if err != nil {
		return unit{}, err
	}
	root, err := p.model(name)
	if err != nil {
		return unit{}, err
	}
	f.Assumed = false
	f.Units = root.unit.name
	return root.unit, p.build(root)
}

// find returns a part by name. Names compare without regard to case (OPC
// 10.1.3).
func (p *packageReader) find(name string) *zip.File {
	name = strings.TrimPrefix(name, "/")
	for _, z := range p.parts.File {
		if strings.EqualFold(strings.TrimPrefix(strings.ReplaceAll(z.Name, `\`, "/"), "/"), name) {
			return z
		}
	}
	return nil
}

// rootModel finds the part with the build list: named by the package's
// relationships, or else the only model there is.
func (p *packageReader) rootModel() (string, error) {
	if rels := p.find("_rels/.rels"); rels != nil {
		target, err := p.startPart(rels)
		if err != nil {
			return "", err
		}
		if target != "" {
			if p.find(target) == nil {
				return "", p.file.refuse(-1, "the package names %s as its model and does not hold it", remedyExport, quote([]byte(target)))
			}
			return target, nil
		}
	}
	var models []string
	for _, z := range p.parts.File {
		if strings.EqualFold(path.Ext(z.Name), ".model") {
			models = append(models, z.Name)
		}
	}
	if i := slices.IndexFunc(models, func(n string) bool { return strings.EqualFold(n, "3D/3dmodel.model") }); i >= 0 {
		models = models[i : i+1]
	}
	if len(models) != 1 {
		what, remedy := p.otherZip()
		return "", p.file.refuse(0, "%s", remedy, what)
	}
	p.file.warn("no-relationship", "the package does not say which part is its model; %s is taken", quote([]byte(models[0])))
	return models[0], nil
}

// otherZip says what a zip without a model is.
func (p *packageReader) otherZip() (what, remedy string) {
	for _, z := range p.parts.File {
		name := strings.ToLower(z.Name)
		switch ext := path.Ext(name); {
		case name == "document.xml" || name == "docprops/app.xml":
			return "this is a program's own document", remedyTessellate
		case ext == ".stl" || ext == ".obj" || ext == ".3mf" || ext == ".step" || ext == ".stp":
			return "this is a zip that holds " + quote([]byte(z.Name)), "unpack it first"
		case ext == ".amf":
			return "this is a packed AMF file", remedyExport
		}
	}
	return "this is a zip without a 3MF model", remedyExport
}

// open returns a part's content. Its size is the stated one, which the zip reader
// enforces.
func (p *packageReader) open(z *zip.File) (io.ReadCloser, error) {
	size, packed := z.UncompressedSize64, z.CompressedSize64
	if size > partLimit || size > bombSize && size/bombRatio > packed {
		return nil, p.fault(z.Name, fmt.Sprintf("%d bytes packed into %d are no mesh", size, packed), remedyExport)
	}
	if z.Flags&1 != 0 {
		return nil, p.fault(z.Name, "is encrypted", "export it without a password")
	}
	r, err := z.Open()
	if err != nil {
		return nil, p.unpackFault(z.Name, err)
	}
	return r, nil
}

// fault makes a ReadError about a part.
func (p *packageReader) fault(part, what, remedy string) error {
	return p.file.refuse(-1, "part %s: %s", remedy, quote([]byte(part)), what)
}

func (p *packageReader) unpackFault(part string, err error) error {
	return p.fault(part, "cannot be unpacked ("+strings.TrimPrefix(err.Error(), "zip: ")+")", remedyCopy)
}

// startPart returns the target of the relationship that names the model, "" where
// there is none.
func (p *packageReader) startPart(z *zip.File) (string, error) {
	r, err := p.open(z)
	if err != nil {
		return "", err
	}
	defer r.Close()
	target := ""
	x := newXMLReader(bufio.NewReader(r))
	for {
		e, err := x.next()
		if err == io.EOF {
			return target, nil
		}
		if err != nil {
			return "", p.xmlFault(z.Name, err)
		}
		if e.name == "Relationship" && strings.HasSuffix(e.attr("Type"), "/3dmodel") && target == "" {
			target = e.attr("Target")
		}
	}
}

// xmlFault tells a bad XML from a bad zip.
func (p *packageReader) xmlFault(part string, err error) error {
	var read *ReadError
	var syntax *xml.SyntaxError
	switch {
	case errors.As(err, &read):
		return read
	case errors.Is(err, zip.ErrChecksum), errors.Is(err, zip.ErrFormat), errors.Is(err, io.ErrUnexpectedEOF):
		return p.unpackFault(part, err)
	case errors.As(err, &syntax): // its line is wrong: vertices and triangles are read past it
		err = errors.New("it is not well-formed XML: " + syntax.Msg)
	}
	return p.fault(part, err.Error(), remedyExport)
}
