package report

import (
	"bytes"
	"encoding/json"
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
)

// The structs of report.json are its own, apart from the facts and findings, so
// that those can change without breaking a reader. schema.json beside this file
// describes them; a test holds the two against each other.

type reportJSON struct {
	Schema    string          `json:"schema"`
	Tool      toolJSON        `json:"tool"`
	Verdict   string          `json:"verdict"`
	Report    titleJSON       `json:"report"`
	Settings  settingsJSON    `json:"settings"`
	Inputs    []inputJSON     `json:"inputs"`
	Fill      *fillJSON       `json:"fill"`
	Halves    []halfJSON      `json:"halves"`
	SelfCheck *selfProofJSON  `json:"self_check"`
	Placement *placementJSON  `json:"placement"`
	Fit       *fitJSON        `json:"fit"`
	Demold    *demoldJSON     `json:"demold"`
	Pot       *potJSON        `json:"pot"`
	Charge    *chargeJSON     `json:"charge"`
	Findings  []findingJSON   `json:"findings"`
	NotJudged []notJudgedJSON `json:"not_judged"`
	Since     *sinceJSON      `json:"since"`
}

type toolJSON struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

type titleJSON struct {
	Title    string `json:"title"`
	Revision string `json:"revision"`
	Date     string `json:"date"`
	Author   string `json:"author"`
	Paper    string `json:"paper"`
}

// settingsJSON is an object with one member a setting, in the table's order.
type settingsJSON []checks.Setting

type settingJSON struct {
	Value  string   `json:"value"`
	Number *float64 `json:"number"`
	Unit   string   `json:"unit"`
	From   string   `json:"from"`
	Source string   `json:"source"`
}

// MarshalJSON keeps the order of the settings, which a Go map would not.
func (s settingsJSON) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i := range s {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := marshal(s[i].Name)
		if err != nil {
			return nil, err
		}
		number := s[i].Number
		if number != nil {
			number = num(*number)
		}
		value, err := marshal(settingJSON{s[i].Value, number, s[i].Unit, s[i].From, s[i].Source})
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

type inputJSON struct {
	Role      string        `json:"role"`
	Name      string        `json:"name"`
	File      string        `json:"file"`
	SHA256    string        `json:"sha256"`
	Units     string        `json:"units"`
	UnitsFrom string        `json:"units_from"`
	Format    string        `json:"format"`
	Triangles int           `json:"triangles"`
	Shells    int           `json:"shells"`
	Closed    bool          `json:"closed"`
	Volume    *float64      `json:"volume_mm3"`
	Area      *float64      `json:"area_mm2"`
	Min       vec           `json:"min_mm"`
	Max       vec           `json:"max_mm"`
	Chord     *float64      `json:"chord_error_mm"`
	Repairs   []repairJSON  `json:"repairs"`
	Warnings  []warningJSON `json:"warnings"`
}

type repairJSON struct {
	Kind  string `json:"kind"`
	Count int    `json:"count"`
	At    *vec   `json:"at_mm"`
}

type warningJSON struct {
	Kind string `json:"kind"`
	Text string `json:"text"`
	At   *vec   `json:"at_mm"`
}

type findingJSON struct {
	ID          int       `json:"id"`
	Key         string    `json:"key"`
	Check       string    `json:"check"`
	Severity    string    `json:"severity"`
	Title       string    `json:"title"`
	Where       whereJSON `json:"where"`
	Value       *float64  `json:"value"`
	Unit        string    `json:"unit"`
	Error       *float64  `json:"error"`
	Limit       *float64  `json:"limit"`
	LimitKey    *string   `json:"limit_key"`
	Why         string    `json:"why"`
	Advice      string    `json:"advice"`
	Sensitivity *string   `json:"sensitivity"`
	Accepted    *string   `json:"accepted"`
	Pocket      *int      `json:"pocket"`
	Channel     *int      `json:"channel"`
}

type whereJSON struct {
	Half *string `json:"half"`
	Part *string `json:"part"`
	At   *vec    `json:"at_mm"`
}

type notJudgedJSON struct {
	Check string `json:"check"`
	Why   string `json:"why"`
	Asked bool   `json:"asked"`
}

// vec is a point or direction, written as a list of three numbers.
type vec [3]float64

// MarshalJSON writes null where a coordinate is not a finite number.
func (v vec) MarshalJSON() ([]byte, error) {
	for _, x := range v {
		if math.IsNaN(x - x) {
			return []byte("null"), nil
		}
	}
	return json.Marshal([3]float64(v))
}

func place(v geom.Vec) vec { return vec{round(v.X), round(v.Y), round(v.Z)} }

func placePtr(v *geom.Vec) *vec {
	if v == nil || !v.Finite() {
		return nil
	}
	p := place(*v)
	return &p
}

// round rounds to 1e-4 of the unit; -0 becomes 0.
func round(x float64) float64 { return math.Round(x*1e4)/1e4 + 0 }

// num returns a finite number rounded, nil for any other.
func num(x float64) *float64 {
	if math.IsNaN(x-x) || math.Abs(x) > 1e300 {
		return nil
	}
	x = round(x)
	return &x
}

func numPtr(x *float64) *float64 {
	if x == nil {
		return nil
	}
	return num(*x)
}

// id returns nil for the 0 that means none.
func id(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

func word(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// JSON returns report.json: fixed field order, two blanks a level, a line end
// after the last brace.
func JSON(d *Document) ([]byte, error) {
	o := d.Outcome
	r := reportJSON{
		Schema: Schema, Tool: toolJSON{ToolName, d.Version}, Verdict: string(o.Verdict),
		Report:   titleJSON{d.Title, d.Revision, d.Date, d.Author, d.Paper},
		Settings: settingsJSON(o.Settings), Inputs: inputsJSON(o.Inputs), Halves: halvesJSON(o),
		SelfCheck: newSelfProof(o.Proof), Pot: newPot(o.Pot), Charge: newCharge(o.Charge, o.Job), Placement: newPlacement(o.Places), Fit: newFitJSON(o), Demold: newDemold(o), Findings: findingsJSON(o), NotJudged: []notJudgedJSON{}, Since: changesJSON(d),
	}
	if o.Fill != nil {
		r.Fill = newFillJSON(o)
	}
	for _, n := range o.NotJudged {
		r.NotJudged = append(r.NotJudged, notJudgedJSON{n.Check, n.Why, n.Asked})
	}
	raw, err := marshal(r)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := json.Indent(&b, raw, "", "  "); err != nil {
		return nil, err
	}
	b.WriteByte('\n')
	return b.Bytes(), nil
}

// marshal is json.Marshal that leaves <, > and & as they are.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}

func inputsJSON(inputs []mold.Input) []inputJSON {
	out := []inputJSON{}
	for i := range inputs {
		in := &inputs[i]
		j := inputJSON{
			Role: in.Role, Name: in.Name, File: in.File, SHA256: in.SHA256, Units: in.Units, UnitsFrom: in.UnitsFrom,
			Format: in.Format, Triangles: in.Triangles, Shells: in.Shells, Closed: in.Closed,
			Volume: num(in.Volume), Area: num(in.Area), Min: place(in.Box.Min), Max: place(in.Box.Max), Chord: num(in.Chord),
			Repairs: []repairJSON{}, Warnings: []warningJSON{},
		}
		for _, r := range in.Repairs {
			j.Repairs = append(j.Repairs, repairJSON{r.Kind, r.Count, placePtr(r.At)})
		}
		for _, w := range in.Warnings {
			j.Warnings = append(j.Warnings, warningJSON{w.Kind, w.Text, placePtr(w.At)})
		}
		out = append(out, j)
	}
	return out
}

func findingsJSON(o *checks.Outcome) []findingJSON {
	out := []findingJSON{}
	for i := range o.Findings {
		f := &o.Findings[i]
		out = append(out, findingJSON{
			ID: f.ID, Key: f.Key, Check: f.Check, Severity: f.Severity.String(), Title: f.Title, Where: newWhere(o, f.Where),
			Value: numPtr(f.Value), Unit: f.Unit, Error: numPtr(f.Error), Limit: numPtr(f.Limit), LimitKey: word(f.LimitKey),
			Why: f.Why, Advice: f.Advice, Sensitivity: word(f.Sensitivity), Accepted: f.Accepted, Pocket: id(f.Pocket), Channel: id(f.Channel),
		})
	}
	return out
}

// newWhere tells part and half apart by the inputs' roles.
func newWhere(o *checks.Outcome, w checks.Where) whereJSON {
	j := whereJSON{At: placePtr(w.At)}
	for i := range o.Inputs {
		if o.Inputs[i].Name != w.Body {
			continue
		}
		if o.Inputs[i].Role == "part" {
			j.Part = word(w.Body)
		} else {
			j.Half = word(w.Body)
		}
	}
	return j
}

// Inputs returns meshes as report.json lists them, for encoding/json.
func Inputs(inputs []mold.Input) any { return inputsJSON(inputs) }
