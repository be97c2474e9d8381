package checks

// Limit is one number that judges, with its unit and where it comes from.
type Limit struct {
	Key    string // as in the job file under [limits]
	Value  float64
	Unit   string
	What   string // a phrase: "air pocket that spoils the part, from"
	Source string // publication, or "common practice, no source"
	From   string // default, or the job file's line
}

// Limits is the table of every threshold. It is the only place that turns a
// number into a severity.
type Limits struct {
	list []Limit
}

// DefaultLimits returns the table with its defaults.
func DefaultLimits() *Limits {
	return &Limits{list: []Limit{
		{"air_stop_mm3", 10, "mm3", "air pocket that spoils the part, from", "design; common practice, no source", "default"},
		{"air_discuss_mm3", 1, "mm3", "air pocket worth a decision, from", "design; common practice, no source", "default"},
		{"level_ceiling_mm2", 25, "mm2", "roof within 2 deg of level that holds a film of bubbles, from", "design; common practice, no source", "default"},
	}}
}

// All returns the table in fixed order.
func (l *Limits) All() []Limit { return l.list }
