package main

import (
	"fmt"
	"strings"

	"pourproof/checks"
)

// runExplain prints what checks measure; their own text says it.
func runExplain(w *world, args []string) error {
	s := newFlagSet("explain")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	suite := checks.Suite()
	if s.NArg() == 0 {
		for _, c := range suite {
			fmt.Fprintf(w.stdout, "%-10s %s\n", c.Name, c.Title)
		}
		fmt.Fprintln(w.stdout, "\npourproof explain CHECK says more.")
		return nil
	}
	if err := checks.Known(s.Args()); err != nil {
		return misuse("%v", err)
	}
	for i, name := range s.Args() {
		c := checkNamed(suite, name)
		if i > 0 {
			fmt.Fprintln(w.stdout)
		}
		fmt.Fprintf(w.stdout, "%s: %s\n\n%s\n", c.Name, c.Title, strings.TrimSpace(c.Doc))
	}
	return nil
}

func checkNamed(suite []*checks.Check, name string) *checks.Check {
	for _, c := range suite {
		if c.Name == name {
			return c
		}
	}
	return nil
}
