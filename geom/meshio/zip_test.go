package meshio_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// part is a file of a zip.
type part struct{ name, content string }

func zipOf(t testing.TB, parts ...part) []byte {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, p := range parts {
		f, err := w.Create(p.name)
		require.NoError(t, err)
		_, err = f.Write([]byte(p.content))
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return b.Bytes()
}

// relsTo names the root model.
func relsTo(target string) part {
	return part{"_rels/.rels", `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
 <Relationship Target="/Metadata/thumbnail.png" Id="r0" Type="http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail"/>
 <Relationship Target="` + target + `" Id="r1" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>`}
}

// package3MF wraps a model as a 3MF.
func package3MF(t testing.TB, model string) []byte {
	return zipOf(t, part{"[Content_Types].xml", "<Types/>"}, relsTo("/3D/3dmodel.model"), part{"3D/3dmodel.model", model})
}

const core = `xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" xml:lang="en-US"`

// modelXML is a model part; attrs stand in its start tag.
func modelXML(attrs, resources, build string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><model ` + core + " " + attrs + `><metadata name="Title">t</metadata><resources>` +
		resources + `</resources><build>` + build + `</build></model>`
}

// objectXML is an object with a mesh.
func objectXML(attrs string, m *geom.Mesh) string {
	var s strings.Builder
	fmt.Fprintf(&s, "<object %s>\n<mesh>\n <vertices>", attrs)
	for _, v := range m.Vertices {
		fmt.Fprintf(&s, "\n  <vertex x=\"%v\" y=\"%v\" z=\"%v\"/>", v.X, v.Y, v.Z)
	}
	s.WriteString("\n </vertices>\n <triangles>")
	for _, f := range m.Facets {
		fmt.Fprintf(&s, "\n  <triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>", f[0], f[1], f[2])
	}
	s.WriteString("\n </triangles>\n</mesh>\n</object>\n")
	return s.String()
}
