package report

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/geom"
	"pourproof/geom/meshio"
)

// markedXML is what the 3MF core specification lets a model hold, as far as
// marked.3mf uses it.
type markedXML struct {
	XMLName   xml.Name `xml:"http://schemas.microsoft.com/3dmanufacturing/core/2015/02 model"`
	Unit      string   `xml:"unit,attr"`
	Resources struct {
		Base struct {
			ID   string `xml:"id,attr"`
			List []struct {
				Name  string `xml:"name,attr"`
				Color string `xml:"displaycolor,attr"`
			} `xml:"base"`
		} `xml:"basematerials"`
		Objects []struct {
			ID     string `xml:"id,attr"`
			Name   string `xml:"name,attr"`
			Type   string `xml:"type,attr"`
			PID    string `xml:"pid,attr"`
			PIndex int    `xml:"pindex,attr"`
			Mesh   struct {
				Vertices []struct {
					X string `xml:"x,attr"`
				} `xml:"vertices>vertex"`
				Triangles []struct {
					V1  int     `xml:"v1,attr"`
					V2  int     `xml:"v2,attr"`
					V3  int     `xml:"v3,attr"`
					PID *string `xml:"pid,attr"`
					P1  *int    `xml:"p1,attr"`
				} `xml:"triangles>triangle"`
			} `xml:"mesh"`
		} `xml:"object"`
	} `xml:"resources"`
	Build []struct {
		Object string `xml:"objectid,attr"`
	} `xml:"build>item"`
}

func markedModel(t *testing.T, data []byte) (m markedXML) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	require.Equal(t, "[Content_Types].xml", z.File[0].Name)
	for _, f := range z.File {
		assert.True(t, f.Modified.Equal(time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)), f.Name)
	}
	r, err := z.Open("3D/3dmodel.model")
	require.NoError(t, err)
	text, err := io.ReadAll(r)
	require.NoError(t, err)
	require.NoError(t, xml.Unmarshal(text, &m))
	return m
}

// Our own reader finds part, halves and one body a finding, each with the volume it
// has here.
func TestMarkedReadsBack(t *testing.T) {
	d := document(t, 12)
	d.Outcome.Findings[3].Title = `Näme <&> "中文"` + "\x01"
	data, err := Marked(d)
	require.NoError(t, err)
	f, err := meshio.ReadFile(fstest.MapFS{"marked.3mf": {Data: data}}, "marked.3mf", meshio.Options{})
	require.NoError(t, err)
	assert.Empty(t, f.Warnings)
	assert.Equal(t, "mm", f.Units)
	require.Len(t, f.Bodies, 3+12)
	m := d.Outcome.Mold
	for i, want := range []*geom.Mesh{m.FittedPart(), m.Halves[0].Mesh, m.Halves[1].Mesh} {
		assert.Equal(t, d.Outcome.Inputs[i].Name, f.Bodies[i].Name)
		assert.InDelta(t, want.Volume(), f.Bodies[i].Mesh.Volume(), 1e-4*want.Volume())
	}
	for i := range d.Outcome.Findings {
		g := &d.Outcome.Findings[i]
		b := f.Bodies[3+i]
		assert.True(t, strings.HasPrefix(b.Name, fmt.Sprintf("%d %s: ", g.ID, g.Severity)), b.Name)
		assert.Positive(t, b.Mesh.Volume())
		box := b.Mesh.Box()
		assert.True(t, box.Contains(*g.Where.At), "the ball lies about the place")
		assert.Greater(t, box.Max.Z, 30.0, "the number stands above the block, which ends at z 30")
		assert.True(t, geom.Inspect(b.Mesh).Closed(), b.Name)
	}
	assert.Contains(t, f.Bodies[6].Name, `Näme <&> "中文"`)
}

// The rules of the core specification: ids resolve, indices lie in range, no
// triangle uses a vertex twice, colours exist, every object is built once.
func TestMarkedKeepsTheRulesOf3MF(t *testing.T) {
	data, err := Marked(document(t, 200))
	require.NoError(t, err)
	m := markedModel(t, data)
	assert.Equal(t, "millimeter", m.Unit)
	ids := map[string]bool{m.Resources.Base.ID: true}
	for _, b := range m.Resources.Base.List {
		assert.Regexp(t, `^#[0-9A-F]{6}$`, b.Color)
		assert.NotEmpty(t, b.Name)
	}
	require.Equal(t, len(m.Resources.Objects), len(m.Build))
	colored := 0
	for i, o := range m.Resources.Objects {
		assert.False(t, ids[o.ID], "ids are unique")
		ids[o.ID] = true
		assert.Equal(t, o.ID, m.Build[i].Object)
		assert.Equal(t, "model", o.Type)
		assert.Equal(t, m.Resources.Base.ID, o.PID)
		require.Less(t, o.PIndex, len(m.Resources.Base.List))
		require.GreaterOrEqual(t, len(o.Mesh.Vertices), 3)
		for _, v := range o.Mesh.Triangles {
			n := len(o.Mesh.Vertices)
			require.True(t, v.V1 < n && v.V2 < n && v.V3 < n && v.V1 != v.V2 && v.V2 != v.V3 && v.V3 != v.V1)
			require.Equal(t, v.PID == nil, v.P1 == nil)
			if v.P1 != nil {
				require.Less(t, *v.P1, len(m.Resources.Base.List))
				require.Equal(t, m.Resources.Base.ID, *v.PID)
				colored++
			}
		}
	}
	assert.Positive(t, colored)
}

// The part's colour covers what the air touches: at 10 degrees, 636.5 mm3 of air
// under the level roof of the base mold (practice.md section 5), and nothing when
// the findings are gone.
func TestMarkedColoursTheAir(t *testing.T) {
	d := document(t, 1)
	s := d.studio()
	body := s.markedPart(d)
	area := map[uint8]float64{}
	for f, ink := range body.Facet {
		area[ink] += body.Mesh.Triangle(f).Area()
	}
	require.NotZero(t, d.Outcome.Fill.Pockets[0].Spoils)
	assert.InDelta(t, d.Outcome.Fill.Pockets[0].Spoils, area[markInk(&d.Outcome.Findings[0])], 0.05*d.Outcome.Fill.Pockets[0].Spoils)

	reason := "hidden"
	d.Outcome.Findings[0].Accepted = &reason
	area = map[uint8]float64{}
	for f, ink := range s.markedPart(d).Facet {
		area[ink] += body.Mesh.Triangle(f).Area()
	}
	assert.Zero(t, area[inkStop])
	assert.Positive(t, area[inkAccepted])
}

// No two numbers overlap, and every digit has its bars.
func TestMarkersStandApart(t *testing.T) {
	d := document(t, 200)
	list := d.studio().markers(d)
	require.Len(t, list, 200)
	var plates []geom.Box
	for _, b := range list {
		top := geom.EmptyBox() // the upper edge of the number
		for _, v := range b.Mesh.Vertices {
			if v.Z > b.Mesh.Box().Max.Z-0.5 {
				top = top.Include(v)
			}
		}
		for _, p := range plates {
			require.False(t, p.Touches(top))
		}
		plates = append(plates, top)
	}
	bars := [10]int{6, 2, 5, 5, 4, 5, 6, 3, 7, 6}
	for n, want := range bars {
		m := &marker{frame: geom.Identity(), mesh: &geom.Mesh{}, size: 10}
		m.number(n, m.plate(n, geom.Vec{}, 0))
		assert.Len(t, m.mesh.Facets, 12*want, "%d", n)
		assert.Positive(t, m.mesh.Volume())
	}
}

func TestMarkedSameBytesAndNoMold(t *testing.T) {
	one, err := Marked(document(t, 5))
	require.NoError(t, err)
	two, err := Marked(document(t, 5))
	require.NoError(t, err)
	assert.True(t, bytes.Equal(one, two))
	none, err := Marked(New(&checks.Outcome{}, ""))
	require.NoError(t, err)
	assert.Nil(t, none)
}
