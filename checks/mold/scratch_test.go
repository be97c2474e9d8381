package mold

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"pourproof/testdata"
)

func TestScratch(t *testing.T) {
	for _, name := range strings.Fields(os.Getenv("CASES")) {
		var part Body
		var halves []Body
		if strings.HasPrefix(name, "demo") {
			fs, _ := testdata.Demo()
			for _, f := range fs {
				switch f.Name {
				case "part.stl":
					part = Body{Name: "part", Mesh: readSTL(t, f.Data)}
				case "bottom.stl", "top-" + name[4:] + ".stl":
					halves = append(halves, Body{Name: strings.TrimSuffix(f.Name, ".stl"), Mesh: readSTL(t, f.Data)})
				}
			}
		} else {
			part, halves = loadCase(t, name)
		}
		t0 := time.Now()
		cell, _ := strconv.ParseFloat(os.Getenv("CELL"), 64)
		m, err := Close(Job{Cell: cell}, part, halves)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Printf("%s: close %v cell %.3f (%s) skin %.3f fit %+v pulls %v\n", name, time.Since(t0), m.Cell, m.CellWhy, m.Skin, m.Fit, m.Pulls)
		for _, a := range strings.Fields(os.Getenv("TILTS")) {
			ang, side, _ := strings.Cut(a, "@")
			av, _ := strconv.ParseFloat(ang, 64)
			sv, _ := strconv.ParseFloat(side, 64)
			t0 = time.Now()
			f, err := m.Pour(UpFor(m.Rest, *deg(av, sv)))
			if err != nil {
				t.Fatal(err)
			}
			d := time.Since(t0)
			t0 = time.Now()
			if os.Getenv("VENTS") != "" {
				m.SuggestVents(f)
			}
			fmt.Printf("  tilt %s: %v suggest %v cavity %.2f channels %.2f filled %.2f trapped %.2f +- %.2f unreached %.2f small %d %.3f marginal %v level %.1f %v low %s\n", a, d, time.Since(t0), f.Cavity, f.Channels, f.Filled, f.Trapped, f.TrappedError, f.Unreached, f.SmallCount, f.SmallVolume, f.Marginal, f.LevelCeilingArea, f.LevelCeilingAt, at(f.LowestCavityPoint))
			ml := func(v *float64) string {
				if v == nil {
					return "-"
				}
				return fmt.Sprintf("%.3f", *v)
			}
			for _, c := range f.Ports {
				ex := "-"
				if c.Exit != nil {
					ex = at(*c.Exit)
				}
				fmt.Printf("    %d %s assumed=%v tried=%v slit=%v mouth %s exit %s end %s d %.3f at %s mouthd %.3f wb %.3f len %.3f half %s vol %.2f weeps %s plug %s #%d top %.3f low %.3f gap %.3f drains %v\n", c.ID, c.Role, c.Assumed, c.Tried, c.Slit, at(c.Mouth), ex, at(c.End), c.Diameter, at(c.Narrowest), c.MouthDiameter, c.WidestBeyond, c.Length, c.Half, c.Volume, ml(c.WeepsAt), ml(c.PlugAt), c.WeepsOrder, c.MouthTop, c.MouthLow, c.GapToHigh, c.Drains)
			}
			for _, h := range f.HighPoints {
				fmt.Printf("    high %s h %.3f prom %.3f vented %d pocket %d\n", at(h.At), h.Height, h.Prominence, h.VentedBy, h.Pocket)
			}
			for _, k := range f.Pockets {
				fmt.Printf("    pocket %d %s %.3f +- %.3f (+%.3f) sealed %.4f depth %.3f top %s bottom %s marginal %v spoils %.1f near %d %.2f\n", k.ID, k.Kind, k.Volume, k.Error, k.ChannelVolume, k.SealedAt, k.Depth, at(k.Top), at(k.Bottom), k.Marginal, k.Spoils, k.Near, k.NearDistance)
				if v := k.Vent; v != nil {
					fmt.Printf("      vent %d mouth %s exit %s dir %v d %.2f len %.2f half %s frees %.3f\n", v.ID, at(v.Mouth), at(v.Exit), v.Direction, v.Diameter, v.Length, v.Half, v.Frees)
				}
			}
			for _, s := range f.Stages {
				fmt.Printf("    stage %.0f%% %.1f level %.2f\n", s.Percent, s.Filled, s.Level)
			}
		}
	}
}
