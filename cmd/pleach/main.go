// Command pleach plans wireless passive-infrared detection round large outdoor
// sites. With a subcommand it works at the command line and opens no display;
// alone, or with a plan, it opens the window.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"unicode"

	"pleach/cmd/pleach/quiet"
)

// Exit statuses.
const (
	done   = 0 // done, no fault
	faulty = 1 // check: done, and at least one fault that is not accepted
	bad    = 2 // bad usage or bad input; nothing was written
)

// maxLines is how many lines of errors are printed at most.
const maxLines = 20

func main() {
	quiet.Restore()
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// A command is one subcommand. Its results go to out, which reaches standard
// output only when it returns without an error; messages that are no errors go
// to notes at once.
type command struct {
	name    string
	args    string // of the usage line
	summary string
	help    string // what the options are, for help
	run     func(args []string, out, notes io.Writer) (status int, err error)
}

// commands lists the subcommands in the order in which help shows them.
func commands() []command {
	return []command{newCommand, checkCommand, addressCommand, repeaterCommand, aimCommand, signalCommand, printCommand, exportCommand, diffCommand, linkCommand, demoCommand}
}

// run is the whole program: the arguments in, the exit status out.
func run(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	status, err := dispatch(args, stdout, stderr)
	if err != nil {
		complain(stderr, err)
		return bad
	}
	return status
}

func dispatch(args []string, stdout, stderr io.Writer) (int, error) {
	if len(args) == 0 {
		return done, openWindow("")
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		return done, writeHelp(stdout, args[1:])
	}
	for _, c := range commands() {
		if c.name != args[0] {
			continue
		}
		var out bytes.Buffer
		if slices.Contains(args[1:], "") {
			return bad, usage("%s: an argument is empty: see pleach help %s", c.name, c.name)
		}
		status, err := c.run(args[1:], &out, stderr)
		if errors.Is(err, errHelp) {
			return done, writeHelp(stdout, []string{c.name})
		}
		if err != nil {
			return bad, err
		}
		if _, err := stdout.Write(legible(out.Bytes())); err != nil {
			return bad, fmt.Errorf("standard output: %w", err)
		}
		return status, nil
	}
	switch {
	case strings.HasPrefix(args[0], "-"):
		for _, a := range args[1:] {
			if c, ok := findCommand(a); ok {
				return bad, usage("%s stands before the command: options follow it, pleach %s …: see pleach help %s", args[0], c.name, c.name)
			}
		}
		return bad, usage("%s is not an option: see pleach help", args[0])
	case args[0] == "":
		return bad, usage("the first argument is empty: it must be a command or a plan: see pleach help")
	case len(args) > 1:
		return bad, unknown("", args[0])
	}
	return done, openWindow(args[0])
}

// complain prints err, a line for each thing wrong.
func complain(w io.Writer, err error) {
	lines := strings.Split(err.Error(), "\n")
	more := 0
	if len(lines) > maxLines {
		more = len(lines) - maxLines + 1
		lines = lines[:maxLines-1]
	}
	for _, l := range lines {
		fmt.Fprintf(w, "pleach: %s\n", printable(l))
	}
	if more > 0 {
		fmt.Fprintf(w, "pleach: and %d more of the kind\n", more)
	}
}

// printable returns s on one line, without the characters that a file's text may
// hold and that would move a terminal's pen or turn its direction of writing.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || moves(r) {
			return '?'
		}
		return r
	}, s)
}

// legible is printable for the lines of a result. What is JSON has only escaped
// ones.
func legible(b []byte) []byte {
	if json.Valid(b) {
		return b
	}
	return bytes.Map(func(r rune) rune {
		if r != '\n' && moves(r) {
			return '?'
		}
		return r
	}, b)
}

// moves reports whether a character is a control character or turns the direction
// of writing.
func moves(r rune) bool {
	return unicode.IsControl(r) || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069'
}

// usage is an error in how the program was called.
func usage(format string, args ...any) error { return fmt.Errorf(format, args...) }
