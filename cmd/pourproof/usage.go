package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"
)

// Rules of the screen: results go to standard output, everything else to standard
// error. A fault is one line, "pourproof: FILE: place: what; remedy". Help shows
// examples first.

const topExamples = `Examples:
  pourproof demo
  pourproof check part.stl top.stl bottom.stl --tilt 15@90
  pourproof check mold.toml
`

func topHelp() string {
	var b strings.Builder
	b.WriteString("pourproof checks a two-part elastomer mold before it is printed: where air stays\n" +
		"when it is filled, which vents do not vent, what to change and where.\n\n")
	b.WriteString(topExamples + "\nCommands:\n")
	for _, c := range commands() {
		if !c.hidden {
			fmt.Fprintf(&b, "  %-10s %-42s %s\n", c.name, c.args, c.what)
		}
	}
	b.WriteString("\nExit code: 1 at least one stop finding that is not accepted; 2 could not judge\n" +
		"(bad input, bad usage, an asked check not judged); 0 otherwise.\n" +
		"pourproof COMMAND --help says more.\n")
	return b.String()
}

// examples of each command, shown first in its help and run by a test.
var examples = map[string][]string{
	"check": {
		"pourproof check part.stl bottom.stl top-a.stl",
		"pourproof check part.stl bottom.stl top-a.stl --tilt 15@0 --gate -23,0,0 -o knob-a",
		"pourproof check rev-b.toml --tilt -10 --only air,vents --no-pdf",
		"pourproof check part.stl bottom.stl top-a.stl --tilt 15@0 --try 1 --no-pdf",
		"pourproof check rev-b.toml --json - --quiet",
		"pourproof check rev-b.toml --since rev-a/report.json",
	},
	"tilt":       {"pourproof tilt part.stl bottom.stl top-a.stl --search quick", "pourproof tilt rev-b.toml --search quick --json -"},
	"pose":       {"pourproof pose part.stl bottom.stl top-a.stl", "pourproof pose rev-b.toml --flat bottom --json -"},
	"mesh":       {"pourproof mesh part.stl top-a.stl", "pourproof mesh part.stl --units in --json -"},
	"demo":       {"pourproof demo my-demo"},
	"coupon":     {"pourproof coupon my-coupon"},
	"explain":    {"pourproof explain", "pourproof explain air"},
	"init":       {"pourproof init", "pourproof init knob.toml"},
	"completion": {"pourproof completion bash"},
	"man":        {"pourproof man"},
	"schema":     {"pourproof schema"},
	"version":    {"pourproof version"},
}

// commandHelp is one command's help.
func commandHelp(name string, s *pflag.FlagSet) string {
	var b strings.Builder
	for _, c := range commands() {
		if c.name == name {
			fmt.Fprintf(&b, "pourproof %s: %s\n\nExamples:\n", strings.TrimSpace(c.name+" "+c.args), c.what)
		}
	}
	for _, e := range examples[name] {
		fmt.Fprintf(&b, "  %s\n", e)
	}
	if s.HasAvailableFlags() {
		b.WriteString("\nFlags, before or after the files:\n")
		s.VisitAll(func(f *pflag.Flag) { b.WriteString(flagHelp(f)) })
	}
	return b.String()
}

// flagHelp is one line a flag, wider ones two. A flag's usage is its value's name,
// a tab, and what it does.
func flagHelp(f *pflag.Flag) string {
	if f.Hidden {
		return ""
	}
	value, what, _ := strings.Cut(f.Usage, "\t")
	head := "      --" + f.Name
	if f.Shorthand != "" {
		head = "  -" + f.Shorthand + ", --" + f.Name
	}
	if value != "" {
		head += " " + value
	}
	if len(head) > 27 {
		return fmt.Sprintf("%s\n%28s%s\n", head, "", what)
	}
	return fmt.Sprintf("%-27s %s\n", head, what)
}
