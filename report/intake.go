package report

import (
	"fmt"
	"strings"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// InputText says in a few lines a mesh what its file holds.
func InputText(inputs []mold.Input) string {
	var b strings.Builder
	for i := range inputs {
		in := &inputs[i]
		if i > 0 {
			b.WriteString("\n")
		}
		s := in.Box.Size()
		fmt.Fprintf(&b, "%s\n", in.File)
		fmt.Fprintf(&b, "  format   %s, units %s (%s)\n", in.Format, in.Units, in.UnitsFrom)
		fmt.Fprintf(&b, "  size     %s x %s x %s, from %s to %s\n", Length(s.X), Length(s.Y), Length(s.Z), Place(in.Box.Min), Place(in.Box.Max))
		closed := "closed"
		if !in.Closed {
			closed = "open"
		}
		fmt.Fprintf(&b, "  surface  %s in %s, %s, area %s, chord error about %s\n",
			Plural(in.Triangles, "facet"), Plural(in.Shells, "shell"), closed, Area(in.Area), Length(in.Chord))
		fmt.Fprintf(&b, "  volume   %s mm³\n", Figure(in.Volume))
		fmt.Fprintf(&b, "  sha256   %s\n", in.SHA256)
		for _, r := range in.Repairs {
			wrap(&b, "  repaired ", repairText(&r))
		}
		for _, c := range in.Warnings {
			wrap(&b, "  note     ", c.Text)
		}
	}
	return b.String()
}

// repairText says what was put right and where.
func repairText(r *mold.Repair) string {
	text := r.Text
	if text == "" {
		text = fmt.Sprintf("%s: %d", r.Kind, r.Count)
	}
	if r.At == nil || r.Kind == geom.RepairHole { // which names its places
		return text
	}
	return text + ", the first at " + Place(*r.At)
}
