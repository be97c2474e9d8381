package mold

import (
	"fmt"
	"os"
	"strconv"
	"testing"
	"time"

	"pourproof/geom/geomtest"
	"pourproof/testdata"
)

func TestScratch3(t *testing.T) {
	k, _ := strconv.Atoi(os.Getenv("SUB"))
	if k == 0 {
		return
	}
	var part Body
	var halves []Body
	fs, _ := testdata.Demo()
	for _, f := range fs {
		switch f.Name {
		case "part.stl":
			part = Body{Name: "part", Mesh: geomtest.Subdivide(readSTL(t, f.Data), k)}
		case "bottom.stl", "top-a.stl":
			halves = append(halves, Body{Name: f.Name, Mesh: geomtest.Subdivide(readSTL(t, f.Data), k)})
		}
	}
	n := len(part.Mesh.Facets) + len(halves[0].Mesh.Facets) + len(halves[1].Mesh.Facets)
	t0 := time.Now()
	m, err := Close(Job{}, part, halves)
	if err != nil {
		t.Fatal(err)
	}
	d := time.Since(t0)
	t0 = time.Now()
	f, err := m.Pour(UpFor(m.Rest, *deg(15, 0)))
	fmt.Println(n, "facets: close", d, "pour", time.Since(t0), f.Trapped, err)
}
