package main

import (
	"io"

	"pleach/model/compare"
)

var diffCommand = command{
	name:    "diff",
	args:    "OLD NEW [--json]",
	summary: "what changed between two plans: devices, chainage, radio links",
	help: `Devices moved, added, taken away and aimed afresh, chainage gained and lost for
each boundary and posture, settings, and the radio links that changed, from OLD to NEW.

  --json   for programs`,
	run: runDiff,
}

func runDiff(args []string, out, notes io.Writer) (int, error) {
	var asJSON bool
	rest, err := parse("diff", args, toggle("--json", &asJSON))
	switch {
	case err != nil:
		return bad, err
	case len(rest) < 2:
		return bad, usage("diff: needs two plans, the old and the new: see pleach help diff")
	case len(rest) > 2:
		return bad, usage("diff: %q is one argument too many: see pleach help diff", rest[2])
	}
	before, err := analyse(rest[0], notes)
	if err != nil {
		return bad, err
	}
	after, err := analyse(rest[1], notes)
	if err != nil {
		return bad, err
	}
	changes := compare.Plans(before, after)
	if asJSON {
		return done, changes.JSON(out, rest[0], rest[1])
	}
	return done, changes.Text(out, rest[0], rest[1])
}
