//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// oddFiles fills a folder with what is no file to read, and returns what each of them
// is said to be.
func oddFiles(t *testing.T, dir string) map[string]string {
	t.Helper()
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "pipe.toml"), 0o666))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.toml"), 0o777))
	require.NoError(t, os.Symlink("loop.toml", filepath.Join(dir, "loop.toml")))
	require.NoError(t, os.Symlink("nowhere", filepath.Join(dir, "dangling.toml")))
	require.NoError(t, os.Symlink("/dev/zero", filepath.Join(dir, "link-to-device.toml")))
	put(t, dir, "sparse.toml", nil)
	require.NoError(t, os.Truncate(filepath.Join(dir, "sparse.toml"), 1<<40))
	out := map[string]string{
		"pipe.toml": "is not a regular file", "folder.toml": "is a folder", "loop.toml": "too many levels of symbolic links", "dangling.toml": "does not exist",
		"link-to-device.toml": "is not a regular file", "/dev/zero": "is not a regular file", "sparse.toml": "1099511627776", "b0.toml/x.toml": "not a directory",
	}
	if os.Geteuid() != 0 { // the superuser may read everything
		put(t, dir, "locked.toml", []byte("x"))
		require.NoError(t, os.Chmod(filepath.Join(dir, "locked.toml"), 0))
		out["locked.toml"] = "permission denied"
	}
	return out
}

// within fails where a run takes longer: it waits for what never comes.
func within(t *testing.T, most time.Duration, do func() result) result {
	t.Helper()
	done := make(chan result, 1)
	go func() { done <- do() }()
	select {
	case r := <-done:
		return r
	case <-time.After(most):
		t.Fatal("still waiting")
		return result{}
	}
}

// What is no regular file is refused in every place where a file is named, at once,
// with its name, and nothing is written.
func TestOddFilesInEveryPlace(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	odd := oddFiles(t, dir)
	meshes := "[part]\nfile = 'part.stl'\n[[half]]\nfile = 'bottom.stl'\n[[half]]\nfile = 'top.stl'\n"
	for name, what := range odd {
		put(t, dir, "include.toml", []byte("include = '"+name+"'\n"+meshes))
		put(t, dir, "coupon.toml", []byte(meshes+"[printer]\ncoupon = '"+name+"'\n"))
		put(t, dir, "mesh.toml", []byte(strings.Replace(meshes, "bottom.stl", name, 1)))
		for _, args := range [][]string{
			{"check", name}, // as a job file
			{"check", "include.toml"},
			{"check", "coupon.toml"},
			{"check", "mesh.toml"},
			{"check", "b0.toml", "--since", name},
			{"tilt", name},
			{"mesh", name},
		} {
			said := what
			switch {
			case name == "sparse.toml" && (args[0] == "mesh" || args[1] == "mesh.toml"):
				said = "the size fits no number of facets" // it is looked at
			case name == "locked.toml" && !strings.Contains(strings.Join(args, " "), "toml"):
				said = "may not be read"
			}
			if name == "/dev/zero" && (len(args) == 2 && args[0] != "mesh" && args[1] == name) {
				continue // no job file by its name
			}
			before := len(listingNames(t, dir))
			got := within(t, 20*time.Second, func() result { return exec(dir, args...) })
			assert.Equal(t, exitDoubt, got.code, "%v", args)
			assert.Contains(t, got.err, name+": ", "%v", args)
			assert.Contains(t, got.err, said, "%v", args)
			assert.Equal(t, before, len(listingNames(t, dir)), "%v", args)
		}
	}
}

func listingNames(t *testing.T, dir string) []os.DirEntry {
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	return list
}

// What cannot be a folder is refused as DIR before any work.
func TestOddFolders(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	oddFiles(t, dir)
	for _, name := range []string{"pipe.toml", "sparse.toml", "loop.toml", "dangling.toml", "/dev/null", "part.stl", "part.stl/in", "pipe.toml/in", "/dev/null/in"} {
		before := len(listingNames(t, dir))
		got := within(t, 20*time.Second, func() result {
			return exec(dir, "check", "b0.toml", "--search", "none", "--only", "air", "--no-pdf", "-o", name)
		})
		assert.Equal(t, exitDoubt, got.code, name)
		assert.Contains(t, got.err, name, name)
		assert.Contains(t, got.err, "name", name)
		assert.NotContains(t, got.out, "Report", name)
		assert.Equal(t, before, len(listingNames(t, dir)), name)
	}
}

// Files that the system makes up and that never end state no size: nothing waits for
// them.
func TestEndlessSystemFile(t *testing.T) {
	if _, err := os.Stat("/proc/kmsg"); err != nil {
		t.Skip("no /proc/kmsg here")
	}
	t.Parallel()
	dir := bench(t)
	for _, args := range [][]string{{"check", "part.stl", "/proc/kmsg", "top.stl"}, {"check", "b0.toml", "--since", "/proc/kmsg"}, {"mesh", "/proc/kmsg"}} {
		got := within(t, 20*time.Second, func() result { return exec(dir, args...) })
		assert.Equal(t, exitDoubt, got.code, "%v", args)
		assert.Contains(t, got.err, "/proc/kmsg", "%v", args)
	}
}
