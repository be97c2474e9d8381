package meshio

import (
	"bufio"
	"encoding/xml"
	"errors"
	"io"
	"strings"
)

// maxDepth bounds how deep elements nest; a 3MF needs six.
const maxDepth = 64

// element is a start tag, or an end tag where end is true. Names are local, in
// whatever namespace.
type element struct {
	name string
	end  bool
	// empty says that the start tag closes itself; its end tag follows all the same.
	empty bool
	attrs []xml.Attr
}

// attr returns an attribute's value, "" where there is none. A prefixed attribute
// is asked for by its local name.
func (e *element) attr(name string) string {
	for _, a := range e.attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// xmlReader hands out start and end tags. It refuses document types (so there are
// no entities but the five of XML), other encodings than UTF-8, unbalanced tags
// and deep nesting. The bufio.Reader may be read directly between two calls.
type xmlReader struct {
	in    *bufio.Reader
	bytes *lastBytes
	raw   *xml.Decoder
	stack []string
	began bool
}

// lastBytes remembers the last two bytes, to tell <a/> from <a>.
type lastBytes struct {
	in   *bufio.Reader
	a, b byte
}

func (l *lastBytes) ReadByte() (byte, error) {
	c, err := l.in.ReadByte()
	l.a, l.b = l.b, c
	return c, err
}

// Read is not used by xml.Decoder, which takes single bytes from an io.ByteReader.
func (l *lastBytes) Read(p []byte) (int, error) { return l.in.Read(p) }

func newXMLReader(in *bufio.Reader) *xmlReader {
	l := &lastBytes{in: in}
	if mark, _ := in.Peek(len(byteOrderMark)); string(mark) == byteOrderMark {
		in.Discard(len(byteOrderMark))
	}
	d := xml.NewDecoder(l)
	d.CharsetReader = func(charset string, r io.Reader) (io.Reader, error) {
		return nil, errors.New("the encoding " + quote([]byte(charset)) + " is not UTF-8")
	}
	return &xmlReader{in: in, bytes: l, raw: d}
}

// next returns the next tag; io.EOF after the last one.
func (x *xmlReader) next() (element, error) {
	for {
		token, err := x.raw.RawToken()
		if err == io.EOF {
			if len(x.stack) > 0 || !x.began {
				return element{}, io.ErrUnexpectedEOF
			}
			return element{}, io.EOF
		}
		if err != nil {
			return element{}, err
		}
		switch t := token.(type) {
		case xml.Directive:
			return element{}, errors.New("a document type declaration is not allowed")
		case xml.StartElement:
			x.began = true
			x.stack = append(x.stack, t.Name.Local)
			if len(x.stack) > maxDepth {
				return element{}, errors.New("elements are nested too deep")
			}
			return element{name: t.Name.Local, empty: x.bytes.a == '/', attrs: t.Attr}, nil
		case xml.EndElement:
			if n := len(x.stack); n == 0 || x.stack[n-1] != t.Name.Local {
				return element{}, errors.New("the end tag " + quote([]byte(t.Name.Local)) + " matches no start tag")
			}
			x.pop()
			return element{name: t.Name.Local, end: true}, nil
		}
	}
}

func (x *xmlReader) pop() { x.stack = x.stack[:len(x.stack)-1] }

// skip passes over the rest of the element whose start tag was returned last.
func (x *xmlReader) skip() error {
	for depth := 1; depth > 0; {
		e, err := x.next()
		if err != nil {
			return err
		}
		if e.end {
			depth--
		} else {
			depth++
		}
	}
	return nil
}

// errTagLength is returned for a tag longer than the buffer.
var errTagLength = errors.New("a tag of a vertex or triangle is too long")

// flat calls each for every start tag of the given local name directly inside the
// element whose start tag was returned last, up to its end tag, with the tag's
// text between name and ">". It reads bytes without building tokens: this is
// where a 3MF's millions of tags are. Comments are skipped, other elements and
// text are an error.
func (x *xmlReader) flat(name string, each func(attrs []byte) error) error {
	outer := x.stack[len(x.stack)-1]
	for {
		tag, err := x.tag()
		if err != nil {
			return err
		}
		if tag[0] == '/' {
			switch closed := localName(tag[1:]); {
			case closed == outer:
				x.pop()
				return nil
			case closed == name:
				continue // <vertex></vertex>
			}
			return errors.New("the end tag " + quote(tag[1:]) + " matches no start tag")
		}
		if localName(tag) != name {
			return errors.New("unexpected " + quote(tag) + " among " + quote([]byte(outer)))
		}
		if err := each(tag); err != nil {
			return err
		}
	}
}

// tag returns the next tag without < and >, skipping blanks and comments.
func (x *xmlReader) tag() ([]byte, error) {
	for {
		s, err := x.in.ReadSlice('>')
		if err == bufio.ErrBufferFull {
			return nil, errTagLength
		}
		if err == io.EOF {
			return nil, io.ErrUnexpectedEOF
		}
		if err != nil {
			return nil, err
		}
		i := 0
		for isBlank(s[i]) {
			i++
		}
		if s[i] != '<' {
			return nil, errors.New("text where a tag was expected: " + quote(s[i:len(s)-1]))
		}
		if tag := s[i+1 : len(s)-1]; !isComment(tag) && len(tag) > 0 {
			return tag, nil
		} else if len(tag) == 0 {
			return nil, errors.New("a tag has no name")
		} else if err := x.endComment(tag); err != nil {
			return nil, err
		}
	}
}

func isComment(tag []byte) bool { return strings.HasPrefix(string(tag[:min(len(tag), 3)]), "!--") }

// endComment reads to the end of a comment of which tag is the part up to the
// first ">".
func (x *xmlReader) endComment(tag []byte) error {
	tag = tag[len("!--"):]
	dashes := 0
	if n := len(tag); n >= 2 && tag[n-1] == '-' && tag[n-2] == '-' {
		return nil
	}
	for {
		c, err := x.in.ReadByte()
		switch {
		case err == io.EOF:
			return io.ErrUnexpectedEOF
		case err != nil:
			return err
		case c == '>' && dashes >= 2:
			return nil
		case c == '-':
			dashes++
		default:
			dashes = 0
		}
	}
}

// localName returns a tag's name without its namespace prefix.
func localName(tag []byte) string {
	end := 0
	for end < len(tag) && !isBlank(tag[end]) && tag[end] != '/' {
		if tag[end] == ':' {
			tag, end = tag[end+1:], 0
			continue
		}
		end++
	}
	return string(tag[:end])
}

// nextAttr cuts the next attribute off a tag's text; name is nil at the end.
func nextAttr(tag []byte) (name, value, rest []byte, ok bool) {
	i := 0
	for i < len(tag) && (isBlank(tag[i]) || tag[i] == '/') {
		i++
	}
	start := i
	for i < len(tag) && tag[i] != '=' && !isBlank(tag[i]) {
		i++
	}
	if name = tag[start:i]; len(name) == 0 {
		return nil, nil, nil, i == len(tag)
	}
	for i < len(tag) && (tag[i] == '=' || isBlank(tag[i])) {
		i++
	}
	if i == len(tag) || tag[i] != '"' && tag[i] != '\'' {
		return name, nil, nil, false
	}
	quote := tag[i]
	start = i + 1
	for i = start; i < len(tag) && tag[i] != quote; i++ {
	}
	if i == len(tag) {
		return name, nil, nil, false
	}
	return name, tag[start:i], tag[i+1:], true
}
