package meshio_test

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"pourproof/geom"
)

func TestThreeMFCases(t *testing.T) { runCases(t, threeMFCases(t)) }

func threeMFCases(t testing.TB) []fileCase {
	box := cube(0, 20)
	one := objectXML(`id="1" name="part" type="model"`, box)
	model := modelXML(`unit="millimeter"`, one, `<item objectid="1"/>`)
	good := package3MF(t, model)
	pack := func(attrs, resources, build string) []byte { return package3MF(t, modelXML(attrs, resources, build)) }
	changed := func(pairs ...string) []byte { return package3MF(t, strings.NewReplacer(pairs...).Replace(model)) }
	assembly := func(id, components string) string {
		return `<object id="` + id + `" name="assembly"><components>` + components + `</components></object>`
	}
	three := objectXML(`id="1" name="part"`, cube(0, 5)) + objectXML(`id="2" name="top"`, cube(0, 20)) + objectXML(`id="3" name="bottom"`, cube(0, 10))
	doubling := one
	for i := 2; i < 60; i++ {
		c := `<component objectid="` + strconv.Itoa(i-1) + `"/>`
		doubling += assembly(strconv.Itoa(i), c+c)
	}
	inch := 20 * 25.4 * 20 * 25.4 * 20 * 25.4
	return []fileCase{
		{name: "one object", content: good, volume: 8000, bodies: "part"},
		{name: "no unit stated", content: changed(`unit="millimeter"`, ""), volume: 8000, bodies: "part"},
		{name: "inches", content: changed("millimeter", "inch"), volume: inch, bodies: "part"},
		{name: "inches, told otherwise", content: changed("millimeter", "inch"), units: "cm", volume: inch, bodies: "part"},
		{name: "micron", content: changed("millimeter", "micron"), volume: 8e-6, bodies: "part", notes: "size-small"},
		{name: "foot", content: changed("millimeter", "foot"), volume: 8000 * math.Pow(304.8, 3), bodies: "part", notes: "size-large"},
		{name: "unknown unit of a 3MF", content: changed("millimeter", "league"), refused: `unknown unit "league"`},
		{name: "three items placed", content: pack("", three, `<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 15"/><item objectid="3"/><item objectid="1" transform="1 0 0 0 1 0 0 0 1 10 10 10"/>`),
			volume: 9125, bodies: "top|bottom|part"},
		{name: "a stray object not in the build", content: pack("", three, `<item objectid="1"/>`), volume: 125, bodies: "part"},
		{name: "one object twice", content: pack("", one, `<item objectid="1"/><item objectid="1" transform="1 0 0 0 1 0 0 0 1 50 0 0"/>`), volume: 16000, bodies: "part|part"},
		{name: "mirrored", content: pack("", one, `<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>`), volume: 8000, bodies: "part"},
		{name: "mirrored twice", content: pack("", one+assembly("2", `<component objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>`), `<item objectid="2" transform="0 1 0 1 0 0 0 0 1 0 0 0"/>`), volume: 8000, bodies: "part"},
		{name: "an assembly stands for its components", content: pack("", three+assembly("9", `<component objectid="1"/><component objectid="2" transform="1 0 0 0 1 0 0 0 1 30 0 0"/>`), `<item objectid="9"/>`),
			volume: 8125, bodies: "part|top"},
		{name: "assemblies beside others stay whole", content: pack("", three+assembly("9", `<component objectid="1"/><component objectid="2" transform="1 0 0 0 1 0 0 0 1 30 0 0"/>`), `<item objectid="9"/><item objectid="3"/>`),
			volume: 9125, bodies: "assembly|bottom"},
		{name: "a nameless object", content: pack("", objectXML(`id="1"`, box), `<item objectid="1"/>`), volume: 8000},
		{name: "named by its part number", content: pack("", objectXML(`id="1" partnumber="P-7"`, box), `<item objectid="1"/>`), volume: 8000, bodies: "P-7"},
		{name: "named by its item", content: pack("", objectXML(`id="1"`, box), `<item objectid="1" partnumber="top"/>`), volume: 8000, bodies: "top"},
		{name: "entities in a name", content: pack("", objectXML(`id="1" name="a &lt;b&gt; &amp; &#216;8"`, box), `<item objectid="1"/>`), volume: 8000, bodies: "a <b> & Ø8"},
		{name: "an object in another part", content: zipOf(t, relsTo("/3D/3dmodel.model"), part{"3D/3dmodel.model",
			modelXML(`xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06" requiredextensions="p"`,
				`<object id="2" name="wrapped"><components><component p:path="/3D/Objects/o.model" objectid="1"/></components></object>`, `<item objectid="2"/>`)},
			part{"3D/Objects/o.model", modelXML(`unit="centimeter"`, objectXML(`id="1"`, box), "")}), volume: 8e6, bodies: "wrapped"},
		{name: "the other part is missing", content: pack("", `<object id="2"><components><component path="/3D/o.model" objectid="1"/></components></object>`, `<item objectid="2"/>`),
			refused: `part "/3D/o.model": is named by the model and missing`},
		{name: "a path out of the package", content: pack("", `<object id="2"><components><component path="../../etc/passwd" objectid="1"/></components></object>`, `<item objectid="2"/>`),
			refused: `part "../../etc/passwd": is named by the model and missing`},
		{name: "parts with names that climb", content: zipOf(t, part{"../../evil.sh", "x"}, relsTo("/3D/3dmodel.model"), part{"3D/3dmodel.model", model}), volume: 8000, bodies: "part"},
		{name: "no relationships", content: zipOf(t, part{"3D/3dmodel.model", model}), volume: 8000, bodies: "part", notes: "no-relationship"},
		{name: "relationship without a target part", content: zipOf(t, relsTo("/3D/gone.model"), part{"3D/3dmodel.model", model}), refused: `names "/3D/gone.model" as its model and does not hold it`},
		{name: "model elsewhere and in other case", content: zipOf(t, relsTo("/three/THE.model"), part{"Three/the.Model", model}), volume: 8000, bodies: "part"},
		{name: "support objects left out", content: pack("", one+objectXML(`id="2" type="support"`, box), `<item objectid="1"/><item objectid="2"/>`), volume: 8000, bodies: "part", notes: "object-skipped"},
		{name: "nothing but an object not to be built", content: pack("", objectXML(`id="2" type="other"`, box), `<item objectid="2"/>`), refused: "the build list holds no mesh"},
		{name: "empty build", content: pack("", one, ""), refused: "the build list is empty; add the bodies to the build"},
		{name: "build names no object", content: pack("", one, `<item objectid="7"/>`), refused: `there is no object "7", which the build needs`},
		{name: "an object of no mesh", content: pack("", `<object id="1"/>`, `<item objectid="1"/>`), refused: "the build list holds no mesh"},
		{name: "an object that holds itself", content: pack("", assembly("1", `<component objectid="1"/>`), `<item objectid="1"/>`), refused: "nested too deep or too many"},
		{name: "components that double", content: pack("", doubling, `<item objectid="59"/>`), refused: "nested too deep or too many"},
		{name: "comments and prefixes", content: []byte(package3MF(t, strings.NewReplacer("<vertices>", "<!-- > - a --><vertices><!-- x > y -->", "<triangles>", "<triangles><!---->", "<triangle ", "<c:triangle  ").Replace(model))), volume: 8000, bodies: "part"},
		{name: "single quotes and open tags", content: changed(`"/>`+"\n  <vertex", `"></vertex>`+"\n  <vertex"), volume: 8000, bodies: "part"},
		{name: "other attributes and elements", content: changed("<triangle ", `<triangle pid="3" p1="0" `, "<mesh>", `<metadatagroup><metadata name="a">b</metadata></metadatagroup><mesh>`), volume: 8000, bodies: "part"},
		{name: "byte order mark in the model", content: package3MF(t, "\xEF\xBB\xBF"+model), volume: 8000, bodies: "part"},
		{name: "a required extension that bends shapes", content: pack(`xmlns:b="http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02" requiredextensions="b"`, one, `<item objectid="1"/>`),
			refused: `needs the 3MF extension "http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02"`},
		{name: "a required extension that does not", content: pack(`xmlns:m="http://schemas.microsoft.com/3dmanufacturing/material/2015/02" requiredextensions="m"`, one, `<item objectid="1"/>`), volume: 8000, bodies: "part"},
		{name: "vertex out of range", content: changed(`v3="3"`, `v3="8"`), refused: `names vertex "8" of 8`},
		{name: "vertex number negative", content: changed(`v3="3"`, `v3="-1"`), refused: `names vertex "-1" of 8`},
		{name: "vertex number of 4 billion", content: changed(`v3="3"`, `v3="4294967299"`), refused: `names vertex "4294967299"`},
		{name: "coordinate not a number", content: changed(`x="20"`, `x="nan"`), refused: `object "1": vertex 1: "nan" is not a finite number`},
		{name: "coordinate infinite", content: changed(`x="20"`, `x="1e400"`), refused: `is not a finite number`},
		{name: "coordinate missing", content: changed(`x="20"`, ``), refused: "vertex 1 lacks a coordinate"},
		{name: "corner missing", content: changed(`v2="2"`, ``), refused: "triangle 0 lacks a corner"},
		{name: "attribute without quotes", content: changed(`v2="2"`, `v2=2`), refused: "triangle 0 cannot be read"},
		{name: "text among vertices", content: changed("<vertices>", "<vertices>hello"), refused: "text where a tag was expected"},
		{name: "a stranger among triangles", content: changed("<triangles>", "<triangles><quad/>"), refused: `unexpected "quad/" among "triangles"`},
		{name: "transform of eleven numbers", content: changed(`objectid="1"/>`, `objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0"/>`), refused: "a transform has 11 numbers, not 12"},
		{name: "transform that flattens", content: changed(`objectid="1"/>`, `objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/>`), refused: "flattens it"},
		{name: "transform not finite", content: changed(`objectid="1"/>`, `objectid="1" transform="1 0 0 0 1 0 0 0 inf 0 0 0"/>`), refused: `holds "inf", not a finite number`},
		{name: "two objects of one id", content: pack("", one+one, `<item objectid="1"/>`), refused: `two objects have the id "1"`},
		{name: "mesh and components", content: pack("", strings.Replace(one, "</object>", `<components><component objectid="1"/></components></object>`, 1), `<item objectid="1"/>`), refused: "a mesh and components"},
		{name: "document type", content: changed(`<model `, `<!DOCTYPE a [<!ENTITY b "c">]><model `), refused: "a document type declaration is not allowed"},
		{name: "own entity", content: changed(`name="part"`, `name="&b;"`), refused: "not well-formed XML"},
		{name: "another encoding", content: changed(`encoding="UTF-8"`, `encoding="ISO-8859-1"`), refused: `"ISO-8859-1" is not UTF-8`},
		{name: "another root", content: package3MF(t, `<mesh/>`), refused: `not a model but "mesh"`},
		{name: "end tags crossed", content: changed("</resources>", "</build>"), refused: "matches no start tag"},
		{name: "deep nesting", content: pack("", strings.Repeat("<a>", 100_000), ""), refused: "nested too deep"},
		{name: "cut inside the model", content: package3MF(t, model[:len(model)/2]), refused: "cannot be unpacked"},
		{name: "empty model", content: package3MF(t, ""), refused: "cannot be unpacked"},
		{name: "something after the model", content: package3MF(t, model+"<more/>"), refused: "something follows the model"},
		{name: "zip cut short", content: good[:len(good)-30], refused: "the zip cannot be opened"},
		{name: "bomb", content: package3MF(t, "<model>"+strings.Repeat(" ", 80<<20)+"</model>"), refused: "bytes packed into"},
		{name: "damaged byte", content: damaged(good), refused: "cannot be unpacked"},
		{name: "exact duplicates and holes", content: pack("", objectXML(`id="1"`, &geom.Mesh{Vertices: box.Vertices, Facets: append(append([][3]int32{}, box.Facets[1:]...), box.Facets[4])}), `<item objectid="1"/>`),
			volume: open, notes: "duplicate-facet closed-hole"},
	}
}

// damaged flips a bit inside the packed model.
func damaged(good []byte) []byte {
	b := bytes.Clone(good)
	at := bytes.LastIndex(b, []byte("3D/3dmodel.model")) // in the directory, after all content
	b[at/2+at/8] ^= 0x10
	return b
}
