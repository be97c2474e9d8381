package meshio

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"encoding/xml"
	"errors"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"
	"time"

	"pourproof/geom"
)

// ColoredBody is a mesh with a colour for every facet.
type ColoredBody struct {
	Name  string // as viewers list it
	About string // a sentence; empty for none
	Mesh  *geom.Mesh
	Color uint8   // of the facets, in the palette
	Facet []uint8 // per facet; nil: all have Color
}

// PaletteColor is one base material of a 3MF.
type PaletteColor struct {
	Name  string
	Color color.RGBA // opaque
}

// WriteThreeMF writes bodies in millimetres, each as an object and a build item of
// its own, coloured with base materials (3MF core specification 1.3, sections 4
// and 5): a viewer that knows no colours shows the shapes. Coordinates are rounded
// to 1e-5 mm. The bytes depend on the arguments alone; the zip's dates are those of
// its epoch. Cost: linear, some 60 bytes a facet before packing.
func WriteThreeMF(w io.Writer, title string, palette []PaletteColor, bodies []ColoredBody) error {
	if len(palette) == 0 || len(palette) > 256 || len(bodies) == 0 {
		return errors.New("a 3MF needs bodies and 1 to 256 colours")
	}
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, flate.BestSpeed) })
	for _, part := range []struct {
		name  string
		write func(b *bufio.Writer) error
	}{
		{"[Content_Types].xml", func(b *bufio.Writer) error { _, err := b.WriteString(contentTypes3MF); return err }},
		{"_rels/.rels", func(b *bufio.Writer) error { _, err := b.WriteString(relationships3MF); return err }},
		{"3D/3dmodel.model", func(b *bufio.Writer) error { return writeModel(b, title, palette, bodies) }},
	} {
		p, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)})
		if err != nil {
			return err
		}
		b := bufio.NewWriterSize(p, 1<<16)
		if err := part.write(b); err != nil {
			return err
		}
		if err := b.Flush(); err != nil {
			return err
		}
	}
	return z.Close()
}

const (
	xmlHead          = `<?xml version="1.0" encoding="UTF-8"?>` + "\n"
	contentTypes3MF  = xmlHead + `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>` + "\n"
	relationships3MF = xmlHead + `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>` + "\n"
	paletteID        = 1 // resource id; bodies follow
)

func writeModel(b *bufio.Writer, title string, palette []PaletteColor, bodies []ColoredBody) error {
	b.WriteString(xmlHead + `<model unit="millimeter" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">` + "\n")
	b.WriteString(`<metadata name="Title">` + escaped(title) + "</metadata>\n<resources>\n")
	fmt.Fprintf(b, "<basematerials id=\"%d\">\n", paletteID)
	for _, c := range palette {
		fmt.Fprintf(b, "<base name=\"%s\" displaycolor=\"#%02X%02X%02X\"/>\n", escaped(c.Name), c.Color.R, c.Color.G, c.Color.B)
	}
	b.WriteString("</basematerials>\n")
	for i := range bodies {
		if err := writeObject(b, paletteID+1+i, &bodies[i], len(palette)); err != nil {
			return err
		}
	}
	b.WriteString("</resources>\n<build>\n")
	for i := range bodies {
		fmt.Fprintf(b, "<item objectid=\"%d\"/>\n", paletteID+1+i)
	}
	_, err := b.WriteString("</build>\n</model>\n")
	return err
}

func writeObject(b *bufio.Writer, id int, body *ColoredBody, colors int) error {
	m := body.Mesh
	if len(m.Facets) == 0 || int(body.Color) >= colors || body.Facet != nil && len(body.Facet) != len(m.Facets) {
		return fmt.Errorf("%s: has no facets, or colours that do not fit them", body.Name)
	}
	fmt.Fprintf(b, "<object id=\"%d\" type=\"model\" name=\"%s\" pid=\"%d\" pindex=\"%d\">\n", id, escaped(body.Name), paletteID, body.Color)
	if body.About != "" {
		b.WriteString(`<metadatagroup><metadata name="Description">` + escaped(body.About) + "</metadata></metadatagroup>\n")
	}
	b.WriteString("<mesh>\n<vertices>\n")
	var line []byte
	for _, v := range m.Vertices {
		if !v.Finite() {
			return fmt.Errorf("%s: has a coordinate that is not a number", body.Name)
		}
		line = append(line[:0], `<vertex x="`...)
		line = append(appendCoordinate(line, v.X), `" y="`...)
		line = append(appendCoordinate(line, v.Y), `" z="`...)
		line = append(appendCoordinate(line, v.Z), "\"/>\n"...)
		b.Write(line) // a bufio.Writer keeps its first error for Flush
	}
	b.WriteString("</vertices>\n<triangles>\n")
	for i, t := range m.Facets {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue // the specification forbids them
		}
		line = append(line[:0], `<triangle v1="`...)
		line = append(strconv.AppendInt(line, int64(t[0]), 10), `" v2="`...)
		line = append(strconv.AppendInt(line, int64(t[1]), 10), `" v3="`...)
		line = append(strconv.AppendInt(line, int64(t[2]), 10), '"')
		if body.Facet != nil && body.Facet[i] != body.Color {
			if int(body.Facet[i]) >= colors {
				return fmt.Errorf("%s: has a colour that the palette lacks", body.Name)
			}
			line = append(line, ` pid="1" p1="`...)
			line = append(strconv.AppendInt(line, int64(body.Facet[i]), 10), '"')
		}
		b.Write(append(line, "/>\n"...))
	}
	_, err := b.WriteString("</triangles>\n</mesh>\n</object>\n")
	return err
}

// appendCoordinate writes mm rounded to 1e-5, without an exponent and without -0, in as
// few digits as tell it.
func appendCoordinate(b []byte, x float64) []byte {
	x = math.Round(x * 1e5)
	if !(math.Abs(x) < 1e15) {
		return strconv.AppendFloat(b, x/1e5, 'f', -1, 64)
	}
	n := int64(x) // up to 15 digits are always told apart, so they are the shortest text
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	b = strconv.AppendInt(b, n/100_000, 10)
	rest := n % 100_000
	if rest == 0 {
		return b
	}
	b = append(b, '.')
	for unit := int64(10_000); rest > 0; unit /= 10 {
		b = append(b, byte('0'+rest/unit))
		rest %= unit
	}
	return b
}

// escaped writes text for XML; what XML cannot hold becomes U+FFFD.
func escaped(s string) string {
	var b textBuffer
	xml.EscapeText(&b, []byte(s)) // memory takes everything
	return string(b)
}

type textBuffer []byte

func (t *textBuffer) Write(p []byte) (int, error) { *t = append(*t, p...); return len(p), nil }
