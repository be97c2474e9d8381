package mold

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
)

func TestScratch(t *testing.T) {
	for _, name := range strings.Fields(os.Getenv("CASES")) {
		part, halves := loadCase(t, name)
		t0 := time.Now()
		cell, _ := strconv.ParseFloat(os.Getenv("CELL"), 64)
		m, err := Close(Job{Cell: cell}, part, halves)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Printf("%s: close %v cell %.3f (%s) skin %.3f fit %+v pulls %v\n", name, time.Since(t0), m.Cell, m.CellWhy, m.Skin, m.Fit, m.Pulls)
		for _, c := range m.Channels {
			ex := "-"
			if c.Exit != nil {
				ex = at(*c.Exit)
			}
			fmt.Printf("  %d %s assumed=%v mouth %s exit %s end %s d %.3f at %s mouthd %.3f len %.3f half %s\n", c.ID, c.Role, c.Assumed, at(c.Mouth), ex, at(c.End), c.Diameter, at(c.Narrowest), c.MouthDiameter, c.Length, c.Half)
		}
		for _, a := range strings.Fields(os.Getenv("TILTS")) {
			ang, side, _ := strings.Cut(a, "@")
			av, _ := strconv.ParseFloat(ang, 64)
			sv, _ := strconv.ParseFloat(side, 64)
			t0 = time.Now()
			f, err := m.Pour(UpFor(m.Rest, *deg(av, sv)))
			if err != nil {
				t.Fatal(err)
			}
			fmt.Printf("  tilt %s: %v cavity %.2f channels %.2f filled %.2f trapped %.2f unreached %.2f\n", a, time.Since(t0), f.Cavity, f.Channels, f.Filled, f.Trapped, f.Unreached)
			for _, k := range f.Pockets {
				fmt.Printf("    pocket %.3f (+%.3f) sealed %.4f moved %.4f\n", k.Volume, k.ChannelVolume, k.SealedAt, k.Depth)
			}
		}
	}
}
