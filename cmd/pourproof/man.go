package main

import (
	"fmt"
	"strings"
)

// runMan prints the manual page in the language of man(7).
func runMan(w *world, args []string) error {
	s := newFlagSet("man")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	if s.NArg() > 0 {
		return misuse("man takes no arguments")
	}
	_, err := fmt.Fprint(w.stdout, manPage(words()))
	return err
}

// roff makes text safe for man(7): a hyphen that is to be copied, a backslash, and
// a line that begins like a request.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`, "'", `\(aq`).Replace(s)
	if strings.HasPrefix(s, ".") {
		s = `\&` + s
	}
	return s
}

func manPage(list []commandWords) string {
	var b strings.Builder
	fmt.Fprintf(&b, ".TH POURPROOF 1 \"\" \"pourproof %s\" \"User Commands\"\n", roff(version))
	b.WriteString(".SH NAME\npourproof \\- checks a two\\-part elastomer mold before it is printed\n.SH SYNOPSIS\n")
	for i := range list {
		fmt.Fprintf(&b, ".B pourproof %s\n%s\n.br\n", roff(list[i].name), roff(list[i].args))
	}
	b.WriteString(".SH DESCRIPTION\nReads the part and the halves as meshes in their assembled position and says where air stays when the\n" +
		"mold is filled, which vents do not vent, how the halves fit and print, and what to change and where.\n.SH EXAMPLES\n")
	for _, line := range strings.Split(topExamples, "\n") {
		if line = strings.TrimSpace(line); strings.HasPrefix(line, "pourproof ") {
			fmt.Fprintf(&b, ".PP\n.nf\n%s\n.fi\n", roff(line))
		}
	}
	b.WriteString(".SH COMMANDS\n")
	for i := range list {
		c := &list[i]
		fmt.Fprintf(&b, ".SS %s\n%s.\n", roff(strings.TrimSpace(c.name+" "+c.args)), roff(strings.ToUpper(c.what[:1])+c.what[1:]))
		for _, e := range examples[c.name] {
			fmt.Fprintf(&b, ".PP\n.nf\n%s\n.fi\n", roff(e))
		}
		for _, f := range c.flags {
			v, what := value(f)
			name := "--" + f.Name
			if f.Shorthand != "" {
				name = "-" + f.Shorthand + ", " + name
			}
			fmt.Fprintf(&b, ".TP\n.B %s\n%s.\n", roff(strings.TrimSpace(name+" "+v)), roff(what))
		}
	}
	b.WriteString(".SH EXIT STATUS\n.TP\n.B 0\nJudged, and no stop finding that is not accepted.\n.TP\n.B 1\nAt least one stop finding that is not accepted.\n" +
		".TP\n.B 2\nCould not judge: bad input, bad usage, or an asked check not judged.\n.SH FILES\nIn the folder of \\-\\-out:\n")
	for _, name := range ourNames {
		fmt.Fprintf(&b, ".br\n.I %s\n", roff(name))
	}
	b.WriteString(".SH ENVIRONMENT\n.TP\n.B NO_COLOR\nset and not empty: no colour on the terminal.\n")
	return b.String()
}
