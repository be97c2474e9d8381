package report

import (
	"fmt"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// Rules of the summary: the verdict first, the most harmful findings with place
// and remedy next, then the numbers one pours by, then where the report is. Under
// 25 lines of at most 100 columns. Colour stands only beside words.

// most is how many findings the summary tells in full.
const most = 6

// Summary returns the text for the terminal. dir is the report's folder.
func Summary(d *Document, dir string, color bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", paint(color, verdictColor(d.Outcome.Verdict), VerdictLine(d)))
	told := 0
	for i := range d.Outcome.Findings {
		f := &d.Outcome.Findings[i]
		if f.Accepted != nil || told == most || f.Severity == checks.Note && told >= 3 {
			continue
		}
		told++
		fmt.Fprintf(&b, "\n%3d  %-8s %s\n", f.ID, f.Severity, f.Title)
		if at := wherePhrase(f.Where); at != "" {
			fmt.Fprintf(&b, "              %s\n", at)
		}
		wrap(&b, "              ", f.Advice)
	}
	if n := len(d.Outcome.Findings) - told; n > 0 {
		fmt.Fprintf(&b, "\n     and %s in the report\n", Plural(n, "more finding"))
	}
	b.WriteString("\n")
	for _, n := range d.Outcome.NotJudged {
		if n.Asked {
			wrap(&b, "", fmt.Sprintf("Not judged: %s: %s", n.Check, n.Why))
		}
	}
	if f := d.Outcome.Fill; f != nil {
		keyNumbers(&b, d.Outcome, f)
	}
	if line := fitPhrase(d.Outcome.Fit); line != "" {
		fmt.Fprintf(&b, "Fit       %s\n", line)
	}
	if line := printPhrase(d.Outcome); line != "" {
		fmt.Fprintf(&b, "Print     %s\n", line)
	}
	if line := rubberPhrase(d.Outcome); line != "" {
		fmt.Fprintf(&b, "Rubber    %s\n", line)
	}
	if line := demoldPhrase(d.Outcome); line != "" {
		fmt.Fprintf(&b, "Demold    %s\n", line)
	}
	if line := chargePhrase(d.Outcome); line != "" {
		fmt.Fprintf(&b, "Charge    %s\n", line)
	}
	if d.Changes != nil {
		fmt.Fprintf(&b, "Since     %s\n", changePhrase(d.Changes))
	}
	fmt.Fprintf(&b, "Report    %s\n", dir)
	return b.String()
}

// VerdictLine is the one sentence at the top of every output.
func VerdictLine(d *Document) string {
	stop, discuss, note, accepted := d.Counts()
	line := map[checks.Verdict]string{
		checks.Ready:       "Ready to print",
		checks.Talk:        "Discuss before printing",
		checks.DoNotPrint:  "Do not print",
		checks.NoJudgement: "Not judged",
	}[d.Outcome.Verdict]
	var counts []string
	for _, c := range []struct {
		n    int
		what string
	}{{stop, "%d to stop for"}, {discuss, "%d to discuss"}, {note, "%s"}, {accepted, "%d accepted"}} {
		switch {
		case c.n == 0:
		case c.what == "%s":
			counts = append(counts, Plural(c.n, "note"))
		default:
			counts = append(counts, fmt.Sprintf(c.what, c.n))
		}
	}
	if len(counts) == 0 {
		return line + ": nothing found"
	}
	return line + ": " + strings.Join(counts, ", ")
}

func keyNumbers(b *strings.Builder, o *checks.Outcome, f *mold.Fill) {
	fmt.Fprintf(b, "Air       %s\n", airPhrase(f))
	fmt.Fprintf(b, "Resin     %s fills the part, %s the channels\n", Milliliters(f.Filled), Milliliters(f.Channels))
	fmt.Fprintf(b, "Pour      %s; %s\n", tiltPhrase(f), channelPhrase(f.Ports))
}

func airPhrase(f *mold.Fill) string {
	small := ""
	if f.SmallVolume >= 0.01 {
		small = fmt.Sprintf(", %s in pockets too small to list", Volume(f.SmallVolume))
	}
	if len(f.Pockets) == 0 {
		return "no pocket" + small
	}
	share := ""
	if f.Cavity > 0 {
		share = fmt.Sprintf(" (%s %% of the part)", Figure(100*f.Trapped/f.Cavity))
	}
	return fmt.Sprintf("%s stay in %s%s%s", Volume(f.Trapped), Plural(len(f.Pockets), "pocket"), share, small)
}

func tiltPhrase(f *mold.Fill) string {
	if Degrees(f.TiltAngle) == "0°" {
		return "level"
	}
	return fmt.Sprintf("tilted %s, side facing azimuth %s raised", Degrees(f.TiltAngle), Degrees(f.TiltSide))
}

func channelPhrase(ports []mold.Channel) string {
	count := map[mold.Role]int{} // asked by role only
	for i := range ports {
		count[ports[i].Role]++
	}
	phrase := Plural(count[mold.Gate], "gate") + ", " + Plural(count[mold.Vent], "vent")
	if n := count[mold.Blind]; n > 0 {
		phrase += ", " + Plural(n, "blind channel")
	}
	return phrase
}

// fitPhrase says in a line how the halves meet; empty where nobody asked.
func fitPhrase(c *mold.Closing) string {
	if c == nil {
		return ""
	}
	phrase := "halves touch"
	switch {
	case c.OverlapDepth > 0:
		phrase = fmt.Sprintf("halves overlap by up to %s", Length(c.OverlapDepth))
	case c.GapMax > 0:
		phrase = fmt.Sprintf("gap up to %s", Length(c.GapMax))
	}
	if land, ok := c.LandMin(); ok {
		phrase += fmt.Sprintf(", land %s", Length(land))
	}
	if n := len(c.Keys); n > 0 {
		phrase += ", " + Plural(n, "key")
	}
	return phrase + fmt.Sprintf("; cast %s x %s x %s mm", size(c.Cast.Size.X), size(c.Cast.Size.Y), size(c.Cast.Size.Z))
}

func wherePhrase(w checks.Where) string {
	switch {
	case w.At != nil && w.Body != "":
		return "at " + Place(*w.At) + " on " + w.Body
	case w.At != nil:
		return "at " + Place(*w.At)
	case w.Body != "":
		return "on " + w.Body
	}
	return ""
}

// wrap writes text in lines of at most 100 columns, each behind the indent.
func wrap(b *strings.Builder, indent, text string) {
	line := ""
	for _, w := range strings.Fields(text) {
		if line != "" && len(indent)+len([]rune(line))+1+len([]rune(w)) > 100 {
			fmt.Fprintf(b, "%s%s\n", indent, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	if line != "" {
		fmt.Fprintf(b, "%s%s\n", indent, line)
	}
}

func verdictColor(v checks.Verdict) string {
	switch v {
	case checks.DoNotPrint:
		return "1;31"
	case checks.Ready:
		return "1;32"
	}
	return "1;33"
}

func paint(on bool, code, text string) string {
	if !on {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

// chargePhrase says what to mix and what the pot does.
func chargePhrase(o *checks.Outcome) string {
	c := o.Charge
	if c == nil {
		return ""
	}
	line := fmt.Sprintf("mix %s ml, %s g", Figure(c.Total), Figure(c.Mass))
	if m := c.Mix; m != nil {
		line += fmt.Sprintf(" (%s g A + %s g B)", Figure(m.A), Figure(m.B))
	}
	line += fmt.Sprintf("; fills in %s s", Figure(c.FillTime))
	if p := o.Pot; p != nil {
		line += fmt.Sprintf("; pot %s kPa gauge", Figure(p.Gauge))
	}
	return line
}
