package main

import (
	"errors"
	"fmt"
	"path/filepath"

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
func layScene(path string, p *model.Plan) (*scene.Scene, error) {
	bm := p.Settings.BaseMap
	for _, f := range p.Features {
		if f.Geometry != nil {
			return scene.New(p), nil
		}
	}
	if bm == nil {
		return scene.New(p), nil
	}
	where, err := imagery.Extent(filepath.Dir(path), *bm)
	if err != nil {
		return nil, err
	}
	mid := where.Center()
	return scene.On(p, sitegrid.New(mid[0], mid[1])), nil
}
