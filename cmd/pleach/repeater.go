package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/siting"
)

var repeaterCommand = command{
	name:    "repeater",
	args:    "PLAN [--height M] [--most N] [--thin] [--survive or --second] [--json] [-o NEW]",
	summary: "finds places for repeaters that mend sensors without a route",
	help: `A place mends a sensor when its best route then has the required margin on every
link. The place that mends most sensors is proposed first, of these the one whose
weakest route has most to spare; then a place for a second repeater, and so on. A post
or wall that is there is taken where its weakest route is at most 3 dB weaker than that
of the best new post. Without -o nothing is written.

  --height M  metres of the antenna above the ground; 4 unless stated. Where no place
              helps, what a taller antenna would do is told, up to 12 m
  --most N    repeaters proposed at most, 1 to 8; 3 unless stated
  --thin      routes that have less than 3 dB above the required margin count too
  --survive   then for sensors that are cut off when one repeater, or one of several
              receivers, fails
  --second    then for sensors without a second route that passes none of the
              repeaters of the first
  --json      the same for programs
  -o NEW      writes the plan with the repeaters to NEW; where NEW is PLAN itself the
              version before is kept as PLAN.bak`,
	run: runRepeater,
}

func runRepeater(args []string, out, notes io.Writer) (int, error) {
	var height, most, to string
	var thin, survive, second, asJSON bool
	rest, err := parse("repeater", args, text("--height", &height), text("--most", &most), toggle("--thin", &thin), toggle("--survive", &survive),
		toggle("--second", &second), toggle("--json", &asJSON), text("-o", &to))
	if err != nil {
		return bad, err
	}
	path, err := one("repeater", "the plan", rest)
	if err != nil {
		return bad, err
	}
	var o siting.Options
	if height != "" {
		if o.Height, err = number("repeater", "--height", height, 0, 60, true); err != nil {
			return bad, err
		}
	}
	if most != "" {
		if o.Most, err = whole("repeater", "--most", most, 1, 8); err != nil {
			return bad, err
		}
	}
	if thin {
		o.Reserve = analysis.ThinMargin
	}
	switch {
	case survive && second:
		return bad, usage("repeater: --survive and --second: state one of them")
	case survive:
		o.Goal = analysis.Survives
	case second:
		o.Goal = analysis.SecondRoute
	}
	p, err := readPlan(path)
	if err != nil {
		return bad, err
	}
	sc, err := layScene(path, p, notes)
	if err != nil {
		return bad, err
	}
	ctx := context.Background()
	r, err := analysis.RunOn(ctx, sc, nil)
	if err != nil {
		return bad, err
	}
	found, err := siting.Find(ctx, r, o, nil)
	if err != nil {
		return bad, fmt.Errorf("%s: %w", path, err)
	}
	said := ""
	if to != "" {
		if said, err = writeEdited(path, to, p, found.Edit(), "No repeater is proposed"); err != nil {
			return bad, err
		}
	} else if len(found.Proposals) > 0 {
		said = "Nothing is written: -o NEW writes the plan with " + either(len(found.Proposals), "this repeater.", "these repeaters.")
	}
	if asJSON {
		if to != "" {
			fmt.Fprintf(notes, "pleach: %s\n", printable(said))
		}
		return done, writePlacesJSON(out, path, r, found)
	}
	return done, writePlaces(out, r.Plan, found, said)
}

// writePlaces writes what was found, for a person.
func writePlaces(w io.Writer, p *model.Plan, f *siting.Found, said string) error {
	var b bytes.Buffer
	para := func(s string) {
		for _, l := range wrapped(printable(s), 84) {
			b.WriteString(l + "\n")
		}
	}
	para(f.Head())
	for _, x := range f.Proposals {
		at := f.Result.Scene.Grid.ToLonLat(x.Place.At)
		fmt.Fprintf(&b, "\n  %s  %s\n", printable(x.ID), printable(x.Place.Words(p)))
		fmt.Fprintf(&b, "       %s; longitude %.7f, latitude %.7f\n", siting.Where(x.Place.At, 1), at[0], at[1])
		for _, s := range x.Words(f.Result) {
			for i, l := range wrapped(printable(s), 76) {
				if i > 0 {
					l = "  " + l
				}
				b.WriteString("       " + l + "\n")
			}
		}
	}
	b.WriteString("\n")
	para(f.Tail(p))
	if said != "" {
		b.WriteString(printable(said) + "\n")
	}
	_, err := w.Write(b.Bytes())
	return err
}

// The report of the search, for programs. Positions are longitude and latitude, site
// metres east and north.
type (
	jsonRoute struct {
		Route    []string `json:"route"`
		MarginDB *float64 `json:"margin_db"`
		SpareDB  *float64 `json:"spare_db"`
	}
	jsonMended struct {
		ID     string    `json:"id"`
		Before jsonRoute `json:"before"`
		After  jsonRoute `json:"after"`
	}
	jsonPlace struct {
		ID        string       `json:"id"`
		For       string       `json:"for"`
		Place     string       `json:"place"`
		On        []string     `json:"on"`
		At        [2]float64   `json:"at"`
		Site      [2]float64   `json:"site_m"`
		Antenna   float64      `json:"antenna_height_m"`
		Needed    float64      `json:"antenna_needed_m"`
		RadioOf   *string      `json:"radio_of"`
		WayOn     []string     `json:"way_on"`
		SpareDB   float64      `json:"way_on_spare_db"`
		DependsOn []string     `json:"depends_on"`
		Mends     []jsonMended `json:"mends"`
		Carries   string       `json:"carries,omitempty"`
		NewPost   *jsonInstead `json:"new_post_instead"`
	}
	jsonInstead struct {
		At     [2]float64 `json:"at"`
		Site   [2]float64 `json:"site_m"`
		MoreDB float64    `json:"more_db"`
	}
	jsonPlaces struct {
		Plan      string      `json:"plan"`
		Antenna   float64     `json:"antenna_height_m"`
		For       string      `json:"for"`
		ReserveDB float64     `json:"reserve_db"`
		Needy     []string    `json:"needy"`
		Left      []string    `json:"left"`
		AtLeast   int         `json:"at_least,omitempty"`
		Proposals []jsonPlace `json:"proposals"`
		Higher    *jsonPlace  `json:"with_a_taller_antenna"`
		Places    int         `json:"places_looked_at"`
		GridM     float64     `json:"grid_m"`
	}
)

var placeKinds = map[siting.PlaceKind]string{siting.NewPost: "new post", siting.ExistingPost: "existing post", siting.Wall: "wall"}
var goalNames = map[analysis.Goal]string{analysis.Served: "route", analysis.Survives: "survive", analysis.SecondRoute: "second"}

func writePlacesJSON(w io.Writer, path string, r *analysis.Result, f *siting.Found) error {
	at := func(p [2]float64) (lonLat [2]float64, site [2]float64) {
		q := r.Scene.Grid.ToLonLat(p)
		return [2]float64{rounded(q[0], 9), rounded(q[1], 9)}, [2]float64{rounded(p[0], 2), rounded(p[1], 2)}
	}
	route := func(x siting.Route) (out jsonRoute) {
		if x.IDs != nil {
			margin, spare := rounded(x.Margin, 2), rounded(x.Spare, 2)
			out = jsonRoute{x.IDs, &margin, &spare}
		}
		return out
	}
	place := func(x siting.Proposal) jsonPlace {
		out := jsonPlace{ID: x.ID, For: goalNames[x.Goal], Place: placeKinds[x.Place.Kind], On: listed(x.Place.On), Antenna: x.Height, Needed: x.Needed,
			WayOn: listed(x.Way), SpareDB: rounded(x.Spare, 2), DependsOn: listed(x.DependsOn), Mends: []jsonMended{}, Carries: x.Carries}
		out.At, out.Site = at(x.Place.At)
		if x.Like != "" {
			out.RadioOf = &x.Like
		}
		for _, m := range x.Mends {
			out.Mends = append(out.Mends, jsonMended{m.ID, route(m.Before), route(m.After)})
		}
		if x.Instead != nil {
			out.NewPost = &jsonInstead{MoreDB: rounded(x.Instead.More, 2)}
			out.NewPost.At, out.NewPost.Site = at(x.Instead.At)
		}
		return out
	}
	out := jsonPlaces{Plan: path, AtLeast: f.AtLeast, Antenna: f.Options.Height, For: goalNames[f.Options.Goal], ReserveDB: f.Options.Reserve, Needy: listed(f.Needy), Left: listed(f.Left),
		Proposals: []jsonPlace{}, Places: f.Places, GridM: f.Step}
	for _, x := range f.Proposals {
		out.Proposals = append(out.Proposals, place(x))
	}
	if f.Higher != nil {
		h := place(*f.Higher)
		out.Higher = &h
	}
	b, err := json.MarshalIndent(out, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// listed is a list that is written as [] where it is empty.
func listed(ids []string) []string {
	if ids == nil {
		return []string{}
	}
	return ids
}
