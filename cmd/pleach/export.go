package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/ui/export"
)

var exportCommand = command{
	name:    "export",
	args:    "PLAN -o FILE [--schedule NAME] [--width PIXELS]",
	summary: "a plan and its result for other programs, by the file's ending",
	help: `  -o FILE          where to; its ending says what is written:
                     .gpkg     GeoPackage: layers with their styles for a GIS
                     .kml      layers for a globe viewer
                     .gpx      waypoints of the devices for a handheld receiver
                     .dxf      drawing in metres on the site grid, on named layers
                     .csv      schedules; with --schedule one of them alone
                     .xlsx     schedules, a sheet each
                     .geojson  all layers as features (not the plan itself)
                     .png .svg the map with legend and scale bar
  --schedule NAME  of a .csv: sensors, addresses, zones, links, gaps, bill, batteries, readings or plan
  --width PIXELS   of a .png: 800 to 8000, 3200 unless stated`,
	run: runExport,
}

func runExport(args []string, out, notes io.Writer) (int, error) {
	var to, schedule, wide string
	rest, err := parse("export", args, text("-o", &to), text("--schedule", &schedule), text("--width", &wide))
	if err != nil {
		return bad, err
	}
	if to == "" && len(rest) == 2 {
		return bad, usage("export: where to write stands after -o: -o %s", rest[1])
	}
	path, err := one("export", "the plan", rest)
	switch {
	case err != nil:
		return bad, err
	case to == "":
		return bad, usage("export: -o FILE is missing: where to write; its name must end in one of %s", strings.Join(export.Formats, " "))
	}
	format, err := export.Format(to)
	switch {
	case err != nil:
		return bad, usage("export: -o %s %v", to, err)
	case schedule != "" && format != ".csv":
		return bad, usage("export: --schedule is for a file that ends in .csv")
	case schedule != "" && !slices.Contains(export.Schedules(), schedule):
		return bad, usage("export: --schedule %s is not one of %s", schedule, strings.Join(export.Schedules(), ", "))
	}
	width := 0
	if wide != "" {
		if format != ".png" {
			return bad, usage("export: --width is for a file that ends in .png")
		}
		if width, err = whole("export", "--width", wide, export.LeastWidth, export.MostWidth); err != nil {
			return bad, err
		}
	}
	r, err := analyse(path, notes)
	if err != nil {
		return bad, err
	}
	if err := planfile.NotItsOwn(to, path, r.Plan); err != nil {
		return bad, fmt.Errorf("%s: not written: %w", to, err)
	}
	in := export.Input{Result: r, GeoPackage: gdal.GeoPackage, Schedule: schedule, Width: width}
	if bm := r.Plan.Settings.BaseMap; bm != nil && export.WithPicture(format) {
		loaded, err := imagery.Load(context.Background(), filepath.Dir(path), *bm, r.Scene.Grid, 0)
		if err != nil {
			fmt.Fprintf(notes, "pleach: %s: written without its picture\n", printable(err.Error()))
		} else {
			in.Picture = loaded.Picture
		}
	}
	data, err := export.Encode(format, in)
	if err != nil {
		return bad, fmt.Errorf("%s: not written: %w", to, err)
	}
	if err := planfile.Replace(to, data); err != nil {
		return bad, fmt.Errorf("%s: not written: %w", to, err)
	}
	_, err = fmt.Fprintf(out, "%s: written\n", to)
	return done, err
}
