package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"pourproof/checks"
	"pourproof/geom"
)

// MaxEarlier bounds an earlier report.json in bytes: far above any real one.
const MaxEarlier = 64 << 20

// Earlier is an earlier run to compare with, as its report.json has it.
type Earlier struct {
	Name      string // of the report, as the user named it
	Version   string // of the program that wrote it
	Verdict   string
	Findings  []EarlierFinding
	NotJudged []string // checks without an answer
	Inputs    []EarlierInput
	Settings  []EarlierSetting // in the order of that report

	Outcome    *checks.Outcome // its mold and pour, for pictures of then; nil where there are none
	NoPictures string          // why there are none
}

// EarlierFinding is a finding of an earlier run.
type EarlierFinding struct {
	ID       int
	Key      string
	Check    string
	Severity string
	Title    string
	At       *geom.Vec
	Accepted *string
	Pocket   int // 0 for none
}

// EarlierInput is a mesh file of an earlier run.
type EarlierInput struct{ Role, Name, File, SHA256 string }

// EarlierSetting is a value of an earlier run and where it came from.
type EarlierSetting struct{ Name, Value, From string }

// EarlierOf returns a run for a later one to compare with.
func EarlierOf(name string, d *Document) *Earlier {
	o := d.Outcome
	e := &Earlier{Name: name, Version: d.Version, Verdict: string(o.Verdict), Outcome: o}
	for i := range o.Findings {
		f := &o.Findings[i]
		e.Findings = append(e.Findings, EarlierFinding{f.ID, f.Key, f.Check, f.Severity.String(), f.Title, f.Where.At, f.Accepted, f.Pocket})
	}
	for _, n := range o.NotJudged {
		e.NotJudged = append(e.NotJudged, n.Check)
	}
	for i := range o.Inputs {
		in := &o.Inputs[i]
		e.Inputs = append(e.Inputs, EarlierInput{in.Role, in.Name, in.File, in.SHA256})
	}
	for _, s := range o.Settings {
		e.Settings = append(e.Settings, EarlierSetting{s.Name, s.Value, s.From})
	}
	if o.Mold == nil {
		e.Outcome, e.NoPictures = nil, "the mold could not be closed then"
	}
	return e
}

// ReadEarlier reads a report.json. It takes any report of this schema, with fields
// that it does not know; an error names the file and the remedy.
func ReadEarlier(name string, data []byte) (*Earlier, error) {
	fail := func(format string, args ...any) (*Earlier, error) {
		return nil, fmt.Errorf("%s: %s; name the report.json of an earlier run", name, fmt.Sprintf(format, args...))
	}
	var head struct {
		Schema *string `json:"schema"`
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	err := dec.Decode(&head)
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return fail("is empty")
	case err != nil && looksWhole(data):
		return fail("is not a report: %v", plainJSON(err))
	case err != nil:
		return fail("is cut short or not JSON: %v", plainJSON(err))
	case head.Schema == nil:
		return fail("is JSON but no report of %s: it names no schema", ToolName)
	case *head.Schema != Schema:
		return fail("has the schema %.40q, this version reads %q", *head.Schema, Schema)
	}
	if _, err := dec.Token(); err != io.EOF {
		return fail("goes on after its end")
	}
	return parseEarlier(name, data, fail)
}

// looksWhole tells whether data ends as a JSON object does.
func looksWhole(data []byte) bool { return bytes.HasSuffix(bytes.TrimSpace(data), []byte("}")) }

// plainJSON takes the package's name off an error of encoding/json.
func plainJSON(err error) string { return strings.TrimPrefix(err.Error(), "json: ") }

func parseEarlier(name string, data []byte, fail func(string, ...any) (*Earlier, error)) (*Earlier, error) {
	var r struct {
		Tool      *toolJSON       `json:"tool"`
		Verdict   string          `json:"verdict"`
		Settings  json.RawMessage `json:"settings"`
		Inputs    []inputJSON     `json:"inputs"`
		Findings  *[]findingJSON  `json:"findings"`
		NotJudged []notJudgedJSON `json:"not_judged"`
	}
	if err := json.Unmarshal(data, &r); err != nil {
		return fail("is not a report that this version reads: %v", plainJSON(err))
	}
	if r.Tool == nil || r.Findings == nil {
		return fail("lacks tool or findings")
	}
	e := &Earlier{Name: name, Version: r.Tool.Version, Verdict: r.Verdict, NoPictures: "the meshes of then were not read"}
	for i := range *r.Findings {
		f := &(*r.Findings)[i]
		if f.Key == "" || !slices.Contains(severityNames, f.Severity) {
			return fail("finding %d has no key or no known severity", f.ID)
		}
		g := EarlierFinding{ID: f.ID, Key: f.Key, Check: f.Check, Severity: f.Severity, Title: f.Title, Accepted: f.Accepted}
		if f.Where.At != nil {
			g.At = &geom.Vec{X: f.Where.At[0], Y: f.Where.At[1], Z: f.Where.At[2]}
		}
		if f.Pocket != nil {
			g.Pocket = *f.Pocket
		}
		e.Findings = append(e.Findings, g)
	}
	for _, n := range r.NotJudged {
		e.NotJudged = append(e.NotJudged, n.Check)
	}
	for i := range r.Inputs {
		in := &r.Inputs[i]
		e.Inputs = append(e.Inputs, EarlierInput{in.Role, in.Name, in.File, in.SHA256})
	}
	var err error
	if e.Settings, err = earlierSettings(r.Settings); err != nil {
		return fail("its settings cannot be read: %v", plainJSON(err))
	}
	return e, nil
}

var severityNames = []string{checks.Stop.String(), checks.Discuss.String(), checks.Note.String()}

// earlierSettings reads the settings in the order of the report.
func earlierSettings(raw json.RawMessage) ([]EarlierSetting, error) {
	if len(raw) == 0 {
		return nil, nil
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	if t, err := dec.Token(); err != nil || t != json.Delim('{') {
		return nil, fmt.Errorf("must be an object")
	}
	var out []EarlierSetting
	for dec.More() {
		name, err := dec.Token()
		if err != nil {
			return nil, err
		}
		var v settingJSON
		if err := dec.Decode(&v); err != nil {
			return nil, err
		}
		out = append(out, EarlierSetting{name.(string), v.Value, v.From})
	}
	return out, nil
}
