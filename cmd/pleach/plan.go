package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"pleach/gis/elevation"
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

// layScene lays the plan at path on its site grid and its terrain. One without
// a feature lies where elevation.Home says. What is to be said goes to
// notes.
func layScene(path string, p *model.Plan, notes io.Writer) (*scene.Scene, error) {
	folder := filepath.Dir(path)
	lon, lat := scene.Origin(p)
	placed := slices.ContainsFunc(p.Features, func(f *model.Feature) bool { return f.Geometry != nil })
	if !placed {
		at, known, err := elevation.Home(folder, p)
		if known {
			lon, lat = at[0], at[1]
		}
		if err != nil {
			fmt.Fprintf(notes, "pleach: %s: so the picture tells no place\n", printable(err.Error()))
		}
	}
	grid := sitegrid.New(lon, lat)
	tf := p.Settings.Terrain
	if tf == nil {
		return scene.On(p, grid), nil
	}
	ground, err := elevation.Load(context.Background(), folder, *tf, grid, elevation.Area(p, grid))
	if err != nil {
		return nil, err
	}
	for _, n := range ground.Notes {
		fmt.Fprintf(notes, "pleach: %s: %s\n", printable(ground.File), printable(n))
	}
	return scene.OnGround(p, grid, ground.Grid), nil
}

// isFile reports whether there is an ordinary file of that name.
func isFile(name string) bool {
	st, err := os.Stat(name)
	return err == nil && st.Mode().IsRegular()
}
