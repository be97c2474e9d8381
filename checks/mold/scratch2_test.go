package mold

import (
	"fmt"
	"os"
	"testing"
	"time"

	"pourproof/testdata"
)

func TestScratch2(t *testing.T) {
	if os.Getenv("TILTSEARCH") == "" {
		return
	}
	var part Body
	var halves []Body
	fs, _ := testdata.Demo()
	for _, f := range fs {
		switch f.Name {
		case "part.stl":
			part = Body{Name: "part", Mesh: readSTL(t, f.Data)}
		case "bottom.stl", "top-b.stl":
			halves = append(halves, Body{Name: f.Name, Mesh: readSTL(t, f.Data)})
		}
	}
	m, err := Close(Job{Tilt: deg(15, 0)}, part, halves)
	if err != nil {
		t.Fatal(err)
	}
	t0 := time.Now()
	s := m.SearchTilts(TiltOptions{})
	fmt.Println(len(s.Points), time.Since(t0), s.Best, s.Margin*57.3, s.Worst5, s.Fewest, s.Cell)
}
