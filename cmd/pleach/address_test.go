package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pleach/gis/planfile"
	"pleach/model"
)

// addressed is a plan in which S1 has an address and the others none.
const addressed = `{"type":"FeatureCollection","pleach":{"version":1,"base_map":{"file":"a.png"}%s},"features":[
{"type":"Feature","id":"B1","properties":{"kind":"boundary"},"geometry":{"type":"Polygon","coordinates":[[[7,50],[7.002,50],[7.002,50.001],[7,50.001],[7,50]]]}},
{"type":"Feature","id":"S1","properties":{"kind":"sensor","model":"sector-90-16","mount_height_m":3,"bearing_deg":0,"tilt_deg":2,"address":7},"geometry":{"type":"Point","coordinates":[7.0015,50.00001]}},
{"type":"Feature","id":"S2","properties":{"kind":"sensor","model":"sector-90-16","mount_height_m":3,"bearing_deg":0,"tilt_deg":2},"geometry":{"type":"Point","coordinates":[7.001,50.00001]}},
{"type":"Feature","id":"RP1","properties":{"kind":"repeater","antenna_height_m":3},"geometry":{"type":"Point","coordinates":[7.0005,50.00001]}}]}`

func plain(more string) string { return strings.Replace(addressed, "%s", more, 1) }

// addresses are those of the plan at path, by id, -1 for none.
func addresses(t *testing.T, path string) map[string]int {
	t.Helper()
	p, err := planfile.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]int{}
	for _, f := range p.Of(model.KindSensor, model.KindRepeater) {
		out[f.ID] = -1
		if v, ok := f.Number("address"); ok {
			out[f.ID] = int(v)
		}
	}
	return out
}

func TestAddressListsAndWritesNothingUnlessAsked(t *testing.T) {
	path := write(t, "plan.geojson", plain(""))
	said := works(t, done, "address", path)
	for _, want := range []string{"Addresses 0 to 255 on 8 switches, switch 1 the highest bit", "  RP1           B1 at 35.8 m         8  00001000  new\n", "  S1            B1 at 107.5 m        7  00000111\n",
		"2 of 3 addresses are given. Nothing is written"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in\n%s", want, said)
		}
	}
	if read(t, path) != plain("") {
		t.Error("the plan was written")
	}
}

func TestAddressWritesACopyOrThePlanItselfAndKeepsTheVersionBefore(t *testing.T) {
	path := write(t, "plan.geojson", plain(""))
	folder := filepath.Dir(path)
	if err := os.WriteFile(filepath.Join(folder, "a.png"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(folder, "sub"), 0o777); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(folder, "sub", "new.geojson")
	works(t, done, "address", path, "--all", "--start", "10", "--step=5", "--reserve", "15, 20-24", "-o", other)
	if got := addresses(t, other); got["RP1"] != 10 || got["S2"] != 25 || got["S1"] != 30 {
		t.Errorf("%v", got)
	}
	if !strings.Contains(read(t, other), `"../a.png"`) {
		t.Errorf("the picture is not named from where the plan lies: %s", read(t, other))
	}
	if read(t, path) != plain("") {
		t.Error("the plan itself was written")
	}
	works(t, done, "address", "-o", path, path)
	if got := addresses(t, path); got["RP1"] != 8 || got["S2"] != 9 || got["S1"] != 7 {
		t.Errorf("%v", got)
	}
	if read(t, path+".bak") != plain("") {
		t.Error("the version before is not kept")
	}
	now := read(t, path)
	if said := works(t, done, "address", path, "-o", path); !strings.Contains(said, "No address changes") || read(t, path) != now || read(t, path+".bak") != plain("") {
		t.Errorf("a plan that does not change was written: %s", said)
	}
	refused(t, "it is a plan: choose another name", "address", path, "-o", other)
	refused(t, "base map", "address", path, "-o", filepath.Join(folder, "a.png"))
}

func TestAddressRefusesWhatTheSwitchesCannotHold(t *testing.T) {
	few := write(t, "few.geojson", plain(`,"addresses":{"switches":1}`))
	out := filepath.Join(filepath.Dir(few), "out.geojson")
	refused(t, "few.geojson: 3 need an address and 1 address is left: 1 switch can set 0 to 1", "address", few, "--all", "-o", out)
	path := write(t, "plan.geojson", plain(""))
	refused(t, "--start 70000 is not from 0 to 65535", "address", path, "--start", "70000")
	refused(t, "start 300 is not between 0 and 255", "address", path, "--start", "300")
	refused(t, `--step "x" is not a whole number`, "address", path, "--step", "x")
	refused(t, `--reserve: "5-3" is not`, "address", path, "--reserve", "5-3")
	refused(t, "the plan is missing", "address")
	if _, err := os.Stat(out); err == nil {
		t.Error("something was written")
	}
}
