// Package demo_test holds the demo's files together: plan, picture, world file.
package demo_test

import (
	"context"
	"encoding/json"
	"image/jpeg"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
)

type feature struct {
	ID         string
	Properties map[string]any
	Geometry   struct {
		Type        string
		Coordinates json.RawMessage
	}
}

func plan(t *testing.T) (features []feature, top map[string]any) {
	t.Helper()
	b, err := os.ReadFile("demo.geojson")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Type     string
		Pleach   map[string]any
		Features []feature
	}
	if err := json.Unmarshal(b, &doc); err != nil {
		t.Fatalf("demo.geojson: %v", err)
	}
	if doc.Type != "FeatureCollection" || doc.Pleach["version"] != 1.0 {
		t.Fatalf("demo.geojson: type %q, pleach version %v; want FeatureCollection, 1", doc.Type, doc.Pleach["version"])
	}
	return doc.Features, doc.Pleach
}

// world reads the world file: pixel size and the middle of the upper left pixel.
func world(t *testing.T) (w [6]float64) {
	t.Helper()
	b, err := os.ReadFile("aerial.jgw")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Fields(string(b))
	if len(lines) != 6 {
		t.Fatalf("aerial.jgw: %d lines, want 6", len(lines))
	}
	for i, s := range lines {
		if w[i], err = strconv.ParseFloat(s, 64); err != nil {
			t.Fatalf("aerial.jgw line %d: %v", i+1, err)
		}
	}
	return w
}

func TestTheDemoPlanHasEveryKindItPromisesUnderUniqueIDs(t *testing.T) {
	features, top := plan(t)
	count := map[string]int{}
	seen := map[string]bool{}
	address := map[float64]string{}
	for _, f := range features {
		if f.ID == "" || seen[f.ID] {
			t.Errorf("feature id %q is empty or used twice", f.ID)
		}
		seen[f.ID] = true
		kind, _ := f.Properties["kind"].(string)
		count[kind]++
		if a, ok := f.Properties["address"].(float64); ok {
			if other := address[a]; other != "" {
				t.Errorf("address %v is used by %s and %s", a, other, f.ID)
			}
			address[a] = f.ID
		}
	}
	for kind, least := range map[string]int{"boundary": 1, "excluded": 1, "premises": 1, "gate": 1, "asset": 1, "road": 2, "footpath": 1,
		"neighbour": 1, "building": 6, "foliage": 2, "obstacle": 2, "hazard": 1, "sensor": 12, "repeater": 1, "receiver": 1} {
		if count[kind] < least {
			t.Errorf("%d features of kind %s, want at least %d", count[kind], kind, least)
		}
	}
	if n := count["sensor"]; n > 20 {
		t.Errorf("%d sensors, want at most 20", n)
	}
	base, _ := top["base_map"].(map[string]any)
	if base["file"] != "aerial.jpg" || base["crs"] != "EPSG:32630" {
		t.Errorf("base_map is %v, want aerial.jpg on EPSG:32630", base)
	}
}

func TestTheDemoPictureIsSmallAndCoversTheBoundary(t *testing.T) {
	f, err := os.Open("aerial.jpg")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if info, err := f.Stat(); err != nil || info.Size() >= 2_000_000 {
		t.Errorf("aerial.jpg: %v bytes (%v), want under 2 000 000", info.Size(), err)
	}
	img, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	size := img.Bounds().Size()
	w := world(t)
	if w[0] <= 0 || w[3] != -w[0] || w[1] != 0 || w[2] != 0 {
		t.Fatalf("aerial.jgw %v: want square pixels, north up", w)
	}
	features, _ := plan(t)
	for _, b := range features {
		if b.Properties["kind"] != "boundary" {
			continue
		}
		var rings [][][2]float64
		if err := json.Unmarshal(b.Geometry.Coordinates, &rings); err != nil {
			t.Fatal(err)
		}
		for _, p := range rings[0] {
			e, n := utm30(p[0], p[1])
			col, row := (e-w[4])/w[0], (n-w[5])/w[3]
			const margin = 200 // pixels: the picture must show the surroundings too
			if col < margin || row < margin || col > float64(size.X)-margin || row > float64(size.Y)-margin {
				t.Errorf("boundary vertex %v lies at column %.0f, row %.0f of %v", p, col, row, size)
			}
		}
	}
}

// The demo is there to show what the program finds: one of each, and little else.
func TestTheDemoShowsOneGapOneOverspillAndOneWeakLink(t *testing.T) {
	p, err := planfile.Read("demo.geojson")
	if err != nil {
		t.Fatal(err)
	}
	for _, flaw := range p.AllFlaws() {
		t.Error(flaw)
	}
	r, err := analysis.RunOn(context.Background(), scene.New(p), nil)
	if err != nil {
		t.Fatal(err)
	}
	faults, warnings := map[string]int{}, 0
	for _, f := range r.Findings {
		switch f.Severity {
		case model.Fault:
			faults[f.Rule]++
		case model.Warning:
			warnings++
		}
	}
	if faults["gap"] != 1 || faults["overspill"] != 1 || faults["link"] != 1 || len(faults) != 3 || warnings > 12 {
		for _, f := range r.Findings {
			t.Logf("%s %s: %s", f.Severity, f.Rule, f.Text)
		}
		t.Errorf("faults %v and %d warnings; want one gap, one overspill, one link, and at most 12 warnings", faults, warnings)
	}
}

// utm30 is the textbook series of the transverse Mercator projection (Snyder,
// "Map projections: a working manual", USGS Professional Paper 1395, section 8),
// apart from the generator's own. From memory; it agrees with PROJ 9.1.1 to the
// millimetre here (generate/geodesy_test.go has the values).
func utm30(lon, lat float64) (e, n float64) {
	const (
		a, f = 6378137.0, 1 / 298.257223563
		e2   = f * (2 - f)
		ep2  = e2 / (1 - e2)
		rad  = math.Pi / 180
	)
	phi := lat * rad
	s, c := math.Sincos(phi)
	v := a / math.Sqrt(1-e2*s*s)
	t, cc := math.Tan(phi)*math.Tan(phi), ep2*c*c
	x := (lon + 3) * rad * c
	m := a * ((1-e2/4-3*e2*e2/64-5*e2*e2*e2/256)*phi - (3*e2/8+3*e2*e2/32+45*e2*e2*e2/1024)*math.Sin(2*phi) +
		(15*e2*e2/256+45*e2*e2*e2/1024)*math.Sin(4*phi) - 35*e2*e2*e2/3072*math.Sin(6*phi))
	e = 500000 + 0.9996*v*(x+(1-t+cc)*math.Pow(x, 3)/6+(5-18*t+t*t+72*cc-58*ep2)*math.Pow(x, 5)/120)
	n = 0.9996 * (m + v*math.Tan(phi)*(x*x/2+(5-t+9*cc+4*cc*cc)*math.Pow(x, 4)/24+(61-58*t+t*t+600*cc-330*ep2)*math.Pow(x, 6)/720))
	return e, n
}
