package meshio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"regexp"
)

// sniffLength is how much of a file's start decides what it is.
const sniffLength = 4096

// The binary STL layout: 80 bytes of anything, the facet count, then 50 bytes a
// facet (normal, three corners, one attribute word), little-endian.
const (
	stlHeader = 84
	stlFacet  = 50
)

// foreign lists formats that are recognised only to be refused, by how their
// files begin (an expression anchored at the start).
var foreign = []struct {
	begin  *regexp.Regexp
	what   string
	remedy string
}{
	{begins(`\s*ISO-10303-21;`), "a STEP file", remedyTessellate},
	{begins(`[^\n]{72}S {0,6}0{0,6}1\s*[\r\n]`), "an IGES file", remedyTessellate},
	{begins(`\*\*ABCDEFGHIJKLMNOPQRSTUVWXYZ`), "a solid modelling kernel's file", remedyTessellate},
	{begins(`(?i)ACIS|\d{3,5} \d+ \d+ \d+\s*[\r\n]+\d+ `), "a solid modelling kernel's file", remedyTessellate},
	{begins(`\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1`), "a CAD program's own document", remedyTessellate},
	{begins(`AC10\d\d`), "a DWG drawing", remedyTessellate},
	{begins(`\s*0\s*[\r\n]+\s*SECTION`), "a DXF drawing", remedyTessellate},
	{begins(`ply\s*[\r\n]`), "a PLY file", remedyExport},
	{begins(`glTF`), "a binary glTF file", remedyExport},
	{begins(`(?s)\s*\{.*"asset"\s*:`), "a glTF file", remedyExport},
	{begins(`\s*\{`), "a JSON file", remedyExport},
	{begins(`(ST|C|N|4|n)*OFF( BINARY)?\s*[\r\n]`), "an OFF file", remedyExport},
	{begins(`#VRML`), "a VRML file", remedyExport},
	{begins(`Kaydara FBX Binary|; FBX`), "an FBX file", remedyExport},
	{begins(`(?s)\s*(<\?xml.*?\?>\s*)?(<!--.*?-->\s*)*<amf\b`), "an AMF file", remedyExport},
	{begins(`(?s)\s*(<\?xml.*?\?>\s*)?(<!--.*?-->\s*)*<COLLADA\b`), "a COLLADA file", remedyExport},
	{begins(`(?s)\s*(<\?xml.*?\?>\s*)?(<!--.*?-->\s*)*<model\b`), "the model part of a 3MF without its package", "give the whole .3mf file"},
	{begins(`(?is)\s*(<\?xml.*?\?>\s*)?(<!--.*?-->\s*)*<(!doctype html|html)`), "a web page", "download the file itself"},
	{begins(`(?s)\s*<\?xml`), "an XML file of another kind", remedyExport},
	{begins(`\x1F\x8B|BZh\d|\xFD7zXZ\x00|\x28\xB5\x2F\xFD|7z\xBC\xAF\x27\x1C|Rar!`), "a compressed file", "unpack it first"},
	{begins(`%PDF`), "a PDF", remedyExport},
	{begins(`\x89PNG|\xFF\xD8\xFF|GIF8`), "a picture", remedyExport},
	{begins(`\xFF\xFE|\xFE\xFF`), "UTF-16 text", "save it as UTF-8 or plain text"},
	{begins(`\x7FELF|MZ`), "a program", remedyExport},
}

const remedyTessellate = "export the model as STL, OBJ or 3MF from the program that made it"

// begins compiles an expression over the characters of latin, anchored at the start.
func begins(expr string) *regexp.Regexp { return regexp.MustCompile(`\A(?:` + expr + `)`) }

var (
	textSTL = regexp.MustCompile(`(?i)\A\s*(solid|facet)\b`)
	textOBJ = regexp.MustCompile(`(?m)\A(?:\s*(?:#[^\n]*|(?:mtllib|usemtl|o|g|s|vt|vn|vp|l|p)\b[^\n]*)?\n)*\s*(?:v|f)[ \t]+[-+.\d\\]`)
)

// sniff decides what a file is by its first bytes and its size.
func sniff(name string, head []byte, size int64) (Format, error) {
	fail := func(at int64, what, remedy string) (Format, error) {
		return "", &ReadError{File: name, Byte: at, What: what, Remedy: remedy}
	}
	if size == 0 {
		return fail(-1, "the file is empty", remedyExport)
	}
	// The size rule comes first: binary files may begin with any word. A text
	// cannot meet it below 8 GB, for its bytes 80 to 83 are at least 0x09.
	if size >= stlHeader && size == stlHeader+stlFacet*int64(binary.LittleEndian.Uint32(head[80:])) {
		return STLBinary, nil
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06")) {
		return ThreeMF, nil
	}
	text := bytes.TrimPrefix(head, []byte(byteOrderMark))
	if textSTL.Match(text) && !bytes.ContainsRune(text, 0) {
		return STLText, nil
	}
	asBytes := []byte(latin(string(text)))
	for _, f := range foreign {
		if f.begin.Match(asBytes) {
			return fail(0, fmt.Sprintf("this is %s", f.what), f.remedy)
		}
	}
	switch {
	case !bytes.ContainsRune(text, 0) && textOBJ.Match(text):
		return OBJ, nil
	case size < stlHeader+stlFacet:
		return fail(0, "the file is too short to hold a mesh", remedyExport)
	case !bytes.ContainsRune(head, 0):
		return fail(0, "the file is none of STL, OBJ and 3MF", remedyExport)
	}
	return STLBinary, nil // with a count that does not fit: its reader says what is wrong
}

// byteOrderMark may stand before a UTF-8 text.
const byteOrderMark = "\xEF\xBB\xBF"

// latin turns each byte into the character of that number, so that an expression
// may speak of bytes and an invalid UTF-8 text hides nothing.
func latin(s string) string {
	r := make([]rune, len(s))
	for i := range len(s) {
		r[i] = rune(s[i])
	}
	return string(r)
}
