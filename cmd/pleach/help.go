package main

import (
	"fmt"
	"io"
	"strings"
)

// writeHelp writes how the program is called, or one of its commands.
func writeHelp(w io.Writer, topic []string) error {
	if len(topic) > 1 {
		return usage("help: %q is one argument too many", topic[1])
	}
	var b strings.Builder
	if len(topic) == 1 {
		c, ok := findCommand(topic[0])
		if !ok {
			return unknown("help: ", topic[0])
		}
		fmt.Fprintf(&b, "%s\n\n%s\n", strings.TrimSpace("pleach "+c.name+" "+strings.ReplaceAll(c.args, "\n  ", "\n")), c.help)
	} else {
		b.WriteString("pleach plans wireless passive-infrared detection round large outdoor sites.\n\n")
		b.WriteString("  pleach [PLAN]   open the window, with a plan or with the last one\n")
		for _, c := range commands() {
			fmt.Fprintf(&b, "\n  pleach %s %s\n      %s\n", c.name, c.args, c.summary)
		}
		b.WriteString(`
  pleach help COMMAND   what the options of a command are

Results go to standard output, messages to standard error. Exit status: 0 done
and no fault, 1 check found a fault that nobody has accepted, 2 bad usage or bad
input and nothing was written.
`)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func findCommand(name string) (command, bool) {
	for _, c := range commands() {
		if c.name == name {
			return c, true
		}
	}
	return command{}, false
}

// unknown is the error for a name that is no command. It names the one that was
// likely meant: it begins alike and is at most two letters away.
func unknown(before, name string) error {
	best, least := "", 3
	for _, c := range commands() {
		if d := distanceOf(name, c.name); d < least && name != "" && name[0] == c.name[0] {
			best, least = c.name, d
		}
	}
	if best != "" {
		return usage("%s%s is not a command: do you mean %s?", before, name, best)
	}
	return usage("%s%s is not a command: see pleach help", before, name)
}

// distanceOf is how many letters have to be put in, taken out or changed to make b
// of a (Levenshtein 1965).
func distanceOf(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		was := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := was
			if a[i] != b[j] {
				change++
			}
			was = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
