package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pleach/testdata/opendata"
)

// linkJSON returns the members of what link prints.
func linkJSON(t *testing.T, args ...string) map[string]any {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal([]byte(works(t, done, append([]string{"link", "--json"}, args...)...)), &m); err != nil {
		t.Fatal(err)
	}
	return m
}

func number64(t *testing.T, m map[string]any, name string) float64 {
	t.Helper()
	v, ok := m[name].(float64)
	if !ok {
		t.Fatalf("%s is %v, not a number", name, m[name])
	}
	return v
}

const profile = "d_km,h_m,g_m\n0,10,10\n0.2,11,11\n0.25,11,19\n0.3,11,11\n0.5,12,12\n"

func TestABadProfileIsRefusedInOneLine(t *testing.T) {
	for _, row := range []struct{ name, text, want string }{
		{"empty", "", "is empty"},
		{"white space", " \n ", "is empty"},
		{"no columns", "0,1,1\n1,1,1\n", `line 1: "0,1,1" has no column d_km: the first line must be d_km,h_m,g_m`},
		{"another column", "d_km,h_m,x\n0,1,1\n1,1,1\n", "has no column g_m"},
		{"a column twice", "d_km,h_m,g_m,h_m\n0,1,1,1\n1,1,1,1\n", "the column h_m stands twice"},
		{"semicolons", "d_km;h_m;g_m\n0;1;1\n", "values are separated by semicolons: separate them by commas"},
		{"one row", "d_km,h_m,g_m\n0,1,1\n", "has 1 row of heights: a profile needs at least 2"},
		{"no row", "d_km,h_m,g_m\n", "has no row of heights"},
		{"tabs", "d_km\th_m\tg_m\n0\t1\t1\n", "values are separated by tabs"},
		{"another encoding", "\xff\xfed\x00_\x00k\x00m\x00", "is not text in UTF-8"},
		{"a mark alone", "d_km,h_m,g_m\n0,1,1\n1,1,\"1\n", "line 3: a quotation mark stands alone"},
		{"decimals with commas", "d_km,h_m,g_m\n0,0,1,5,1,5\n1,1,1\n", "line 2: has 6 values, and the first line names 3 columns: separate values by commas and write decimals with a point"},
		{"decimals with commas in quotes", "d_km,h_m,g_m\n0,\"1,5\",2\n1,1,1\n", `line 2: h_m "1,5" is not a number: write a finite one, with a decimal point`},
		{"a value missing", "d_km,h_m,g_m\n0,1\n1,1,1\n", "line 2: has 2 values"},
		{"an empty value", "d_km,h_m,g_m\n0,,1\n1,1,1\n", `line 2: h_m "" is not a number`},
		{"not a number", "d_km,h_m,g_m\n0,1,1\n1,NaN,1\n", "line 3: h_m NaN is not a finite number"},
		{"infinite", "d_km,h_m,g_m\n0,1,1\n1,1,Inf\n", "line 3: g_m Inf is not a finite number"},
		{"too large for a number", "d_km,h_m,g_m\n0,1,1\n1e999,1,1\n", "line 3: d_km 1e999 is not a finite number"},
		{"not from 0", "d_km,h_m,g_m\n0.1,1,1\n1,1,1\n", "line 2: d_km 0.1 is not 0: the first row stands at the first antenna"},
		{"unsorted", "d_km,h_m,g_m\n0,1,1\n1,1,1\n0.5,1,1\n", "line 4: d_km 0.5 is less than the 1 before it: distances must rise"},
		{"a distance twice", "d_km,h_m,g_m\n0,1,1\n1,1,1\n1,1,2\n", "line 4: d_km 1 stands twice: every distance stands once"},
		{"obstacles below the ground", "d_km,h_m,g_m\n0,1,1\n1,5,4\n", "line 3: g_m 4 is below h_m 5"},
		{"higher than anything", "d_km,h_m,g_m\n0,1,1\n1,1e9,1e9\n", "height 1e+09 m is not between"},
		{"a quote left open", "d_km,h_m,g_m\n0,\"1,1\n1,1,1\n", "line "},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := write(t, "p.csv", row.text)
			refused(t, row.want, "link", path, "--mhz", "868", "--from", "3", "--to", "4")
		})
	}
	refused(t, "no such file", "link", "none.csv", "--mhz", "868", "--from", "3", "--to", "4")
}

func TestFiguresOfALinkOutOfRangeAreRefused(t *testing.T) {
	path := write(t, "p.csv", profile)
	for _, row := range []struct{ args, want string }{
		{"--mhz 29 --from 3 --to 4", "--mhz 29 is not between 30 and 6000"},
		{"--mhz 868,3 --from 3 --to 4", `--mhz "868,3" is not a number`},
		{"--mhz NaN --from 3 --to 4", "--mhz NaN is not between 30 and 6000"},
		{"--mhz 868 --from 0 --to 4", "--from 0 is not above 0 and at most 3000"},
		{"--mhz 868 --from -3 --to 4", "--from -3 is not above 0"},
		{"--mhz 868 --from 3 --to 3001", "--to 3001 is not above 0 and at most 3000"},
		{"--mhz 868 --from 3 --to 1e999", "--to 1e999 is not"},
		{"--mhz 868 --from 3 --to 4 --pol X", "--pol X is not V or H"},
		{"--mhz 868 --from 3 --to 4 --radius-km 0", "--radius-km 0 is not above 0"},
		{"--mhz 868 --from 3 --to 4 --sea-fraction 1.5", "--sea-fraction 1.5 is not between 0 and 1"},
		{"--from 3 --to 4", "--mhz is missing"},
		{"--mhz 868 --to 4", "--from is missing"},
		{"--mhz 868 --from 3", "--to is missing"},
		{"--mhz 868 --from 3 --to 4 --profile x.csv", "--profile is for a plan"},
	} {
		refused(t, row.want, append([]string{"link", path}, strings.Fields(row.args)...)...)
	}
}

func TestColumnsOfAProfileMayStandInAnyOrder(t *testing.T) {
	turned := "\xef\xbb\xbfnote,g_m, d_km,h_m\r\nfirst,10,0,10\r\n,11,0.2,11\r\n,19,0.25,11\r\n,11,0.3,11\r\n\"a, b\",12,0.5,12\r\n"
	args := []string{"--mhz", "868.3", "--from", "3", "--to", "6"}
	a := works(t, done, append([]string{"link", write(t, "a.csv", profile)}, args...)...)
	b := works(t, done, append([]string{"link", write(t, "b.csv", turned)}, args...)...)
	if a != b {
		t.Errorf("%s\n%s", a, b)
	}
}

// The rows were computed by other programs: see the source column of each file.
func TestOutsideLinkAgreesWithPublishedDiffractionLosses(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "checks", "radio")
	tables, err := filepath.Glob(filepath.Join(dir, "delta_bullington_*.csv"))
	if err != nil || len(tables) == 0 {
		t.Fatal("no tables: ", err)
	}
	for _, table := range tables {
		f, err := os.Open(table)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]int{}
		for i, name := range rows[0] {
			at[name] = i
		}
		for _, row := range rows[1:] {
			cell := func(name string) string { return row[at[name]] }
			t.Run(cell("case_id"), func(t *testing.T) {
				ghz, err := strconv.ParseFloat(cell("f_ghz"), 64)
				if err != nil {
					t.Fatal(err)
				}
				args := []string{filepath.Join(dir, "profiles", cell("profile")+".csv"), "--mhz", strconv.FormatFloat(ghz*1000, 'g', -1, 64),
					"--from", cell("htg_m"), "--to", cell("hrg_m"), "--pol", cell("pol"), "--radius-km", cell("ae_km"), "--sea-fraction", cell("sea_fraction")}
				if ghz > 6 {
					refused(t, "--mhz", append([]string{"link"}, args...)...) // the contract ends at 6000 MHz
					return
				}
				m := linkJSON(t, args...)
				for column, member := range map[string]string{"Lbulla_db": "bullington_db", "Lbulls_db": "bullington_smooth_db", "Ldsph_db": "spherical_db", "Ld_db": "diffraction_db"} {
					if cell(column) == "" {
						continue
					}
					want, err := strconv.ParseFloat(cell(column), 64)
					if err != nil {
						t.Fatal(err)
					}
					if got := number64(t, m, member); math.Abs(got-want) > 0.001 {
						t.Errorf("%s %.6f, want %.6f within 0.001; source: %s", member, got, want, cell("source"))
					}
				}
			})
		}
	}
}

// alike compares two values read from JSON, numbers to within off.
func alike(a, b any, off float64) bool {
	switch b := b.(type) {
	case float64:
		a, ok := a.(float64)
		return ok && math.Abs(a-b) <= off
	case []any:
		a, ok := a.([]any)
		return ok && slices.EqualFunc(a, b, func(x, y any) bool { return alike(x, y, off) })
	case map[string]any:
		a, ok := a.(map[string]any)
		return ok && maps.EqualFunc(a, b, func(x, y any) bool { return alike(x, y, off) })
	}
	return reflect.DeepEqual(a, b)
}

func TestCheckLinkOfAPlanAndLinkOverItsProfileAgree(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	demo := strings.TrimSpace(works(t, done, "demo"))
	for _, plan := range []string{compound, demo} {
		var report struct {
			Settings struct{ Radio map[string]any }
			Links    []map[string]any
		}
		if err := json.Unmarshal([]byte(works(t, faulty, "check", plan, "--json")), &report); err != nil {
			t.Fatal(err)
		}
		if len(report.Links) == 0 {
			t.Fatal("no links")
		}
		for i, want := range report.Links {
			if i%5 != 0 && !(number64(t, want, "clearance") < 0.6) {
				continue // every fifth, and all that something stands in the way of
			}
			csv := filepath.Join(t.TempDir(), "p.csv")
			from, to := want["from"].(string), want["to"].(string)
			inPlan := linkJSON(t, plan, "--from", from, "--to", to, "--profile", csv)
			for name, v := range want {
				if !alike(inPlan[name], v, 0.001) {
					t.Errorf("%s to %s: %s %v in link, %v in check", from, to, name, inPlan[name], v)
				}
			}
			short := func(name string) string { return strconv.FormatFloat(number64(t, inPlan, name), 'g', -1, 64) }
			over := linkJSON(t, csv, "--mhz", strconv.FormatFloat(report.Settings.Radio["frequency_mhz"].(float64), 'g', -1, 64),
				"--from", short("from_antenna_m"), "--to", short("to_antenna_m"), "--pol", report.Settings.Radio["polarisation"].(string))
			for _, name := range []string{"distance_m", "free_space_db", "diffraction_db", "single_edge_db", "clearance", "bullington_db", "bullington_smooth_db", "spherical_db"} {
				if a, b := number64(t, inPlan, name), number64(t, over, name); math.Abs(a-b) > 0.001 {
					t.Errorf("%s to %s: %s %v in the plan, %v over its profile", from, to, name, a, b)
				}
			}
			back := linkJSON(t, plan, "--from", to, "--to", from)
			if a, b := number64(t, inPlan, "margin_db"), number64(t, back, "margin_db"); math.Abs(a-b) > 0.001 {
				t.Errorf("%s to %s: margin %v, the other way %v", from, to, a, b)
			}
		}
	}
}

func TestALinkOfAPlanNamesItsDevices(t *testing.T) {
	refused(t, `there is no device "S9"`, "link", compound, "--from", "S9", "--to", "RX")
	refused(t, "building H1 is not a sensor, repeater or receiver", "link", compound, "--from", "H1", "--to", "RX")
	refused(t, "a link has two ends", "link", compound, "--from", "RX", "--to", "RX")
	out := works(t, done, "link", compound, "--to", "RX", "--from", "S1")
	for _, want := range []string{"Link S1 to RX at 868.3 MHz", "Margin", "dB required", "over 99 %"} {
		if !strings.Contains(out, want) {
			t.Errorf("the text does not say %q:\n%s", want, out)
		}
	}
}

func TestNoMinusStandsBeforeANought(t *testing.T) {
	for _, v := range []float64{-0.04, -0.4, 0} {
		if got := fmt.Sprintf("%.0f", rounded(v, 0)); got != "0" {
			t.Errorf("%v reads %s", v, got)
		}
	}
	if got := rounded(-0.6, 0); got != -1 {
		t.Errorf("-0.6 reads %v", got)
	}
}

func TestAProfileNeverReplacesAFileThatIsNone(t *testing.T) {
	path := write(t, "notes.csv", "my notes\n")
	refused(t, "is there already and is no profile", "link", compound, "--from", "S1", "--to", "RX", "--profile", path)
	if read(t, path) != "my notes\n" {
		t.Error("the file was changed")
	}
	again := filepath.Join(t.TempDir(), "p.csv")
	for range 2 {
		works(t, done, "link", compound, "--from", "S1", "--to", "RX", "--profile", again)
	}
}

func TestALinkBetweenTwoDevicesInOnePlaceIsRefused(t *testing.T) {
	plan := func(lon float64) string {
		return write(t, "plan.geojson", fmt.Sprintf(`{"type": "FeatureCollection", "pleach": {"version": 1}, "features": [
			{"type": "Feature", "id": "S1", "geometry": {"type": "Point", "coordinates": [7, 50]},
			 "properties": {"kind": "sensor", "model": "sector-90-16", "mount_height_m": 3, "bearing_deg": 0, "tilt_deg": 2}},
			{"type": "Feature", "id": "RX", "geometry": {"type": "Point", "coordinates": [%v, 50]}, "properties": {"kind": "receiver", "antenna_height_m": 3}}]}`, lon))
	}
	profiled := filepath.Join(t.TempDir(), "p.csv")
	refused(t, "S1 and RX stand in one place", "link", plan(7), "--from", "S1", "--to", "RX", "--profile", profiled)
	if _, err := os.Stat(profiled); !os.IsNotExist(err) {
		t.Errorf("a profile is there: %v", err)
	}
	if out := works(t, done, "link", plan(7.000003), "--from", "S1", "--to", "RX"); !strings.Contains(out, "no longer follow what it hears") {
		t.Error(out)
	}
	raw, err := os.ReadFile(plan(7.01))
	if err != nil {
		t.Fatal(err)
	}
	far := string(raw)
	below := strings.Replace(far, `"antenna_height_m": 3`, `"antenna_height_m": -3`, 1)
	refused(t, "receiver RX: antenna_height_m -3 is not above 0 and at most 60", "link", write(t, "below.geojson", below), "--from", "S1", "--to", "RX")
	for _, mhz := range []string{"0", "-868"} {
		text := strings.Replace(far, `"version": 1`, `"version": 1, "radio": {"frequency_mhz": `+mhz+`}`, 1)
		refused(t, "radio.frequency_mhz "+mhz+" is not between 30 and 6000", "link", write(t, "mhz.geojson", text), "--from", "S1", "--to", "RX")
		refused(t, "--mhz "+mhz+" is not between 30 and 6000", "link", write(t, "p.csv", profile), "--mhz", mhz, "--from", "3", "--to", "4")
	}
}

func TestALinkSaysItsWorstCaseAndWhatReadingsCorrect(t *testing.T) {
	var readings []string
	for i := range 3 {
		readings = append(readings, fmt.Sprintf(`{"type": "Feature", "id": "M%d", "geometry": null, "properties": {"kind": "reading", "what": "signal", "of": ["S1", "RX"], "value": %d}}`, i, -80-i))
	}
	plan := write(t, "plan.geojson", `{"type": "FeatureCollection", "pleach": {"version": 1, "radio": {"calibration": {"use": true, "least": 3}}}, "features": [
		{"type": "Feature", "id": "S1", "geometry": {"type": "Point", "coordinates": [7, 50]},
		 "properties": {"kind": "sensor", "model": "sector-90-16", "mount_height_m": 3, "bearing_deg": 0, "tilt_deg": 2}},
		{"type": "Feature", "id": "R1", "geometry": {"type": "Polygon", "coordinates": [[[7.001, 49.9995], [7.002, 49.9995], [7.002, 50.0005], [7.001, 50.0005], [7.001, 49.9995]]]},
		 "properties": {"kind": "road", "private": true}},
		{"type": "Feature", "id": "RX", "geometry": {"type": "Point", "coordinates": [7.003, 50]}, "properties": {"kind": "receiver", "antenna_height_m": 3}},
		`+strings.Join(readings, ",")+`]}`)
	out := works(t, done, "link", plan, "--from", "S1", "--to", "RX")
	for _, want := range []string{"Readings of such links", "Margin, worst case", "(lorry)"} {
		if !strings.Contains(out, want) {
			t.Errorf("the text does not say %q:\n%s", want, out)
		}
	}
	m := linkJSON(t, plan, "--from", "S1", "--to", "RX")
	if w, ok := m["worst_case"].(map[string]any); !ok || w["on"] != "R1" || m["calibration_db"] == nil {
		t.Errorf("%v", m)
	}
}
