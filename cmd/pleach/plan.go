package main

import (
	"errors"
	"fmt"

	"pleach/gis/planfile"
	"pleach/model"
)

// readPlan returns a plan without a flaw: the command line refuses any other,
// a line for each flaw.
func readPlan(path string) (*model.Plan, error) {
	p, err := planfile.Read(path)
	if err != nil {
		return nil, err
	}
	var all []error
	for _, f := range p.AllFlaws() {
		all = append(all, fmt.Errorf("%s: %s", path, printable(f.Error())))
	}
	return p, errors.Join(all...)
}
