package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/md5"
	"crypto/sha256"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// file is an attachment.
type file struct {
	name, mime string
	data       []byte
}

// Attach puts a file into the document, to be saved from any viewer. The data
// are not copied: leave them alone until Bytes has returned.
func (d *Doc) Attach(name, mime string, data []byte) {
	d.block("attachment", func() {
		switch {
		case name == "" || strings.ContainsAny(name, "/\\\x00") || strings.ToValidUTF8(name, "") != name:
			d.fail("attachment %q: use a plain file name", name)
		case strings.Trim(mime, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/+-.") != "" || strings.Count(mime, "/") != 1:
			d.fail("attachment %q: %q is no media type", name, mime)
		case slices.ContainsFunc(d.files, func(f file) bool { return f.name == name }):
			d.fail("attachment %q is there twice", name)
		default:
			d.files = append(d.files, file{name, mime, data})
		}
	})
}

// update appends objects to a finished file as an incremental update (ISO
// 32000-1, 7.5.6): the bytes so far stay as they are, new and replaced objects
// follow with a cross-reference section of their own. It is needed because the
// library's own attachments shift the numbers of the pages but not the links
// and bookmarks that lead to them, and because it writes images of equal width
// in random order.
type update struct {
	out              bytes.Buffer
	old              []byte
	prev, root, info int // place of the old cross-reference, numbers of catalog and properties
	size             int // first free object number
	entries          int // place of the old table's first line
	offsets          map[int]int
}

var errLibrary = errors.New("the file written by the PDF library is not built as expected; another version of it?")

// extend appends pictures and attachments to the library's file.
func (d *Doc) extend(base []byte) ([]byte, error) {
	u, err := newUpdate(base)
	if err != nil {
		return nil, err
	}
	if err := u.pictures(d.pictures); err != nil {
		return nil, err
	}
	if err := u.catalog(d.files); err != nil {
		return nil, err
	}
	return u.finish(), nil
}

// newUpdate reads the end of a file with one plain cross-reference table.
func newUpdate(base []byte) (*update, error) {
	u := &update{old: base, offsets: map[int]int{}}
	end := base[max(0, len(base)-1024):]
	at := bytes.LastIndex(end, []byte("trailer"))
	if at < 0 {
		return nil, errLibrary
	}
	_, err := fmt.Sscanf(string(end[at:]), "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n>>\nstartxref\n%d", &u.size, &u.root, &u.info, &u.prev)
	if err != nil || u.prev < 0 || u.prev >= len(base) || !bytes.HasPrefix(base[u.prev:], []byte("xref\n0 ")) {
		return nil, errLibrary
	}
	u.entries = u.prev + len(fmt.Sprintf("xref\n0 %d\n", u.size))
	u.out.Grow(len(base) + 1<<16)
	u.out.Write(base)
	return u, nil
}

// object returns the text of an old object between its "obj" and "endobj".
func (u *update) object(n int) (string, error) {
	entry := u.entries + 20*n
	if entry+10 > len(u.old) {
		return "", errLibrary
	}
	at, err := strconv.Atoi(string(u.old[entry : entry+10]))
	head := fmt.Sprintf("%d 0 obj\n", n)
	if err != nil || at >= len(u.old) || !bytes.HasPrefix(u.old[at:], []byte(head)) {
		return "", errLibrary
	}
	body, _, ok := strings.Cut(string(u.old[at+len(head):u.prev]), "endobj\n")
	if !ok {
		return "", errLibrary
	}
	return body, nil
}

// add writes an object: number 0 takes the next free one.
func (u *update) add(n int, text string, stream []byte) int {
	if n == 0 {
		n = u.size
		u.size++
	}
	u.offsets[n] = u.out.Len()
	if stream == nil {
		fmt.Fprintf(&u.out, "%d 0 obj\n%s\nendobj\n", n, text)
		return n
	}
	fmt.Fprintf(&u.out, "%d 0 obj\n<<%s /Length %d>>\nstream\n", n, text, len(stream))
	u.out.Write(stream)
	u.out.WriteString("\nendstream\nendobj\n")
	return n
}

// pictures writes each different picture once, named by the hash of what it
// holds, and lists them in the resources of the pages (object 2).
func (u *update) pictures(pictures []*raster) error {
	if len(pictures) == 0 {
		return nil
	}
	known := map[[sha256.Size]byte]int{}
	var list strings.Builder
	for i, r := range pictures {
		<-r.ready
		n, ok := known[r.hash]
		if !ok {
			n = u.add(0, r.dictionary(), r.data)
			known[r.hash] = n
		}
		fmt.Fprintf(&list, "/P%d %d 0 R\n", i+1, n)
	}
	const empty = "/XObject <<\n>>"
	old, err := u.object(2)
	if err != nil || strings.Count(old, empty) != 1 {
		return errLibrary
	}
	u.add(2, strings.Replace(strings.TrimSuffix(old, "\n"), empty, "/XObject <<\n"+list.String()+">>", 1), nil)
	return nil
}

// catalog replaces the document's root by one that knows the attachments.
func (u *update) catalog(files []file) error {
	const empty = "/Names <<\n/EmbeddedFiles << /Names [\n  \n] >>\n>>\n"
	old, err := u.object(u.root)
	if err != nil || strings.Count(old, empty) != 1 {
		return errLibrary
	}
	extra := "/Version /1.7\n/ViewerPreferences <</DisplayDocTitle true>>\n"
	if len(files) > 0 {
		extra += u.files(files)
	}
	u.add(u.root, strings.Replace(strings.TrimSuffix(old, "\n"), empty, extra, 1), nil)
	return nil
}

// files writes attachments and returns the catalog's entries for them. The
// name tree must be in order of its keys.
func (u *update) files(files []file) string {
	sorted := slices.Clone(files)
	slices.SortFunc(sorted, func(a, b file) int { return strings.Compare(utf16BE(a.name), utf16BE(b.name)) })
	var names, all strings.Builder
	for _, f := range sorted {
		var packed bytes.Buffer
		z := zlib.NewWriter(&packed)
		_, _ = z.Write(f.data) // memory cannot fail
		_ = z.Close()
		body := u.add(0, fmt.Sprintf("/Type /EmbeddedFile /Subtype /%s /Filter /FlateDecode /Params <</Size %d /CheckSum <%x>>>",
			pdfName(f.mime), len(f.data), md5.Sum(f.data)), packed.Bytes())
		name := fmt.Sprintf("<%x>", utf16BE(f.name))
		spec := u.add(0, fmt.Sprintf("<</Type /Filespec /F %s /UF %s /AFRelationship /Data /EF <</F %d 0 R /UF %d 0 R>>>>", name, name, body, body), nil)
		fmt.Fprintf(&names, "%s %d 0 R ", name, spec)
		fmt.Fprintf(&all, "%d 0 R ", spec)
	}
	return "/Names <</EmbeddedFiles <</Names [" + names.String() + "]>>>>\n/AF [" + all.String() + "]\n"
}

// pdfName escapes the slash of a media type.
func pdfName(s string) string { return strings.ReplaceAll(s, "/", "#2F") }

// finish writes the cross-reference section and the trailer. The file's
// identity is the hash of its bytes, so it repeats with them.
func (u *update) finish() []byte {
	id := sha256.Sum256(u.out.Bytes())
	at := u.out.Len()
	numbers := make([]int, 0, len(u.offsets))
	for n := range u.offsets {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	u.out.WriteString("xref\n")
	for i := 0; i < len(numbers); {
		k := i + 1
		for k < len(numbers) && numbers[k] == numbers[k-1]+1 {
			k++
		}
		fmt.Fprintf(&u.out, "%d %d\n", numbers[i], k-i)
		for ; i < k; i++ {
			fmt.Fprintf(&u.out, "%010d 00000 n \n", u.offsets[numbers[i]])
		}
	}
	fmt.Fprintf(&u.out, "trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /Prev %d /ID [<%x> <%x>]>>\nstartxref\n%d\n%%%%EOF\n",
		u.size, u.root, u.info, u.prev, id[:16], id[:16], at)
	return u.out.Bytes()
}
