package main

import (
	"fmt"
	"io"
)

var printCommand = command{
	name:    "print",
	args:    "PLAN -o FILE.pdf [--scale N] [--paper A4 or A3] [--mono]",
	summary: "the drawing, true to scale, as PDF",
	help: `  -o FILE.pdf   where to
  --scale N     1:N instead of the largest usual scale that fits
  --paper A3    A3 or A4 instead of the one that suits
  --mono        for a printer without colour`,
	run: runPrint,
}

func runPrint(args []string, out, _ io.Writer) (int, error) {
	var to, scale, paper string
	var mono bool
	rest, err := parse("print", args, text("-o", &to), text("--scale", &scale), text("--paper", &paper), toggle("--mono", &mono))
	if err != nil {
		return bad, err
	}
	path, err := one("print", "the plan", rest)
	if err != nil {
		return bad, err
	}
	if _, err := readPlan(path); err != nil {
		return bad, err
	}
	return bad, fmt.Errorf("%s: printing is not part of this build", path)
}
