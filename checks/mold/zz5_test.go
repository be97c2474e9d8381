package mold

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestZZ5(t *testing.T) {
	names := os.Getenv("ZZ5")
	if names == "" {
		t.Skip("no ZZ5")
	}
	for _, n := range strings.Split(names, ",") {
		part, halves := loadCase(t, n)
		for i := range halves {
			halves[i].ChordError = halves[i].Mesh.ChordError()
		}
		part.ChordError = part.Mesh.ChordError()
		t0 := time.Now()
		m, err := Close(*NewJob(), part, halves)
		require.NoError(t, err)
		t1 := time.Now()
		c, err := m.Closing()
		require.NoError(t, err)
		dump5(n, m, c)
		fmt.Printf("   close %v closing %v\n", t1.Sub(t0), time.Since(t1))
	}
}

func dump5(n string, m *Mold, c *Closing) {
	fmt.Printf("== %s tol %.4f touching %.1f gap %.4f at %v area %.2f overlap %.3f depth %.4f %+v\n", n, c.Tolerance, c.Touching, c.GapMax, c.GapAt, c.GapArea, c.OverlapVolume, c.OverlapDepth, c.Overlaps)
	for _, l := range c.Leaks {
		fmt.Printf("   leak %s land %.3f path %d %v -> %v\n", l.From, l.Land, len(l.Path), l.Path[0], l.Path[len(l.Path)-1])
	}
	for _, k := range c.Keys {
		k.cells = nil
		fmt.Printf("   key %+v\n", k)
	}
	for _, k := range c.Turns {
		fmt.Printf("   turn %+v\n", k)
	}
	fmt.Printf("   offset %+v\n", c.HalvesOffset)
	d := c.Deviation
	fmt.Printf("   dev max %.4f at %v mean %.4f signed %.4f n %d mirrored %v fit %+v\n", d.Max, d.At, d.Mean, d.Signed, len(d.Samples), c.Mirrored, m.Fit)
	for _, k := range c.Cavities {
		k.Deviation.Samples = nil
		fmt.Printf("   cavity %+v\n", k)
	}
	for _, k := range c.Features {
		fmt.Printf("   feature %+v\n", k)
	}
	for i, k := range c.Sections {
		if i < 5 {
			fmt.Printf("   section %+v\n", k)
		}
	}
	for _, k := range c.Stubs {
		fmt.Printf("   stub %+v\n", k)
	}
	fmt.Printf("   cast %+v\n", c.Cast)
}
