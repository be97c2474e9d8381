package mold

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Bounds of a job file: far above any real one.
const (
	MaxJobFile = 1 << 20 // bytes
	maxTables  = 500     // tables of one kind
	maxFaults  = 20      // told at once
)

// ParseJob reads a job file that includes no other. file is its name, which
// relative paths in it start from; limits are the keys that [limits] may hold.
// Every unknown key, wrong form and number out of range is an error with its place
// (JobFaults).
func ParseJob(file string, data []byte, limits []string) (*Job, error) {
	return ParseJobWith(file, data, limits, nil)
}

// ParseJobWith reads a job file and, through read, the presets that it includes.
func ParseJobWith(file string, data []byte, limits []string, read func(path string) ([]byte, error)) (*Job, error) {
	p := newJobParser(file, data, NewJob(), limits)
	p.read = read
	if err := p.begin("a job file", "name the job file, or the part and its halves"); err != nil {
		return nil, err
	}
	p.includes()
	p.walk()
	p.required()
	if err := p.sorted(); err != nil {
		return nil, err
	}
	return p.job, nil
}

func newJobParser(file string, data []byte, job *Job, limits []string) *jobParser {
	return &jobParser{tomlText: tomlText{file: file, data: data}, job: job, limits: limits, seen: map[string]int{}, count: map[string]int{}}
}

// jobParser walks the expressions of a job file.
type jobParser struct {
	tomlText
	job    *Job
	limits []string
	seen   map[string]int // setting's full name to line; asked by key only
	count  map[string]int // tables of each name; asked by key only
	heads  []tableHead
	preset string // name as included; empty for the job file itself
	read   func(path string) ([]byte, error)
}

// tableHead is where a [[table]] begins.
type tableHead struct {
	table string
	index int
	off   int
}

func (p *jobParser) walk() {
	var up unstable.Parser
	up.Reset(p.data)
	var table []string
	index := 0
	for up.NextExpression() {
		e := up.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.ArrayTable && e.Kind != unstable.KeyValue {
			continue
		}
		path, off := keyPath(e)
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			table = path
			index = p.open(path, off, e.Kind == unstable.ArrayTable)
		case unstable.KeyValue:
			p.keyValue(table, index, path, off, e.Value())
		}
		if len(p.faults) > maxFaults {
			return
		}
	}
	if err := up.Error(); err != nil { // the decoder took it: cannot happen
		p.fault(0, "", "cannot be read: %v", err)
	}
}

// open begins a table and returns its number, -1 for one that is not known.
func (p *jobParser) open(path []string, off int, array bool) int {
	name := strings.Join(path, ".")
	many, known := tableKind(name)
	switch {
	case !known:
		p.fault(off, "["+name+"]", "is no table of a job file%s", didYouMean(name, tableNames()))
		return -1
	case p.inPreset(name, many, off):
		return -1
	case many && !array:
		p.fault(off, "["+name+"]", "may be there more than once: write [[%s]]", name)
		return -1
	case !many && array:
		p.fault(off, "[["+name+"]]", "may be there once only: write [%s]", name)
		return -1
	case !many:
		return 0
	}
	return p.grow(name, off)
}

// grow adds one more table of a kind that may be there more than once.
func (p *jobParser) grow(name string, off int) int {
	i := p.count[name]
	if i >= maxTables {
		p.fault(off, "[["+name+"]]", "is there more than %d times", maxTables)
		return -1
	}
	p.count[name]++
	p.heads = append(p.heads, tableHead{name, i, off})
	p.job.grow(name, p.at(off))
	return i
}

// grow adds an empty entry to the list that a [[table]] fills.
func (j *Job) grow(table, from string) {
	switch table {
	case "half":
		j.Halves = append(j.Halves, BodySpec{})
	case "vent":
		j.Vents = append(j.Vents, BoreSpec{})
	case "show":
		j.Show = append(j.Show, ShowFace{})
	case "accept":
		j.Accept = append(j.Accept, Accept{From: from})
	}
}

// Count returns how many tables of a kind that may be there more than once the job
// has: half, vent, show, accept.
func (j *Job) Count(table string) int {
	return map[string]int{"half": len(j.Halves), "vent": len(j.Vents), "show": len(j.Show), "accept": len(j.Accept)}[table]
}

// Grow adds an empty table of a kind that may be there more than once; false for
// any other.
func (j *Job) Grow(table string) bool {
	n := j.Count(table)
	j.grow(table, "")
	return j.Count(table) > n
}

// at says where a value came from.
func (p *jobParser) at(off int) string {
	if p.preset != "" {
		return fmt.Sprintf("include %s line %d", p.preset, p.line(off))
	}
	return fmt.Sprintf("job file line %d", p.line(off))
}

// keyValue handles key = value in a table; a key may be dotted, a value may be a
// table or a list of tables written in line.
func (p *jobParser) keyValue(table []string, index int, path []string, off int, v *unstable.Node) {
	full := slices.Concat(table, path)
	if len(full) == 1 && full[0] == "include" {
		if p.preset != "" {
			p.fault(off, "include", "stands in a job file only: a preset includes nothing")
		}
		return // a job file's are read already
	}
	if len(full) == 1 {
		p.inline(full[0], off, v)
		return
	}
	if len(table) > 0 && index < 0 {
		return // its table is already a fault
	}
	if len(table) == 0 {
		many, known := tableKind(full[0])
		if known && p.inPreset(full[0], many, off) {
			return
		}
		if known && many {
			p.fault(off, full[0], "may be there more than once: write [[%s]]", full[0])
			return
		}
	}
	p.set(full[0], index, strings.Join(full[1:], "."), off, v)
}

// inline handles a table, or a list of tables, written as a value.
func (p *jobParser) inline(table string, off int, v *unstable.Node) {
	many, known := tableKind(table)
	switch {
	case known && p.inPreset(table, many, off):
	case !known:
		p.fault(off, table, "is no table of a job file%s", didYouMean(table, append(append(tableNames(), "include"), settingKeys("")...)))
	case !many && v.Kind == unstable.InlineTable:
		p.members(table, 0, v)
	case many && v.Kind == unstable.Array:
		for it := v.Children(); it.Next(); {
			if it.Node().Kind != unstable.InlineTable {
				p.fault(off, table, "must be tables: write [[%s]]", table)
				return
			}
			i := p.grow(table, off)
			if i < 0 {
				return
			}
			p.members(table, i, it.Node())
		}
	default:
		p.fault(off, table, "is a table: write %s", tableHeadFor(table, many))
	}
}

func tableHeadFor(table string, many bool) string {
	if many {
		return "[[" + table + "]]"
	}
	return "[" + table + "]"
}

func (p *jobParser) members(table string, i int, v *unstable.Node) {
	for it := v.Children(); it.Next(); {
		path, off := keyPath(it.Node())
		p.set(table, i, strings.Join(path, "."), off, it.Node().Value())
	}
}

// set gives one setting its value.
func (p *jobParser) set(table string, i int, key string, off int, v *unstable.Node) {
	full := table + "." + key
	if table == "limits" {
		p.limit(key, off, v)
		return
	}
	s := SettingNamed(full)
	if s == nil {
		if _, known := tableKind(table); !known {
			p.fault(off, table, "is no table of a job file%s", didYouMean(table, tableNames()))
			return
		}
		if why := refusedTear[full]; why != "" {
			p.fault(off, full, "%s", why)
			return
		}
		p.fault(off, full, "is no setting%s", didYouMean(key, settingKeys(table)))
		return
	}
	name := s.Name()
	if s.Many {
		name = fmt.Sprintf("%s %d.%s", table, i+1, key)
	}
	p.seen[name] = off
	text, err := s.fromNode(v)
	if err == nil {
		err = s.Set(p.job, i, text)
	}
	if err != nil {
		p.fault(off, full, "%v", err)
		return
	}
	p.job.SetFrom(name, p.at(off))
}

// limit gives one limit its value; package checks owns their meaning.
func (p *jobParser) limit(key string, off int, v *unstable.Node) {
	if !slices.Contains(p.limits, key) {
		p.fault(off, "limits."+key, "is no limit%s", didYouMean(key, p.limits))
		return
	}
	s := Setting{Form: Number, Low: 1e-6, High: 1e9}
	text, err := s.fromNode(v)
	var n []float64
	if err == nil {
		n, err = s.numbers(text, 1)
	}
	if err != nil {
		p.fault(off, "limits."+key, "%v", err)
		return
	}
	p.job.Limits = append(p.job.Limits, LimitValue{key, n[0], p.at(off)})
}

// required finds what a job cannot do without.
func (p *jobParser) required() {
	need := func(name string, off int, why string) {
		if _, ok := p.seen[name]; !ok {
			p.fault(off, name, "%s", why)
		}
	}
	need("part.file", 0, "is missing: [part] file names the part's mesh")
	if n := p.count["half"]; n < 2 {
		p.fault(0, "[[half]]", "is %s: a closed mold needs at least two halves", times(n))
	}
	for _, h := range p.heads {
		name := func(key string) string { return fmt.Sprintf("%s %d.%s", h.table, h.index+1, key) }
		switch h.table {
		case "half":
			need(name("file"), h.off, "is missing: it names the half's mesh")
		case "vent":
			need(name("at"), h.off, "is missing: a point of the cavity, as [12.5, 0, 20]")
			need(name("diameter"), h.off, "is missing: a number in mm")
		case "accept":
			need(name("key"), h.off, "is missing: the finding's key, as report.json gives it")
			need(name("reason"), h.off, "is missing: say why the finding is accepted")
		case "show":
			if p.job.Show[h.index].Box == nil && p.job.Show[h.index].Direction == nil {
				need(name("box"), h.off, "or direction is missing: one of them says which faces are looked at")
			}
		}
	}
	p.resolve()
}

// resolve seeks relative files from the job file's folder.
func (p *jobParser) resolve() {
	dir := filepath.Dir(p.file)
	seek := func(file string) string {
		if file == "" || filepath.IsAbs(file) {
			return file
		}
		return filepath.Join(dir, file)
	}
	p.job.Part.Path = seek(p.job.Part.File)
	for i := range p.job.Halves {
		p.job.Halves[i].Path = seek(p.job.Halves[i].File)
	}
	if _, own := p.seen["printer.coupon"]; own {
		p.job.Printer.CouponPath = seek(p.job.Printer.Coupon)
	}
}

func times(n int) string {
	if n == 0 {
		return "missing"
	}
	return "there only once"
}
