//go:build unix

package main

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	osexec "os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// asProgram makes this test's binary the program itself.
const asProgram = "POURPROOF_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
	}
	os.Exit(m.Run())
}

// process is the program in a process of its own, run from dir. It is killed
// where it hangs.
func process(t *testing.T, dir string, args ...string) *osexec.Cmd {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	c := osexec.CommandContext(t.Context(), self, args...)
	c.Dir, c.Env = dir, append(os.Environ(), asProgram+"=1")
	return c
}

// finished runs the program to its end.
func finished(t *testing.T, c *osexec.Cmd) result {
	t.Helper()
	var out, errs bytes.Buffer
	if c.Stdout == nil {
		c.Stdout = &out
	}
	c.Stderr = &errs
	require.NoError(t, c.Start())
	hung := time.AfterFunc(2*time.Minute, func() { c.Process.Kill() })
	defer hung.Stop()
	err := c.Wait()
	var exit *osexec.ExitError
	if err != nil {
		require.ErrorAs(t, err, &exit)
	}
	assert.NotContains(t, errs.String(), "goroutine ", "it must not crash")
	return result{out.String(), errs.String(), c.ProcessState.ExitCode()}
}

// earlierRun fills out in dir with the report of a level pour; it returns the files
// of that run and those that the tilted job would write.
func earlierRun(t *testing.T, dir string) (earlier, next map[string]string) {
	t.Helper()
	put(t, dir, "level.toml", []byte(levelJob))
	for _, job := range []string{"b0.toml", "level.toml"} {
		earlier, next = next, nil
		got := exec(dir, "check", job, "--only", "air", "--search", "none", "--no-pdf", "--quiet", "-o", "out")
		require.Empty(t, got.err)
		next = listing(t, filepath.Join(dir, "out"))
	}
	require.NotEqual(t, earlier, next)
	return next, earlier
}

// An interrupt at any moment leaves the folder as it was or with the whole new
// report, and nothing else; the process dies of the signal, or had ended.
func TestInterruptedAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: two dozen runs")
	}
	t.Parallel()
	dir := bench(t)
	earlier, next := earlierRun(t, dir)
	line := []string{"check", "b0.toml", "--only", "air", "--search", "none", "--no-pdf", "--quiet", "-o"}
	begun := time.Now()
	require.Equal(t, exitStop, finished(t, process(t, dir, append(line, "timed")...)).code)
	whole := time.Since(begun)
	r := rand.New(rand.NewPCG(3, 8))
	died, through := 0, 0
	for i := range 24 {
		out := filepath.Join(dir, "out")
		before := earlier
		require.NoError(t, os.RemoveAll(out))
		if i%2 == 0 {
			require.NoError(t, os.Mkdir(out, 0o777))
			for name, data := range earlier {
				if name != "./" {
					put(t, out, name, []byte(data))
				}
			}
		} else {
			before = nil
		}
		sig := []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP}[i%3]
		c := process(t, dir, append(line, "out")...)
		require.NoError(t, c.Start())
		if i < 12 {
			time.Sleep(time.Duration(float64(whole) * 1.1 * r.Float64()))
		} else {
			untilWriting(out, whole)
		}
		c.Process.Signal(sig)
		c.Wait()
		state := c.ProcessState.Sys().(syscall.WaitStatus)
		var now map[string]string
		if _, err := os.Stat(out); err == nil {
			now = listing(t, out)
		}
		what := fmt.Sprintf("trial %d, %v: %v", i, sig, c.ProcessState)
		switch {
		case state.Signaled():
			died++
			assert.Equal(t, sig, state.Signal(), what)
			if !maps.Equal(now, next) { // it had put all in place
				assert.Equal(t, before, now, what)
			}
		default:
			through++
			assert.Equal(t, exitStop, c.ProcessState.ExitCode(), what)
			assert.Equal(t, next, now, what)
		}
	}
	t.Logf("%d runs died of the signal, %d had ended; a run takes %v", died, through, whole)
	assert.Positive(t, died)
}

// untilWriting waits until a file under another name appears in a folder.
func untilWriting(dir string, most time.Duration) {
	for begun := time.Now(); time.Since(begun) < 2*most; {
		found, _ := filepath.Glob(filepath.Join(dir, tempPrefix+"*"))
		if len(found) > 0 {
			return
		}
	}
}

// A run that was killed without warning leaves a file behind; the next takes it
// away.
func TestLeftoversOfAKilledRunGo(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	put(t, dir, tempPrefix+"123", []byte("half"))
	put(t, dir, "mine.txt", []byte("mine"))
	require.NoError(t, writeAll(dir, []outFile{{"report.json", []byte("{}")}}))
	assert.Equal(t, map[string]string{"./": "", "mine.txt": "mine", "report.json": "{}"}, listing(t, dir))
}

// Two runs into one folder at once: afterwards it holds one of them, whole.
func TestTwoRunsIntoOneFolder(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	earlier, next := earlierRun(t, dir)
	out := filepath.Join(dir, "out")
	for range 3 {
		require.NoError(t, os.RemoveAll(out))
		var both []*osexec.Cmd
		for _, job := range []string{"b0.toml", "level.toml"} {
			c := process(t, dir, "check", job, "--only", "air", "--search", "none", "--no-pdf", "--quiet", "-o", "out")
			require.NoError(t, c.Start())
			both = append(both, c)
		}
		for _, c := range both {
			c.Wait()
			assert.True(t, c.ProcessState.Exited())
		}
		now := listing(t, out)
		if !maps.Equal(now, earlier) {
			assert.Equal(t, next, now)
		}
	}
}

// The same with many writers at every moment: each finds the other's files whole.
func TestManyWritersIntoOneFolder(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "out")
	done := make(chan error)
	for n := range 8 {
		go func() {
			var err error
			for range 40 {
				mark := []byte(strings.Repeat(fmt.Sprint(n), 5000))
				files := []outFile{{"report.json", mark}, {"report.html", mark}}
				if n%2 == 0 {
					files = append(files, outFile{"vents.csv", mark})
				}
				if e := writeAll(dir, files); e != nil {
					err = e
				}
			}
			done <- err
		}()
	}
	for range 8 {
		require.NoError(t, <-done)
	}
	now := listing(t, dir)
	delete(now, "./")
	assert.Equal(t, now["report.json"], now["report.html"])
	if even := (now["report.json"][0]-'0')%2 == 0; even {
		assert.Equal(t, now["report.json"], now["vents.csv"])
	} else {
		assert.Len(t, now, 2)
	}
}

// A disk that fills up, here a limit of the process, ends the run with a sentence;
// the earlier report stays, and nothing half written.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	earlier, next := earlierRun(t, dir)
	require.Greater(t, len(next["report.json"]), 8<<10)
	for _, out := range []string{"out", "new"} {
		c := process(t, dir, "-c", `ulimit -f 8 && exec "$0" "$@"`) // of 512 or 1024 bytes
		self := c.Path
		c.Path, c.Args[0] = "/bin/sh", "sh"
		c.Args = append(c.Args, self, "check", "b0.toml", "--only", "air", "--search", "none", "--no-pdf", "-o", out)
		got := finished(t, c)
		assert.Equal(t, exitDoubt, got.code, got.err)
		assert.Contains(t, got.err, "report.json: cannot be written: file too large; free some room or name another folder with --out")
	}
	assert.Equal(t, earlier, listing(t, filepath.Join(dir, "out")))
	assert.NoDirExists(t, filepath.Join(dir, "new"))
}

// A file system that is full, where one may be mounted.
func TestFullFileSystem(t *testing.T) {
	dir := bench(t)
	small := filepath.Join(dir, "small")
	require.NoError(t, os.Mkdir(small, 0o777))
	if out, err := osexec.Command("mount", "-t", "tmpfs", "-o", "size=8k", "none", small).CombinedOutput(); err != nil {
		t.Skipf("no file system can be mounted here, TestFullDisk stands in: %v, %s", err, out)
	}
	t.Cleanup(func() { osexec.Command("umount", small).Run() })
	got := finished(t, process(t, dir, "check", "b0.toml", "--only", "air", "--search", "none", "--no-pdf", "-o", "small"))
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "report.json: cannot be written: no space left on device")
	assert.Equal(t, map[string]string{"./": ""}, listing(t, small))
}

// A full standard output is an error, not a report that looks whole.
func TestFullStandardOutput(t *testing.T) {
	t.Parallel()
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full here")
	}
	defer full.Close()
	dir := bench(t)
	for _, line := range []string{"check level.toml --only air --search none --no-pdf --quiet --json -", "check level.toml --only air --search none --no-pdf", "mesh part.stl", "mesh part.stl --json -", "schema", "init x.toml", "version"} {
		put(t, dir, "level.toml", []byte(levelJob))
		c := process(t, dir, strings.Fields(line)...)
		c.Stdout = full
		got := finished(t, c)
		assert.Equal(t, exitDoubt, got.code, line)
		assert.Contains(t, got.err, "standard output: ", line)
	}
}
