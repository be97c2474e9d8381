package meshio_test

import (
	"bytes"
	"compress/gzip"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestForeignCases(t *testing.T) { runCases(t, foreignCases(t)) }

func foreignCases(t testing.TB) []fileCase {
	var gz bytes.Buffer
	w := gzip.NewWriter(&gz)
	_, err := w.Write(binarySTL(t, cube(0, 20), ""))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	pad := strings.Repeat("\x00\x01binary", 100)
	step := "export the model as STL, OBJ or 3MF from the program that made it"
	again := "export it again as STL, OBJ or 3MF"
	text := func(name, content, refused string) fileCase {
		return fileCase{name: name, content: []byte(content), refused: refused}
	}
	return []fileCase{
		text("empty", "", "the file is empty; "+again),
		text("STEP", "ISO-10303-21;\nHEADER;\n", "this is a STEP file; "+step),
		text("IGES", strings.Repeat(" ", 72)+"S      1\n"+strings.Repeat(" ", 80)+"\n", "this is an IGES file; "+step),
		text("kernel text", "**ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz**\n", "a solid modelling kernel's file; "+step),
		text("compound document", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"+pad, "a CAD program's own document; "+step),
		text("DXF", "  0\r\nSECTION\r\n  2\r\nHEADER\r\n", "this is a DXF drawing"),
		text("DWG", "AC1027"+pad, "this is a DWG drawing"),
		text("PLY", "ply\nformat ascii 1.0\n", "this is a PLY file; "+again),
		text("binary glTF", "glTF\x02\x00\x00\x00"+pad, "this is a binary glTF file"),
		text("glTF", `{ "scene": 0, "asset": {"version": "2.0"} }`, "this is a glTF file"),
		text("JSON", `{"a": 1}`, "this is a JSON file"),
		text("OFF", "OFF\n8 6 0\n", "this is an OFF file"),
		text("VRML", "#VRML V2.0 utf8\n", "this is a VRML file"),
		text("AMF", `<?xml version="1.0"?>`+"\n<!-- a -->\n<amf unit=\"mm\">", "this is an AMF file"),
		text("COLLADA", `<?xml version="1.0"?><COLLADA>`, "this is a COLLADA file"),
		text("bare 3MF model", `<?xml version="1.0"?><model unit="millimeter">`, "without its package; give the whole .3mf file"),
		text("web page", "\n<!DOCTYPE html><html><body>404</body></html>", "this is a web page; download the file itself"),
		text("other XML", `<?xml version="1.0"?><svg/>`, "an XML file of another kind"),
		text("PDF", "%PDF-1.7"+pad, "this is a PDF"),
		text("picture", "\x89PNG\r\n\x1A\n"+pad, "this is a picture"),
		text("UTF-16", "\xFF\xFEs\x00o\x00l\x00i\x00d\x00", "this is UTF-16 text; save it as UTF-8"),
		text("prose", strings.Repeat("Dear reader, this is no mesh. ", 20), "none of STL, OBJ and 3MF"),
		text("noise", strings.Repeat("\x93\x00\xFE\x11\x42\x99\x00\x07", 64), "of the"),
		text("a few bytes", "\x01\x02", "too short to hold a mesh"),
		{name: "gzip of an STL", content: gz.Bytes(), refused: "this is a compressed file; unpack it first"},
		{name: "zip of an STL", content: zipOf(t, part{"mold/top.stl", "solid"}), refused: `this is a zip that holds "mold/top.stl"; unpack it first`},
		{name: "zip of a program's document", content: zipOf(t, part{"Document.xml", "<a/>"}), refused: "a program's own document"},
		{name: "zip of an AMF", content: zipOf(t, part{"part.amf", "<amf/>"}), refused: "a packed AMF file"},
		{name: "zip of other things", content: zipOf(t, part{"readme.txt", "hello"}), refused: "a zip without a 3MF model"},
		{name: "empty zip", content: zipOf(t), refused: "a zip without a 3MF model"},
	}
}
