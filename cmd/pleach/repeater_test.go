package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pleach/gis/planfile"
	"pleach/model"
)

// farOff is a plan of which S1 is too far from the receiver, in a strip 700 m long.
const farOff = `{"type":"FeatureCollection","pleach":{"version":1,"radio":{"required_margin_db":24}},"features":[
{"type":"Feature","id":"B1","properties":{"kind":"boundary"},"geometry":{"type":"Polygon","coordinates":[[[7,50],[7.01,50],[7.01,50.001],[7,50.001],[7,50]]]}},
{"type":"Feature","id":"S1","properties":{"kind":"sensor","model":"sector-90-16","mount_height_m":3,"bearing_deg":0,"tilt_deg":2,"address":7},"geometry":{"type":"Point","coordinates":[7.0095,50.0005]}},
{"type":"Feature","id":"RX","properties":{"kind":"receiver","antenna_height_m":6},"geometry":{"type":"Point","coordinates":[7.0005,50.0005]}}]}`

func TestRepeaterListsPlacesAndWritesNothingUnlessAsked(t *testing.T) {
	path := write(t, "plan.geojson", farOff)
	said := works(t, done, "repeater", path)
	for _, want := range []string{"1 sensor lacks a route with the required margin: S1.", "  RP1  a new post\n", " of the grid's origin; longitude 7.00", "Antenna 4 m up", "Mends S1: before ", " by RP1 to RX, ",
		"Way on to RX, ", "; depends on RX.", "One repeater mends it.", "Nothing is written: -o NEW"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in\n%s", want, said)
		}
	}
	for _, l := range strings.Split(said, "\n") {
		if len(l) > 100 {
			t.Errorf("a long line: %s", l)
		}
	}
	if read(t, path) != farOff {
		t.Error("the plan was written")
	}
}

func TestThePlanThatRepeaterWritesHasNoFailingLink(t *testing.T) {
	path := write(t, "plan.geojson", farOff)
	works(t, faulty, "check", path)
	said := works(t, done, "repeater", path, "--height", "5", "-o", path)
	if !strings.Contains(said, "written; the version before is plan.geojson.bak") {
		t.Error(said)
	}
	if read(t, path+".bak") != farOff {
		t.Error("the version before is not kept")
	}
	p, err := planfile.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	rp := p.Feature("RP1")
	if rp == nil || rp.Value.(*model.Repeater).Antenna != 5 || rp.Value.(*model.Repeater).Address == nil || *rp.Value.(*model.Repeater).Address == 7 {
		t.Fatalf("repeater %+v", rp)
	}
	var report struct {
		Findings []struct {
			Rule, Severity string
		}
	}
	if err := json.Unmarshal([]byte(works(t, faulty, "check", "--json", path)), &report); err != nil {
		t.Fatal(err)
	}
	for _, f := range report.Findings {
		if f.Rule == "link" && f.Severity == "fault" {
			t.Error("a link still fails")
		}
	}
	again := works(t, done, "repeater", path, "-o", path)
	if !strings.Contains(again, "No repeater is needed: every sensor has a route with the required margin.") || !strings.Contains(again, "No repeater is proposed: "+path+" is left as it is.") {
		t.Error(again)
	}
}

func TestRepeaterAsJSON(t *testing.T) {
	path := write(t, "plan.geojson", farOff)
	var found struct {
		Needy, Left []string
		Proposals   []struct {
			ID, Place string
			At        [2]float64
			Antenna   float64  `json:"antenna_height_m"`
			Needed    float64  `json:"antenna_needed_m"`
			WayOn     []string `json:"way_on"`
			Mends     []struct {
				ID            string
				Before, After struct {
					Spare float64 `json:"spare_db"`
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(works(t, done, "repeater", path, "--json")), &found); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(found.Needy, []string{"S1"}) || found.Left == nil || len(found.Left) != 0 || len(found.Proposals) != 1 {
		t.Fatalf("%+v", found)
	}
	p := found.Proposals[0]
	if p.ID != "RP1" || p.Place != "new post" || p.Antenna != 4 || p.Needed <= 0 || p.Needed > 4 || !slices.Equal(p.WayOn, []string{"RP1", "RX"}) ||
		p.At[0] < 7 || p.At[0] > 7.01 || p.At[1] < 50 || p.At[1] > 50.001 {
		t.Errorf("%+v", p)
	}
	if len(p.Mends) != 1 || p.Mends[0].Before.Spare >= 0 || p.Mends[0].After.Spare < 0 {
		t.Errorf("%+v", p.Mends)
	}
}

func TestRepeaterRefusesWhatMakesNoSense(t *testing.T) {
	path := write(t, "plan.geojson", farOff)
	none := write(t, "none.geojson", strings.Replace(farOff, `"kind":"receiver"`, `"kind":"repeater"`, 1))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{path, "--height", "0"}, "--height 0 is not above 0 and at most 60"},
		{[]string{path, "--height", "tall"}, `--height "tall" is not a number`},
		{[]string{path, "--most", "9"}, "--most 9 is not from 1 to 8"},
		{[]string{path, "--survive", "--second"}, "state one of them"},
		{[]string{none}, "the plan has no receiver"},
		{[]string{}, "the plan is missing"},
	} {
		refused(t, c.want, append([]string{"repeater"}, c.args...)...)
	}
	if _, err := os.Stat(filepath.Join(filepath.Dir(path), "plan.geojson.bak")); err == nil {
		t.Error("something was written")
	}
}
