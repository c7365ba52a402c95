package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A plane that rises by 5 % to the east brings the far ground of beam A of the
// handbook's worked examples (detection 3.3: mount 3 m, limits 1 and 8 degrees
// down, a vanishing target) from 171.87 m to 44.474 m, looking east.
func TestOutsideCheckTakesTheGroundFromThePlansTerrain(t *testing.T) {
	dir := t.TempDir()
	// Longitude 9, latitude 50 lies at 500000, 5538630.703 in EPSG:32632 (PROJ).
	const n, cell = 240, 5.0
	west, south := 500000-n/2*cell, 5538630.703-n/2*cell
	var asc strings.Builder
	fmt.Fprintf(&asc, "ncols %d\nnrows %d\nxllcorner %.3f\nyllcorner %.3f\ncellsize %g\nNODATA_value -9999\n", n, n, west, south, cell)
	for range n {
		for j := range n {
			fmt.Fprintf(&asc, "%.4f ", 0.05*(west+(float64(j)+0.5)*cell-500000))
		}
		asc.WriteString("\n")
	}
	if err := os.WriteFile(filepath.Join(dir, "plane.asc"), []byte(asc.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	far := func(terrain string) float64 {
		plan := fmt.Sprintf(`{"type":"FeatureCollection","pleach":{"version":1,%s"target":{"height_m":0.01,"min_visible":0.5},
"models":[{"id":"A","lobes":[{"azimuth_deg":0,"width_deg":4,"up_deg":-1,"down_deg":8,"range_m":400}]}]},
"features":[{"type":"Feature","id":"S1","properties":{"kind":"sensor","model":"A","mount_height_m":3,"bearing_deg":90,"tilt_deg":0},
"geometry":{"type":"Point","coordinates":[9,50]}}]}`, terrain)
		path := filepath.Join(dir, "plan.geojson")
		if err := os.WriteFile(path, []byte(plan), 0o644); err != nil {
			t.Fatal(err)
		}
		var out, said bytes.Buffer
		if code := run([]string{"check", path, "--json"}, strings.NewReader(""), &out, &said); code != 1 {
			t.Fatalf("exit %d: %s", code, said.String())
		}
		var r struct{ Sensors []struct{ Far_m float64 } }
		if err := json.Unmarshal(out.Bytes(), &r); err != nil {
			t.Fatal(err)
		}
		return r.Sensors[0].Far_m
	}
	for _, c := range []struct {
		name, terrain string
		want, tol     float64
	}{
		{"level", "", 171.87, 0.5},
		{"5 % up", `"terrain":{"file":"plane.asc","crs":"EPSG:32632"},`, 44.474, 0.2},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := far(c.terrain); math.Abs(got-c.want) > c.tol {
				t.Errorf("far ground at %v m, want %v (tolerance %v; handbook of check values, detection 3.3 and O23, O25, computed)", got, c.want, c.tol)
			}
		})
	}
}

func TestATerrainThatCannotBeReadIsBadInput(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plan.geojson")
	if err := os.WriteFile(path, []byte(`{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":"gone.tif"}},"features":[]}`), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, said bytes.Buffer
	if code := run([]string{"check", path}, strings.NewReader(""), &out, &said); code != 2 || !strings.Contains(said.String(), "gone.tif") || out.Len() > 0 {
		t.Errorf("exit %d, said %q, wrote %d bytes", code, said.String(), out.Len())
	}
}
