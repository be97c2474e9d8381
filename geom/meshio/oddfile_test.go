//go:build unix

package meshio_test

import (
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
