package main

import (
	"errors"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"sync/atomic"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report"
)

// notForTilt are flags of check that change nothing in a search of tilts.
var notForTilt = []string{"out", "try", "only", "pressure", "accept", "paper", "no-pdf", "build", "flat", "pull"}

// runTilt searches ways to stand the block while pouring. It writes no files.
func runTilt(w *world, args []string) error {
	r, err := startSearch(w, "tilt", "tilts", "full", notForTilt, args)
	if err != nil {
		return err
	}
	defer r.progress.done()
	s, err := searchTilts(r.mold, nil, r.checkRequest, r.progress)
	if err != nil {
		return err
	}
	r.progress.done()
	if r.json {
		return printJSON(w, report.Tilts(s))
	}
	fmt.Fprint(w.stdout, report.TiltText(s))
	return nil
}

// errStopped ends a command that was stopped from the keyboard.
var errStopped = errors.New("stopped; nothing was written")

// searchTilts searches tilts as far as the request asks.
func searchTilts(m *mold.Mold, fill *mold.Fill, r *checkRequest, p *progress) (*mold.TiltSearch, error) {
	limits, err := checks.LimitsFor(r.job)
	if err != nil {
		return nil, err
	}
	stop, release := interrupted()
	defer release()
	o := mold.TiltOptions{Limit: r.job.TiltLimit, Fill: fill, Stop: stop, Vents: true,
		Allowed: limits.Get("air_discuss_mm3").Value, Worse: limits.Get("air_stop_mm3").Value, Level: limits.Get("level_ceiling_mm2").Value,
		Progress: func(done, total int) { p.bar("tilting the block", done, total) }}
	if r.search == "full" {
		o.Cell, o.Rings, o.Sequences = m.Cell, 8, fullSequences
	}
	s, err := m.SearchTilts(o)
	if err == nil && s.Canceled {
		err = errStopped
	}
	return s, err
}

// fullSequences is how many sequences of two tilts a full search may pour: all of
// those of 61 tilts.
const fullSequences = 61 * 60

// tilted searches tilts inside a check, and asks how little has to change for pockets to
// go; nothing where nobody asked. Only a level block has to know the best tilt for that: it
// is raised on the side that is raised there.
func tilted(m *mold.Mold, fill *mold.Fill, r *checkRequest, p *progress) (tilts *mold.TiltSearch, small []mold.Sensitivity, err error) {
	asked := len(r.only) == 0 || slices.Contains(r.only, "air") || slices.Contains(r.only, "vents")
	if m == nil || fill == nil || r.search == "none" || !asked {
		return nil, nil, nil
	}
	search := func() (err error) { tilts, err = searchTilts(m, fill, r, p); return err }
	sense := func(side float64) (err error) { small, err = pocketsSensed(m, fill, side, r, p); return err }
	if fill.TiltAngle != 0 {
		err = sideBySide(search, func() error { return sense(0) })
	} else if err = search(); err == nil {
		err = sense(tilts.Best.Tilt.Side)
	}
	return tilts, small, err
}

// pocketsSensed asks how little has to change for pockets to go, a level block raised on a
// side.
func pocketsSensed(m *mold.Mold, fill *mold.Fill, side float64, r *checkRequest, p *progress) ([]mold.Sensitivity, error) {
	limits, err := checks.LimitsFor(r.job)
	if err != nil {
		return nil, err
	}
	p.step("seeing how little would change it")
	o := mold.SensitivityOptions{Limit: r.job.TiltLimit, Side: side, Allowed: limits.Get("air_discuss_mm3").Value}
	if r.search == "full" {
		o.Pockets, o.Moves = 12, 12
	}
	return mold.Sensitivities(m, fill, o)
}

// interrupted listens for a stop from the keyboard until release is called.
func interrupted() (stop func() bool, release func()) {
	var hit atomic.Bool
	ch := make(chan os.Signal, 1)
	signal.Notify(ch, os.Interrupt)
	done := make(chan struct{})
	go func() {
		select {
		case <-ch:
			hit.Store(true)
			signal.Stop(ch) // a second one ends the program at once
		case <-done:
		}
	}()
	return hit.Load, func() { signal.Stop(ch); close(done) }
}
