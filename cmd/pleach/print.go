package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model/compare"
	"pleach/model/order"
	"pleach/ui/paper"
)

var printCommand = command{
	name:    "print",
	args:    "PLAN -o FILE.pdf [--sheets LIST] [--scale N] [--tile] [--paper A4 or A3] [--before OLD] [--prices FILE.csv] [--mono]",
	summary: "the drawing, true to scale, as PDF",
	help: `  -o FILE.pdf    where to
  --sheets LIST  which sheets, by name with commas between, in place of the layout
                 alone: ` + strings.Join(paper.Sheets(), " ") + `
  --scale N      1:N in place of the largest usual scale that fits
  --tile         the layout on as many sheets as the scale needs, with a key plan;
                 without --scale 1:500, or the largest usual scale for 24 sheets
  --paper A3     A3 or A4 in place of the one that suits
  --before OLD   the plan as it was: clouds round what changed since, and a list of it
  --prices FILE.csv  what items cost, on the bill alone: a table with the headings code
                 and price, such as the exported schedule bill with a column price
  --mono         for a printer without colour`,
	run: runPrint,
}

func runPrint(args []string, out, notes io.Writer) (int, error) {
	var to, list, scale, format, before, prices string
	var opt paper.Options
	rest, err := parse("print", args, text("-o", &to), text("--sheets", &list), text("--scale", &scale), text("--paper", &format), text("--before", &before), text("--prices", &prices), toggle("--mono", &opt.Mono), toggle("--tile", &opt.Tile))
	if err != nil {
		return bad, err
	}
	if to == "" && len(rest) == 2 {
		return bad, usage("print: where to write stands after -o: -o %s", rest[1])
	}
	path, err := one("print", "the plan", rest)
	switch {
	case err != nil:
		return bad, err
	case to == "":
		return bad, usage("print: -o FILE.pdf is missing: where to write the drawing")
	case !strings.EqualFold(filepath.Ext(to), ".pdf"):
		return bad, usage("print: -o %s must end in .pdf", to)
	}
	if opt.Sheets, err = paper.ParseSheets(list); err != nil {
		return bad, usage("print: --sheets %v", err)
	}
	if scale != "" {
		if opt.Scale, err = strconv.Atoi(strings.TrimPrefix(scale, "1:")); err != nil || opt.Scale <= 0 {
			return bad, usage("print: --scale %s is not a whole number above 0: 500 means 1:500", scale)
		}
	}
	if opt.Paper, err = paper.ParseFormat(format); err != nil {
		return bad, usage("print: --paper: %v", err)
	}
	var priced *order.Prices
	if prices != "" {
		if !slices.Contains(opt.Sheets, "bill") {
			return bad, usage("print: --prices goes on the bill alone: add it with --sheets bill")
		}
		p, err := planfile.ReadTable(prices, "table of prices", order.MaxBytes, order.ReadPrices)
		if err != nil {
			return bad, err
		}
		priced = &p
	}
	r, err := analyse(path, notes)
	if err != nil {
		return bad, err
	}
	in := paper.Input{Plan: r.Plan, Scene: r.Scene, Result: r, Prices: priced, PricesFrom: filepath.Base(prices)}
	if before != "" {
		if in.Before, err = analyse(before, notes); err != nil {
			return bad, err
		}
		if err := compare.SameSite(in.Before, r); err != nil {
			return bad, fmt.Errorf("--before %s: %w", before, err)
		}
	}
	if bm := r.Plan.Settings.BaseMap; bm != nil {
		loaded, err := imagery.Load(context.Background(), filepath.Dir(path), *bm, r.Scene.Grid, 0)
		if err != nil {
			fmt.Fprintf(notes, "pleach: %s: printed without its picture\n", printable(err.Error()))
		} else {
			in.Picture, in.Original = loaded.Picture, loaded.Original()
		}
	}
	if tf := r.Plan.Settings.Terrain; tf != nil {
		in.HeightsUnit = elevation.UnitWords(filepath.Dir(path), *tf)
	}
	stated := r.Plan.Settings.NationalGrid
	if g, err := gdal.OpenNationalGrid(stated, orb.Point{r.Scene.Grid.Lon0, r.Scene.Grid.Lat0}); err == nil {
		in.National = g
	} else if stated != "" {
		return bad, fmt.Errorf("%s: national_grid.crs: %w", path, err)
	}
	var pdf bytes.Buffer
	info, err := paper.Print(&pdf, in, opt)
	if err != nil {
		return bad, fmt.Errorf("%s: %w", path, err)
	}
	if err := planfile.Replace(to, pdf.Bytes()); err != nil {
		return bad, fmt.Errorf("%s: not written: %w", to, err)
	}
	_, err = fmt.Fprintf(out, "%s: %s\n", to, info.Words())
	return done, err
}
