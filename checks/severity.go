package checks

// Severity says what a finding means for the person at the bench.
type Severity int

// The severities. Stop spoils the print, the cast or the mold; discuss may leave
// a mark or needs a decision; note is for information.
const (
	Note Severity = iota + 1
	Discuss
	Stop
)

// String returns the word used in every output.
func (s Severity) String() string {
	switch s {
	case Note:
		return "note"
	case Discuss:
		return "discuss"
	case Stop:
		return "stop"
	}
	return "none"
}
