//go:build unix

package meshio

import (
	"crypto/sha256"
	"fmt"
	"hash"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestPerfLines reads the binary STL files that POURPROOF_PERF names, separated by
// blanks, PERF_REPS times, and prints two lines for each: the reading and welding
// alone, and all of ReadFile, which also takes the file's hash on another processor
// and judges units and place. A line is: kernel, name, figure from the best time,
// unit, and the figure from the best processor time of the whole process, which other
// programs do not touch.
//
//	POURPROOF_PERF=big.stl go test -count=1 -run TestPerfLines -v ./geom/meshio
func TestPerfLines(t *testing.T) {
	files := strings.Fields(os.Getenv("POURPROOF_PERF"))
	if len(files) == 0 {
		t.Skip("POURPROOF_PERF names no file")
	}
	for _, path := range files {
		dir, name := filepath.Split(path)
		kernel := "stl." + strings.TrimSuffix(name, filepath.Ext(name))
		perfLine(t, kernel, "go.load+weld", func() *File { return loadUnhashed(t, path) })
		perfLine(t, kernel, "go.read", func() *File {
			f, err := ReadFile(os.DirFS(dir), name, Options{})
			require.NoError(t, err)
			return f
		})
	}
}

func perfLine(t *testing.T, kernel, name string, load func() *File) {
	reps, _ := strconv.Atoi(os.Getenv("PERF_REPS"))
	reps = max(reps, 1)
	facets, wall, cpu := 0, time.Hour, time.Hour
	for range reps {
		c, w := processorTime(t), time.Now()
		facets = load().Facets()
		wall, cpu = min(wall, time.Since(w)), min(cpu, processorTime(t)-c)
	}
	rate := func(d time.Duration) float64 { return float64(facets) / d.Seconds() / 1e6 }
	fmt.Printf("%s %s %.4g Mtri/s # n %d best_s %.5f by_cpu %.4g cpu_s %.5f\n", kernel, name, rate(wall), reps, wall.Seconds(), rate(cpu), cpu.Seconds())
}

// loadUnhashed is Read without the hash of the file and what comes after welding.
func loadUnhashed(t *testing.T, path string) *File {
	r, err := os.Open(path)
	require.NoError(t, err)
	defer r.Close()
	info, err := r.Stat()
	require.NoError(t, err)
	in := newInput(path, r, info.Size())
	defer in.close()
	in.hash = noHash{sha256.New()}
	head, err := in.peek(sniffLength)
	require.NoError(t, err)
	f := &File{Name: path, Size: info.Size()}
	require.NoError(t, f.readBinarySTL(in, head))
	return f
}

type noHash struct{ hash.Hash }

func (noHash) Write(b []byte) (int, error) { return len(b), nil }

func processorTime(t *testing.T) time.Duration {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
