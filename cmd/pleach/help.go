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
			return usage("help: %s is not a command: see pleach help", topic[0])
		}
		fmt.Fprintf(&b, "pleach %s %s\n\n%s\n", c.name, c.args, c.help)
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
