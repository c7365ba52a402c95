package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/testdata/site"
)

// A yard fenced all round by what nobody passes but for one opening, and watched
// all round but for one known hole, which lies behind the opening or does not.
func fenced(t *testing.T, opening float64, response bool) string {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 112, 56)}, model.Prop("name", "Fence"))
	s.Add(model.KindAsset, "A1", orb.Polygon{site.Box(50, 24, 62, 32)}, model.Prop("name", "Pump"))
	s.Add(model.KindObstacle, "O1", orb.LineString{{opening + 1, 0}, {112, 0}, {112, 56}, {0, 56}, {0, 0}, {opening - 1, 0}},
		model.Prop("height_m", 2.4), model.Prop("see_through", true), model.Prop("impassable", true))
	s.Add(model.KindObstacle, "O2", orb.LineString{{20, 16}, {92, 16}, {92, 40}, {20, 40}, {20, 16}}, model.Prop("height_m", 1), model.Prop("see_through", true), model.Prop("delay_s", 40))
	s.Set("models", []any{map[string]any{"id": "disc", "lobes": []any{map[string]any{"width_deg": 360, "up_deg": 20, "down_deg": 89, "range_m": 10}}}})
	if response {
		s.Set("response", map[string]any{"time_s": 60, "sd_share": 0, "communication": 1, "speed_m_s": 2, "task_s": 30})
	}
	for k := range 8 {
		x := 7 + 14*float64(k)
		if k != 2 { // the hole, round x = 35
			s.Sensor("S"+string(rune('0'+k)), orb.Point{x, 7}, "disc", 3, 0, 0)
		}
		s.Sensor("N"+string(rune('0'+k)), orb.Point{x, 49}, "disc", 3, 0, 0)
	}
	for k := range 2 {
		y := 21 + 14*float64(k)
		s.Sensor("W"+string(rune('0'+k)), orb.Point{7, y}, "disc", 3, 0, 0)
		s.Sensor("E"+string(rune('0'+k)), orb.Point{105, y}, "disc", 3, 0, 0)
	}
	path := t.TempDir() + "/fenced.geojson"
	if err := planfile.Write(path, s.Plan(t)); err != nil {
		t.Fatal(err)
	}
	return path
}

type wayReport struct {
	Settings map[string]any `json:"settings"`
	Ways     []struct {
		Asset               string
		Reached, Undetected bool
		Route               struct {
			Type        string
			Coordinates []orb.Point
		}
		Length    float64 `json:"length_m"`
		Cost      float64
		Detection float64
		Passes    []struct {
			Sensor   string
			From, To float64
		}
		Crossings []struct {
			Boundary string
			Chainage float64 `json:"chainage_m"`
			Inward   bool
		}
		Delays []struct {
			Obstacle string
			Seconds  float64 `json:"delay_s"`
		}
		Narrow *struct {
			Width   float64 `json:"width_m"`
			Between []string
		}
		Response *struct {
			Interruption float64
			Remains      float64 `json:"remains_s"`
			Critical     *struct {
				Sensors string
				Timely  float64
			}
		}
	}
	RestOn struct {
		Probability              float64
		Width                    float64 `json:"width_m"`
		Independence, Assumption string
	} `json:"ways_rest_on"`
	Findings []struct{ Rule, Severity, Text string }
}

func waysOf(t *testing.T, path string) (r wayReport) {
	t.Helper()
	_, out, errs := pleach("check", path, "--json")
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatalf("%v\n%s", err, errs)
	}
	if len(r.Ways) != 1 {
		t.Fatalf("%d ways", len(r.Ways))
	}
	return r
}

func textOf(r wayReport, rule string) (severity, text string) {
	for _, f := range r.Findings {
		if f.Rule == rule {
			return f.Severity, f.Text
		}
	}
	return "", ""
}

func TestTheOneHoleOfAFencedSiteIsReportedAsTheWayIn(t *testing.T) {
	r := waysOf(t, fenced(t, 35, false))
	w := r.Ways[0]
	if w.Asset != "A1" || !w.Reached || !w.Undetected || w.Cost != 0 || len(w.Passes) != 0 || w.Response != nil {
		t.Errorf("%+v", w)
	}
	if len(w.Crossings) != 1 || w.Crossings[0].Boundary != "B1" || math.Abs(w.Crossings[0].Chainage-35) > 1 || !w.Crossings[0].Inward {
		t.Errorf("crossings %+v", w.Crossings)
	}
	if w.Narrow == nil || math.Abs(w.Narrow.Width-2) > 0.05 || len(w.Delays) != 1 || w.Delays[0].Obstacle != "O2" || w.Delays[0].Seconds != 40 {
		t.Errorf("narrow %+v, delays %+v", w.Narrow, w.Delays)
	}
	if w.Route.Type != "LineString" || len(w.Route.Coordinates) < 2 {
		t.Errorf("route %+v", w.Route)
	}
	if sev, text := textOf(r, "way-in"); sev != "warning" || !strings.Contains(text, "over Fence (B1) at 3") || !strings.Contains(text, "opening of 2.0 m in O1") || !strings.Contains(text, "in gap ") {
		t.Errorf("%s: %q", sev, text)
	}
	if r.RestOn.Probability != 0.9 || r.RestOn.Width != 10 || !strings.Contains(r.RestOn.Independence, "independently") || !strings.Contains(r.RestOn.Assumption, "chosen") {
		t.Errorf("%+v", r.RestOn)
	}
	_, text, _ := pleach("check", fenced(t, 35, false))
	for _, want := range []string{"\nWays in\n", "To A1 Pump", "crossing no footprint", "over Fence (B1) at 3", "Assumed, chosen, and established by nothing here"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text does not say %q:\n%s", want, text)
		}
	}
}

func TestAnOpeningBehindWhichASensorLooksIsNoWayInUnseen(t *testing.T) {
	r := waysOf(t, fenced(t, 63, true))
	w := r.Ways[0]
	if !w.Reached || w.Undetected || w.Cost <= 0 || w.Detection <= 0 || w.Detection >= 1 || len(w.Passes) == 0 {
		t.Fatalf("%+v", w)
	}
	if got := math.Round(100*w.Detection) / 100; got != w.Detection || math.Abs(w.Detection-(1-math.Exp(-w.Cost))) > 0.005 {
		t.Errorf("figure %v of cost %v: want two digits", w.Detection, w.Cost)
	}
	if sev, text := textOf(r, "way-in"); sev != "note" || !strings.Contains(text, "not established") {
		t.Errorf("%s: %q", sev, text)
	}
	// 40 s at the inner fence and 30 s of work: 60 s of response always suffice.
	if w.Response == nil || w.Response.Critical == nil || math.Abs(w.Response.Interruption-(1-math.Exp(-w.Cost))) > 1e-4 || w.Response.Remains < 70 {
		t.Errorf("%+v", w.Response)
	}
	if _, text := textOf(r, "late"); text != "" {
		t.Error(text)
	}
}

func TestAPlanWithoutAnAssetSaysNothingOfWaysIn(t *testing.T) {
	path := write(t, "p.geojson", `{"type":"FeatureCollection","pleach":{"version":1},"features":[
{"type":"Feature","id":"B1","properties":{"kind":"boundary"},"geometry":{"type":"LineString","coordinates":[[7,50],[7.001,50]]}}]}`)
	_, text, _ := pleach("check", path)
	_, js, _ := pleach("check", path, "--json")
	if strings.Contains(text, "Ways in") || strings.Contains(text, "Response time") || strings.Contains(js, `"ways"`) {
		t.Errorf("%s\n%s", text, js)
	}
}
