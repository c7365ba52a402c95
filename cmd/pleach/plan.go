package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
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

// layScene lays the plan at path on its site grid. One without a feature lies
// about the middle of its base map.
func layScene(path string, p *model.Plan, notes io.Writer) *scene.Scene {
	placed := slices.ContainsFunc(p.Features, func(f *model.Feature) bool { return f.Geometry != nil })
	if bm := p.Settings.BaseMap; bm != nil && !placed {
		where, err := imagery.Extent(filepath.Dir(path), *bm)
		if err == nil {
			mid := where.Center()
			return scene.On(p, sitegrid.New(mid[0], mid[1]))
		}
		fmt.Fprintf(notes, "pleach: %s: so the plan lies nowhere yet\n", printable(err.Error()))
	}
	return scene.New(p)
}
