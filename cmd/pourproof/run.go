package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"time"

	"github.com/spf13/pflag"
	"golang.org/x/term"

	"pourproof/checks/mold"
)

// version is stamped by the linker in a release build.
var version = "0.1.0"

// Exit codes. A stop finding wins over what could not be judged.
const (
	exitFine  = 0 // judged, no stop finding that is not accepted
	exitStop  = 1 // at least one stop finding that is not accepted
	exitDoubt = 2 // bad usage, bad input, or an asked check not judged
)

// world is everything outside the program that a command may touch, so that
// tests can run commands in process.
type world struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	env            func(string) string
	terminal       bool   // stderr is one
	dir            string // that relative paths start from; empty = the process's

	onHelp    func(*pflag.FlagSet)                            // takes a command's flags instead of printing its help; usually nil
	interrupt func() (ctx context.Context, stop func())       // ends when the user does
	tick      func(ctx context.Context, d time.Duration) bool // waits; false once ctx has ended
}

func hostWorld() *world {
	stop := dieOfSignals()
	return &world{stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, env: os.Getenv, terminal: term.IsTerminal(int(os.Stderr.Fd())),
		interrupt: func() (context.Context, func()) {
			ctx, cancel := signal.NotifyContext(context.Background(), deadly()...)
			stop() // not before: no signal falls between
			return ctx, cancel
		},
		tick: func(ctx context.Context, d time.Duration) bool {
			select {
			case <-ctx.Done():
				return false
			case <-time.After(d):
				return true
			}
		}}
}

// command is one word after the program's name.
type command struct {
	name   string
	args   string // as the usage line shows them
	what   string
	run    func(w *world, args []string) error
	hidden bool
}

// commands in the order of the help; a function, because help lists them itself.
func commands() []command {
	return []command{
		{"check", "PART HALF HALF [HALF...] | JOB.toml", "check a closed mold and write the report", runCheck, false},
		{"tilt", "PART HALF HALF [HALF...] | JOB.toml", "search ways to stand the block while pouring", runTilt, false},
		{"pose", "PART HALF HALF [HALF...] | JOB.toml", "search ways to lay each half on the platform", runPose, false},
		{"mesh", "FILE...", "look at mesh files: size, units, shells, defects, volume", runMesh, false},
		{"demo", "[DIR]", "write an example mold in two revisions and check both", runDemo, false},
		{"coupon", "[DIR]", "write a test piece to print and measure, and a form for the results", runCoupon, false},
		{"explain", "[CHECK]", "what a check measures, its formula, limits and source", runExplain, false},
		{"init", "[JOB.toml]", "write a commented job file", runInit, false},
		{"completion", "bash|zsh|fish", "print a completion script for a shell", runCompletion, false},
		{"man", "", "print the manual page", runMan, false},
		{"schema", "", "print the JSON Schema of report.json", runSchema, false},
		{"version", "", "print the version", runVersion, false},
	}
}

// usageError is a mistake on the command line; its text says what to write.
type usageError struct{ text string }

func (e *usageError) Error() string { return e.text }

func misuse(format string, args ...any) error { return &usageError{fmt.Sprintf(format, args...)} }

// exitCode ends a command that has said everything already.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit %d", int(e)) }

// answer is standard output. It keeps its first error, so that no command has to
// ask after every line, and a full disk never looks like success.
type answer struct {
	out io.Writer
	err error
}

// Write writes unless an earlier write failed.
func (a *answer) Write(b []byte) (int, error) {
	if a.err != nil {
		return 0, a.err
	}
	n, err := a.out.Write(b)
	if err != nil {
		a.err = fmt.Errorf("standard output: cannot be written: %w", reason(err))
	}
	return n, a.err
}

// run does what the command line says and returns the exit code.
func run(args []string, w *world) int {
	out := &answer{out: w.stdout}
	w.stdout, w.stderr = &screen{out, w.terminal}, &screen{w.stderr, w.terminal}
	err := dispatch(args, w)
	if out.err != nil {
		err = out.err
	}
	var code exitCode
	switch {
	case err == nil:
		return exitFine
	case errors.As(err, &code):
		return int(code)
	case errors.Is(err, pflag.ErrHelp):
		return exitFine
	}
	complain(w, err)
	var usage *usageError
	if errors.As(err, &usage) {
		fmt.Fprintln(w.stderr, "pourproof: see pourproof --help")
	}
	return exitDoubt
}

// complain prints an error, each of its lines behind the program's name.
func complain(w *world, err error) {
	for _, line := range strings.Split(err.Error(), "\n") {
		fmt.Fprintf(w.stderr, "pourproof: %s\n", line)
	}
}

func dispatch(args []string, w *world) error {
	if len(args) == 0 {
		fmt.Fprint(w.stderr, topHelp())
		return exitCode(exitDoubt)
	}
	switch args[0] {
	case "help", "--help", "-h":
		if len(args) > 1 {
			return dispatch([]string{args[1], "--help"}, w)
		}
		fmt.Fprint(w.stdout, topHelp())
		return nil
	case "--version":
		return runVersion(w, nil)
	}
	var names []string
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(w, args[1:])
		}
		if !c.hidden {
			names = append(names, c.name)
		}
	}
	if near := mold.Nearest(args[0], names); near != "" {
		return misuse("unknown command %q; did you mean %s?", args[0], near)
	}
	return misuse("unknown command %q", args[0])
}

func runVersion(w *world, args []string) error {
	if len(args) > 0 {
		return misuse("version takes no arguments")
	}
	_, err := fmt.Fprintf(w.stdout, "pourproof %s\n", version)
	return err
}
