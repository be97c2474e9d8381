package geomtest

import (
	"bytes"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"
)

// LineVariable names the environment variable that makes every Meter print, beside
// the benchmark's own line, one of the form
//
//	KERNEL NAME figure unit # median M n N best_s S by_cpu F cpu_s C
//
// on standard output: KERNEL is the variable's value, NAME the benchmark's; the figure
// is work over the best elapsed time, by_cpu over the best processor time. So a
// kernel can be run in turn with another program that prints the like.
const LineVariable = "POURPROOF_LINE"

// Meter takes what a benchmark costs: processor time of all cores, which a busy
// machine hardly stretches, and the most memory the process held while it ran.
type Meter struct {
	b          *testing.B
	wall, cpu  []float64 // seconds of every repetition
	wall0      time.Time
	cpu0       time.Duration
	running    bool
	resettable bool // the peak is this benchmark's own
	lined      bool
}

// NewMeter begins a benchmark whose inputs are made; what they left behind is
// given back first, so that the peak is the inputs and the work.
func NewMeter(b *testing.B) *Meter {
	b.Helper()
	b.ReportAllocs()
	runtime.GC() // twice empties the pools
	debug.FreeOSMemory()
	m := &Meter{b: b}
	m.resettable = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) == nil // proc(5): resets VmHWM
	return m
}

// Loop stands for b.Loop.
func (m *Meter) Loop() bool {
	if m.running {
		m.cpu = append(m.cpu, (cpuTime() - m.cpu0).Seconds())
		m.wall = append(m.wall, time.Since(m.wall0).Seconds())
	}
	m.running = m.b.Loop()
	if m.running {
		m.wall0, m.cpu0 = time.Now(), cpuTime()
	} else if peak := peakMemory(); m.resettable && peak > 0 {
		m.b.ReportMetric(peak, "peak-MB")
	}
	return m.running
}

// Per reports the processor time a thing, of which every repetition did count, as
// ns/thing. The first call is what the line counts.
func (m *Meter) Per(thing string, count int) {
	sum := 0.0
	for _, c := range m.cpu {
		sum += c
	}
	m.b.ReportMetric(sum/float64(len(m.cpu))/float64(count)*1e9, "ns/"+thing)
	if kernel := os.Getenv(LineVariable); kernel != "" && !m.lined {
		m.lined = true
		fmt.Println("\n" + m.line(kernel, float64(count)/1e6, "M"+thing+"/s"))
	}
}

func (m *Meter) line(kernel string, work float64, unit string) string {
	wall, cpu := slices.Sorted(slices.Values(m.wall)), slices.Sorted(slices.Values(m.cpu))
	name := strings.TrimPrefix(m.b.Name(), "Benchmark")
	return fmt.Sprintf("%s %s %.4g %s # median %.4g n %d best_s %.5f by_cpu %.4g cpu_s %.5f", kernel, name,
		work/wall[0], unit, work/wall[len(wall)/2], len(wall), wall[0], work/cpu[0], cpu[0])
}

// peakMemory returns the most memory that the process has held since the peak was
// reset, MB; 0 where the system does not say.
func peakMemory() float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range bytes.Lines(status) {
		var kb float64
		if n, _ := fmt.Sscanf(string(line), "VmHWM: %f kB", &kb); n == 1 {
			return kb / 1024
		}
	}
	return 0
}
