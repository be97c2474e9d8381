package mold

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/pelletier/go-toml/v2/unstable"
)

// maxIncludes bounds the presets of one job file.
const maxIncludes = 20

// includes reads the presets before anything else of the job file, which counts
// over them wherever it says so.
func (p *jobParser) includes() {
	var up unstable.Parser
	up.Reset(p.data)
	for up.NextExpression() {
		e := up.Expression()
		if e.Kind == unstable.Table || e.Kind == unstable.ArrayTable {
			return // the head of the file ends
		}
		if e.Kind != unstable.KeyValue {
			continue
		}
		if path, off := keyPath(e); len(path) == 1 && path[0] == "include" {
			p.include(off, e.Value())
		}
	}
}

// include reads the presets that a job file names at its head: include =
// "resin.toml", or a list of such names, seen from the job file's folder. A preset
// holds tables that are there once (liquid, rubber, printer, pot, limits, …); of
// two that set the same value the later one counts, and the job file counts over
// both. It names no meshes and includes nothing itself.
func (p *jobParser) include(off int, v *unstable.Node) {
	names, ok := texts(v)
	switch {
	case !ok || len(names) == 0:
		p.fault(off, "include", "must be the name of a preset in quotes, or a list of names")
		return
	case len(names) > maxIncludes:
		p.fault(off, "include", "names more than %d presets", maxIncludes)
		return
	case p.read == nil:
		p.fault(off, "include", "cannot be followed here")
		return
	}
	for _, name := range names {
		path := name
		if !filepath.IsAbs(path) {
			path = filepath.Join(filepath.Dir(p.file), path)
		}
		if slices.Contains(p.job.Includes, path) {
			p.fault(off, "include", "names %s twice", name)
			continue
		}
		p.job.Includes = append(p.job.Includes, path)
		data, err := p.read(path)
		if err != nil {
			p.fault(off, "include", "%v", err)
			continue
		}
		p.faults = append(p.faults, p.presetFaults(name, path, data)...)
	}
}

// presetFaults reads one preset into the job.
func (p *jobParser) presetFaults(name, path string, data []byte) JobFaults {
	q := newJobParser(path, data, p.job, p.limits)
	q.preset = name
	if err := q.begin("a preset", "name a preset in TOML"); err != nil {
		var faults JobFaults
		errors.As(err, &faults)
		return faults
	}
	q.walk()
	if _, set := q.seen["printer.coupon"]; set && !filepath.IsAbs(p.job.Printer.Coupon) {
		p.job.Printer.CouponPath = filepath.Join(filepath.Dir(path), p.job.Printer.Coupon)
	} else if set {
		p.job.Printer.CouponPath = p.job.Printer.Coupon
	}
	return q.faults
}

// texts returns the text, or the list of texts, that a value is.
func texts(v *unstable.Node) (out []string, ok bool) {
	if v.Kind == unstable.String {
		return []string{string(v.Data)}, len(v.Data) > 0
	}
	if v.Kind != unstable.Array {
		return nil, false
	}
	for it := v.Children(); it.Next(); {
		switch n := it.Node(); {
		case n.Kind == unstable.Comment:
		case n.Kind != unstable.String || len(n.Data) == 0:
			return nil, false
		default:
			out = append(out, string(n.Data))
		}
	}
	return out, true
}

// inPreset tells whether a table may not stand in a preset, and says so.
func (p *jobParser) inPreset(name string, many bool, off int) bool {
	if p.preset == "" || !many && name != "part" {
		return false
	}
	p.fault(off, fmt.Sprintf("[%s]", name), "belongs into the job file: a preset holds materials, machines and limits")
	return true
}
