package main

import "pourproof/report"

func runSchema(w *world, args []string) error {
	s := newFlagSet("schema")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	if s.NArg() > 0 {
		return misuse("schema takes no arguments")
	}
	_, err := w.stdout.Write(report.SchemaText())
	return err
}
