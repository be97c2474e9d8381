//go:build unix

package meshio_test

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom/meshio"
)

func TestOddFiles(t *testing.T) {
	dir := t.TempDir()
	fsys := os.DirFS(dir)
	good := binarySTL(t, cube(0, 20), "")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "part.stl"), good, 0o644))
	require.NoError(t, os.Symlink("part.stl", filepath.Join(dir, "link.stl")))
	require.NoError(t, os.Symlink("nowhere.stl", filepath.Join(dir, "dangling.stl")))
	require.NoError(t, os.Symlink("loop.stl", filepath.Join(dir, "loop.stl")))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.stl"), 0o755))
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "pipe.stl"), 0o644))

	f, err := meshio.ReadFile(fsys, "link.stl", meshio.Options{})
	require.NoError(t, err)
	assert.Equal(t, 12, f.Facets())
	for name, want := range map[string]string{
		"dangling.stl": "dangling.stl: does not exist",
		"loop.stl":     "loop.stl: cannot be opened: too many levels of symbolic links",
		"folder.stl":   "folder.stl: is a folder",
		"pipe.stl":     "pipe.stl: is not a regular file",
		"../part.stl":  "../part.stl: cannot be opened: invalid argument",
	} {
		done := make(chan error, 1)
		go func() {
			_, err := meshio.ReadFile(fsys, name, meshio.Options{})
			done <- err
		}()
		select {
		case err := <-done:
			assert.ErrorContains(t, err, want)
		case <-time.After(10 * time.Second):
			t.Fatalf("%s: still waiting", name)
		}
	}
	if os.Getuid() != 0 { // the superuser may read everything
		require.NoError(t, os.Chmod(filepath.Join(dir, "part.stl"), 0))
		_, err = meshio.ReadFile(fsys, "part.stl", meshio.Options{})
		assert.ErrorContains(t, err, "part.stl: may not be read")
	}
}

// meddled is a folder whose files something happens to between two looks at them.
type meddled struct {
	fs.FS
	opening, reading func(name string)
}

func (m meddled) Open(name string) (fs.File, error) {
	m.opening(name)
	f, err := m.FS.Open(name)
	if err != nil {
		return nil, err
	}
	return &meddledFile{f, func() { m.reading(name) }}, nil
}

func (m meddled) Stat(name string) (fs.FileInfo, error) { return fs.Stat(m.FS, name) }

type meddledFile struct {
	fs.File
	once func()
}

func (f *meddledFile) ReadAt(b []byte, off int64) (int, error) {
	if off > 0 && f.once != nil {
		f.once()
		f.once = nil
	}
	return f.File.(io.ReaderAt).ReadAt(b, off)
}

// A file that goes, grows, shrinks or is written anew while it is read is refused;
// one that was opened in time is read to its end.
func TestFilesThatChangeMeanwhile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "part.stl")
	good := binarySTL(t, ball(60, 20), "")
	nothing := func(string) {}
	for name, c := range map[string]struct {
		opening, reading func(string)
		want             string
	}{
		"untouched":             {nothing, nothing, ""},
		"goes before it opens":  {func(string) { os.Remove(path) }, nothing, "part.stl: does not exist"},
		"goes once it is open":  {nothing, func(string) { os.Remove(path) }, ""},
		"grows before it opens": {func(string) { require.NoError(t, os.WriteFile(path, append(bytes.Clone(good), 1, 2, 3), 0o644)) }, nothing, ""},
		"grows": {nothing, func(string) {
			f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
			require.NoError(t, err)
			f.WriteString("more")
			f.Close()
		}, "part.stl: was changed while it was read; wait until the export has finished, then run again"},
		"shrinks":         {nothing, func(string) { os.Truncate(path, 1000) }, "part.stl: was changed while it was read"},
		"is written anew": {nothing, func(string) { os.WriteFile(path, good, 0o644) }, "part.stl: was changed while it was read"},
		"is put in place": {nothing, func(string) { os.WriteFile(path+"~", good[:900], 0o644); os.Rename(path+"~", path) }, ""},
	} {
		require.NoError(t, os.WriteFile(path, good, 0o644))
		require.NoError(t, os.Chtimes(path, time.Unix(1e9, 0), time.Unix(1e9, 0)))
		f, err := meshio.ReadFile(meddled{os.DirFS(dir), c.opening, c.reading}, "part.stl", meshio.Options{})
		if c.want != "" {
			assert.ErrorContains(t, err, c.want, name)
			continue
		}
		if assert.NoError(t, err, name) {
			assert.Equal(t, (len(good)-84)/50, f.Facets(), name)
		}
	}
}
