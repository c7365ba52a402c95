package main

import (
	"context"
	"io"
	"slices"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/report"
)

var checkCommand = command{
	name:    "check",
	args:    "PLAN [--json]",
	summary: "all analysis of a plan, as text or as the check report",
	help: `Prints what the plan's sensors cover, where the gaps are and why, the radio
links, the least-detected way in to each asset and every finding. Exit status 1 when there is a fault that nobody has
accepted.

  --json   the check report, for programs`,
	run: runCheck,
}

func runCheck(args []string, out, notes io.Writer) (int, error) {
	var asJSON bool
	rest, err := parse("check", args, toggle("--json", &asJSON))
	if err != nil {
		return bad, err
	}
	path, err := one("check", "the plan", rest)
	if err != nil {
		return bad, err
	}
	r, err := analyse(path, notes)
	if err != nil {
		return bad, err
	}
	if asJSON {
		err = report.JSON(out, path, r)
	} else {
		err = report.Text(out, path, r, report.Width)
	}
	if err != nil {
		return bad, err
	}
	if slices.ContainsFunc(r.Findings, model.Finding.Counts) {
		return faulty, nil
	}
	return done, nil
}

// analyse reads and analyses the plan at path, with the ways in to its assets and
// the study of its radio net; what is to be said goes to notes.
func analyse(path string, notes io.Writer) (*analysis.Result, error) {
	p, err := readPlan(path)
	if err != nil {
		return nil, err
	}
	sc, err := layScene(path, p, notes)
	if err != nil {
		return nil, err
	}
	return analysis.Whole(context.Background(), sc)
}
