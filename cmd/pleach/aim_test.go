package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// aimOf returns what aim --json prints.
func aimOf(t *testing.T, args ...string) aimJSON {
	t.Helper()
	var a aimJSON
	if err := json.Unmarshal([]byte(works(t, done, append([]string{"aim", "--json"}, args...)...)), &a); err != nil {
		t.Fatal(err)
	}
	return a
}

// with returns a copy of the compound in which text is replaced.
func with(t *testing.T, old, new string) string {
	t.Helper()
	text := read(t, compound)
	if !strings.Contains(text, old) {
		t.Fatalf("the plan does not hold %q", old)
	}
	return write(t, "plan.geojson", strings.Replace(text, old, new, 1))
}

func TestAimRefusesWhatItCannotDoInOneLine(t *testing.T) {
	for _, row := range []struct{ args, want string }{
		{"", "aim: the plan and the sensor are missing"},
		{compound, "aim: the sensor's id is missing after the plan"},
		{compound + " S1 S2", `aim: "S2" is one argument too many`},
		{compound + " S9", compound + ": there is no sensor S9: name one of S1, S2, S3"},
		{compound + " H1", compound + ": building H1 is no sensor: name one of S1, S2, S3"},
		{compound + " S1 --reach 0", "aim: --reach 0 is not above 0 and at most 500"},
		{compound + " S1 --reach 501", "aim: --reach 501 is not above 0 and at most 500"},
		{compound + " S1 --reach 1e999", "aim: --reach 1e999 is not above 0"},
		{compound + " S1 --reach NaN", "aim: --reach NaN is not above 0"},
		{compound + " S1 --reach far", `aim: --reach "far" is not a number`},
		{compound + " S1 --reach 120", compound + ": sensor S1 cannot reach 120 m at any tilt: 100.0 m is the farthest, where the range of curtain-3-100 ends"},
		{"no-such.geojson S1", "no-such.geojson"},
		{"S1 " + compound, "aim: the plan comes first, then the sensor: pleach aim " + compound + " S1"},
	} {
		t.Run(row.args, func(t *testing.T) { refused(t, row.want, append([]string{"aim"}, strings.Fields(row.args)...)...) })
	}
	t.Run("a flawed plan", func(t *testing.T) {
		refused(t, "tilt_deg 95 is not between", "aim", with(t, `"tilt_deg": 4`, `"tilt_deg": 95`), "S1")
	})
}

// Heights and tilt are those of the plan: 3.2 m up and 2 degrees down.
func TestAimSaysWhereTheAxisMeetsTheGround(t *testing.T) {
	a := aimOf(t, compound, "S1")
	want := 3.2 / math.Tan(2*math.Pi/180)
	if d := a.AsPlanned.Axis.Distance; a.AsPlanned.Axis.Meets != "ground" || d == nil || math.Abs(*d-want) > 0.001 {
		t.Errorf("%+v: want the ground at %.3f m", a.AsPlanned.Axis, want)
	}
	if b := a.AsPlanned.Axis.Boundary; b == nil || b.ID != "B1" {
		t.Errorf("boundary %+v", b)
	}
	if len(a.Tilts) != 2 || a.Tilts[0].Tilt != 1.5 || a.Tilts[1].Tilt != 2.5 || *a.Tilts[0].Axis.Distance <= *a.Tilts[1].Axis.Distance {
		t.Errorf("half a degree: %+v", a.Tilts)
	}
	text := works(t, done, "aim", compound, "S1")
	for _, want := range []string{"South fence (S1)", "91° true", "not known: the plan states no declination", "meets the ground 91.6 m away", "Compound fence (B1)",
		"dead zone", "half a degree up", "half a degree down", "Crawl"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	for _, l := range strings.Split(text, "\n") {
		if n := len([]rune(l)); n > 78 || strings.TrimRight(l, " ") != l {
			t.Errorf("%d characters: %q", n, l)
		}
	}
}

func TestAimGivesTheMagneticBearingOfTheStatedDeclination(t *testing.T) {
	plan := with(t, `"version": 1`, `"version": 1, "north": {"declination_deg": -1.5, "on": "2026-03-01"}`)
	if a := aimOf(t, plan, "S1"); a.Magnetic != 92.5 || !a.Stated || a.On != "2026-03-01" {
		t.Errorf("%v on %q", a.Magnetic, a.On)
	}
	if text := works(t, done, "aim", plan, "S1"); !strings.Contains(text, "Magnetic   92.5° (declination 1.5° west, of 2026-03-01)") {
		t.Error(text)
	}
}

// A plan with the proposed tilt has the reach, and the proposal changes nothing.
func TestTheProposedTiltWrittenIntoThePlanGivesTheReach(t *testing.T) {
	before := read(t, compound)
	a := aimOf(t, compound, "S3", "--reach", "20")
	if a.Proposed == nil || a.Wanted == nil || *a.Wanted != 20 || math.Abs(*a.Proposed.Targets[0].Far-20) > 0.1 {
		t.Fatalf("%+v", a.Proposed)
	}
	if read(t, compound) != before {
		t.Error("aim changed the plan")
	}
	if tenths := a.Setting.Tilt * 10; math.Abs(tenths-math.Round(tenths)) > 1e-9 || math.Abs(a.Setting.Tilt-a.Proposed.Tilt) > 0.1 {
		t.Errorf("the setting is %v for a tilt of %v", a.Setting.Tilt, a.Proposed.Tilt)
	}
	tilt, err := json.Marshal(a.Proposed.Tilt)
	if err != nil {
		t.Fatal(err)
	}
	again := aimOf(t, with(t, `"tilt_deg": 4`, `"tilt_deg": `+string(tilt)), "S3")
	if far := *again.AsPlanned.Targets[0].Far; math.Abs(far-20) > 0.1 {
		t.Errorf("the plan tilted so reaches %v m", far)
	}
	text := strings.Join(strings.Fields(works(t, done, "aim", compound, "S3", "--reach=20")), " ")
	if !strings.Contains(text, "For a reach of 20 m: tilt "+angle(a.Setting.Tilt)+"° down in place of 4° down. The far edge then lies at "+fmt.Sprintf("%.1f m.", *a.Setting.Targets[0].Far)) {
		t.Error(text)
	}
}

func TestAimOfASensorOnAWallNamesTheWall(t *testing.T) {
	text := read(t, compound)
	var plan map[string]any
	if err := json.Unmarshal([]byte(text), &plan); err != nil {
		t.Fatal(err)
	}
	features := plan["features"].([]any)
	var at any
	for _, f := range features {
		if f := f.(map[string]any); f["id"] == "H1" {
			at = f["geometry"].(map[string]any)["coordinates"].([]any)[0].([]any)[0]
		}
	}
	plan["features"] = append(features, map[string]any{"type": "Feature", "id": "S9", "geometry": map[string]any{"type": "Point", "coordinates": at},
		"properties": map[string]any{"kind": "sensor", "model": "curtain-3-100", "mount_height_m": 3, "bearing_deg": 225, "tilt_deg": 0, "name": "On\tthe store"}})
	out, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	path := write(t, "wall.geojson", "")
	if err := os.WriteFile(path, out, 0o666); err != nil {
		t.Fatal(err)
	}
	if a := aimOf(t, path, "S9"); a.FixedTo != "H1" || a.AsPlanned.Axis.Meets != "nothing" || a.AsPlanned.Axis.Distance != nil {
		t.Errorf("fixed to %q, axis %+v", a.FixedTo, a.AsPlanned.Axis)
	}
	words := works(t, done, "aim", path, "S9")
	if !strings.Contains(words, "on the wall of Store (H1)") || !strings.Contains(words, "does not come down to the ground") || strings.Contains(words, "\t") {
		t.Error(words)
	}
}
