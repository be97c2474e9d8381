package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"pourproof/checks"
)

// Completion scripts and the manual page are written from what the help is written
// from: the commands, their flags and the examples.

// shells that completion knows.
var shells = []string{"bash", "zsh", "fish"}

func runCompletion(w *world, args []string) error {
	s := newFlagSet("completion")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	if s.NArg() != 1 || !slices.Contains(shells, s.Arg(0)) {
		return misuse("completion needs one of %s", strings.Join(shells, ", "))
	}
	text := map[string]func([]commandWords) string{"bash": bashScript, "zsh": zshScript, "fish": fishScript}[s.Arg(0)](words())
	_, err := fmt.Fprint(w.stdout, text)
	return err
}

// commandWords is a command with what may stand behind it.
type commandWords struct {
	command
	flags []*pflag.Flag
	words []string // arguments that are no files
}

// words asks every command for its flags.
func words() []commandWords {
	var out []commandWords
	for _, c := range commands() {
		if c.hidden {
			continue
		}
		one := commandWords{command: c}
		probe := &world{stdout: discard{}, stderr: discard{}, onHelp: func(s *pflag.FlagSet) {
			s.VisitAll(func(f *pflag.Flag) {
				if !f.Hidden {
					one.flags = append(one.flags, f)
				}
			})
		}}
		_ = c.run(probe, []string{"--help"}) // its flags come by onHelp; a command without flags refuses
		switch c.name {
		case "explain":
			for _, check := range checks.Suite() {
				one.words = append(one.words, check.Name)
			}
		case "completion":
			one.words = shells
		}
		out = append(out, one)
	}
	return out
}

// value is what a flag's usage says of its value, and what the flag does.
func value(f *pflag.Flag) (value, what string) {
	value, what, _ = strings.Cut(f.Usage, "\t")
	return value, what
}

// choices are the words that a flag's value may be; nil where it is free.
func choices(f *pflag.Flag) []string {
	v, _ := value(f)
	list := strings.Split(v, "|")
	for _, w := range list {
		if w == "" || strings.ContainsFunc(w, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9') }) {
			return nil
		}
	}
	if len(list) < 2 {
		return nil
	}
	return list
}

func flagNames(c *commandWords) []string {
	out := []string{"--help"}
	for _, f := range c.flags {
		out = append(out, "--"+f.Name)
	}
	return out
}

func bashScript(list []commandWords) string {
	var b strings.Builder
	b.WriteString("# bash completion of pourproof; read it with: source <(pourproof completion bash)\n_pourproof() {\n" +
		"    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD-1]}\n    COMPREPLY=()\n" +
		"    if [ \"$COMP_CWORD\" -eq 1 ]; then\n")
	var names []string
	for i := range list {
		names = append(names, list[i].name)
	}
	fmt.Fprintf(&b, "        COMPREPLY=($(compgen -W \"%s\" -- \"$cur\"))\n        return\n    fi\n    case \"${COMP_WORDS[1]} $prev\" in\n", strings.Join(names, " "))
	for i := range list {
		for _, f := range list[i].flags {
			v, _ := value(f)
			switch words := choices(f); {
			case words != nil:
				fmt.Fprintf(&b, "    \"%s --%s\") COMPREPLY=($(compgen -W \"%s\" -- \"$cur\")); return ;;\n", list[i].name, f.Name, strings.Join(words, " "))
			case v == "DIR":
				fmt.Fprintf(&b, "    \"%s --%s\") COMPREPLY=($(compgen -d -- \"$cur\")); return ;;\n", list[i].name, f.Name)
			}
		}
	}
	b.WriteString("    esac\n    case \"${COMP_WORDS[1]} $cur\" in\n")
	for i := range list {
		fmt.Fprintf(&b, "    \"%s -\"*) COMPREPLY=($(compgen -W \"%s\" -- \"$cur\")) ;;\n", list[i].name, strings.Join(flagNames(&list[i]), " "))
		if len(list[i].words) > 0 {
			fmt.Fprintf(&b, "    \"%s \"*) COMPREPLY=($(compgen -W \"%s\" -- \"$cur\")) ;;\n", list[i].name, strings.Join(list[i].words, " "))
		}
	}
	b.WriteString("    esac\n}\ncomplete -o default -F _pourproof pourproof\n")
	return b.String()
}

// quoted is text in single quotes for a shell.
func quoted(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" }

func zshScript(list []commandWords) string {
	var b strings.Builder
	colon := func(name, what string) string { return quoted(strings.ReplaceAll(name, ":", `\:`) + ":" + what) }
	b.WriteString("#compdef pourproof\n# zsh completion of pourproof; put it into a folder of $fpath as _pourproof\n_pourproof() {\n    local -a list\n    if (( CURRENT == 2 )); then\n        list=(")
	for i := range list {
		b.WriteString(colon(list[i].name, list[i].what) + " ")
	}
	b.WriteString(")\n        _describe command list\n        return\n    fi\n    case \"$words[2] $words[CURRENT-1]\" in\n")
	for i := range list {
		for _, f := range list[i].flags {
			if words := choices(f); words != nil {
				fmt.Fprintf(&b, "    (%s) list=(%s); _describe value list; return ;;\n", quoted(list[i].name+" --"+f.Name), strings.Join(words, " "))
			}
		}
	}
	b.WriteString("    esac\n    case \"$words[2] $words[CURRENT]\" in\n")
	for i := range list {
		fmt.Fprintf(&b, "    (%s*) list=(", quoted(list[i].name+" -"))
		for _, f := range list[i].flags {
			_, what := value(f)
			b.WriteString(colon("--"+f.Name, what) + " ")
		}
		b.WriteString(colon("--help", "help") + "); _describe -o flag list ;;\n")
		if len(list[i].words) > 0 {
			fmt.Fprintf(&b, "    (%s*) list=(%s); _describe argument list ;;\n", quoted(list[i].name+" "), strings.Join(list[i].words, " "))
		}
	}
	b.WriteString("    (*) _files ;;\n    esac\n}\nif [ \"$funcstack[1]\" = _pourproof ]; then _pourproof \"$@\"; else compdef _pourproof pourproof; fi\n")
	return b.String()
}

func fishScript(list []commandWords) string {
	var b strings.Builder
	single := func(s string) string {
		return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(s) + "'"
	}
	b.WriteString("# fish completion of pourproof; read it with: pourproof completion fish | source\n")
	for i := range list {
		c := &list[i]
		fmt.Fprintf(&b, "complete -c pourproof -n __fish_use_subcommand -f -a %s -d %s\n", c.name, single(c.what))
		on := single("__fish_seen_subcommand_from " + c.name)
		if len(c.words) > 0 {
			fmt.Fprintf(&b, "complete -c pourproof -n %s -f -a %s\n", on, single(strings.Join(c.words, " ")))
		}
		for _, f := range c.flags {
			v, what := value(f)
			fmt.Fprintf(&b, "complete -c pourproof -n %s -l %s", on, f.Name)
			if f.Shorthand != "" {
				b.WriteString(" -s " + f.Shorthand)
			}
			if v != "" {
				b.WriteString(" -r")
			}
			if words := choices(f); words != nil {
				b.WriteString(" -f -a " + single(strings.Join(words, " ")))
			}
			b.WriteString(" -d " + single(what) + "\n")
		}
	}
	return b.String()
}
