package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"pleach/ui/export"
)

// tool returns what a program outside this project writes to standard output;
// the test is skipped where it is not installed.
func tool(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("%s is not installed: the set-up installs it", name)
	}
	var errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, errs.String())
	}
	for _, l := range strings.Split(strings.TrimSpace(errs.String()), "\n") {
		// A drawing and a table of styles have no reference system to state.
		if l != "" && !strings.Contains(l, "No SRS set on layer") {
			t.Errorf("%s %s says: %s", name, strings.Join(args, " "), l)
		}
	}
	return out
}

// feature is one feature as the reader tells it.
type feature struct {
	Properties map[string]any
	Geometry   *struct {
		Type        string
		Coordinates json.RawMessage
	}
}

func (s feature) text(name string) string { v, _ := s.Properties[name].(string); return v }

func (s feature) number(t *testing.T, name string) float64 {
	t.Helper()
	switch v := s.Properties[name].(type) {
	case float64:
		return v
	case string: // KML has all its values as text
		f, err := strconv.ParseFloat(v, 64)
		if err != nil {
			t.Errorf("%s is %q", name, v)
		}
		return f
	}
	t.Errorf("%s is %v in %v", name, s.Properties[name], s.Properties)
	return math.NaN()
}

// rings are the coordinates of a feature as lists of points, whatever its shape.
func (s feature) rings(t *testing.T) (out [][][]float64) {
	t.Helper()
	if s.Geometry == nil {
		return nil
	}
	var walk func(raw json.RawMessage) bool
	walk = func(raw json.RawMessage) bool {
		var point []float64
		if json.Unmarshal(raw, &point) == nil {
			return true
		}
		var list []json.RawMessage
		if err := json.Unmarshal(raw, &list); err != nil {
			t.Fatal(err)
		}
		var ring [][]float64
		for _, r := range list {
			if walk(r) {
				point = nil
				_ = json.Unmarshal(r, &point)
				ring = append(ring, point)
			}
		}
		if ring != nil {
			out = append(out, ring)
		}
		return false
	}
	if walk(s.Geometry.Coordinates) {
		var point []float64
		_ = json.Unmarshal(s.Geometry.Coordinates, &point)
		return [][][]float64{{point}}
	}
	return out
}

func (s feature) length(t *testing.T) (sum float64) {
	for _, r := range s.rings(t) {
		for i := 1; i < len(r); i++ {
			sum += math.Hypot(r[i][0]-r[i-1][0], r[i][1]-r[i-1][1])
		}
	}
	return sum
}

// area is that of the rings, outer and inner by their sense of turning.
func (s feature) area(t *testing.T) (sum float64) {
	for _, r := range s.rings(t) {
		for i := range r {
			a, b := r[i], r[(i+1)%len(r)]
			sum += (a[0]*b[1] - b[0]*a[1]) / 2
		}
	}
	return sum
}

// opened returns the features of a layer as GDAL reads them.
func opened(t *testing.T, path, layer string) (out []feature) {
	t.Helper()
	args := []string{"-f", "GeoJSONSeq", "/vsistdout/", path, "-lco", "COORDINATE_PRECISION=10", "-lco", "SIGNIFICANT_FIGURES=17", "-mapFieldType", "DateTime=String"}
	if layer != "" {
		args = append(args, layer)
	}
	d := json.NewDecoder(bytes.NewReader(tool(t, "ogr2ogr", args...)))
	for {
		var s feature
		if err := d.Decode(&s); err == io.EOF {
			return out
		} else if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
}

// having returns the features of a class.
func having(all []feature, name, value string) (out []feature) {
	for _, s := range all {
		if s.text(name) == value {
			out = append(out, s)
		}
	}
	return out
}

// exported writes a plan in a format and returns the file.
func exported(t *testing.T, plan, format string, more ...string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "out"+format)
	works(t, done, append([]string{"export", plan, "-o", to}, more...)...)
	return to
}

// checked is what the check report says of the plan compound.
type checked struct {
	Boundaries []struct {
		ID   string
		Gaps []struct {
			From   float64 `json:"from_m"`
			To     float64 `json:"to_m"`
			Length float64 `json:"length_m"`
			Cause  string
		}
	}
	Sensors []struct {
		ID     string
		Area   float64 `json:"footprint_m2"`
		Margin float64 `json:"margin_db"`
	}
	Links []struct {
		From, To string
		Margin   float64 `json:"margin_db"`
		Distance float64 `json:"distance_m"`
	}
}

func checkOf(t *testing.T, plan string) (c checked) {
	t.Helper()
	_, stdout, _ := pleach("check", plan, "--json")
	if err := json.Unmarshal([]byte(stdout), &c); err != nil {
		t.Fatal(err)
	}
	if len(c.Boundaries) == 0 || len(c.Boundaries[0].Gaps) < 3 || len(c.Sensors) != 3 || len(c.Links) < 3 {
		t.Fatalf("the report is not that of the plan: %+v", c)
	}
	return c
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tolerance)
	}
}

// posts are where the plan compound has its devices.
var posts = map[string][2]float64{"S1": {-2.0008448, 51.9996585}, "S2": {-1.9991552, 52.0003415}, "S3": {-2.0008448, 52.0003415}}

func TestOutsideGDALReadsInAGeoPackageWhatTheReportSays(t *testing.T) {
	path, c := exported(t, compound, ".gpkg"), checkOf(t, compound)
	for _, d := range opened(t, path, "devices") {
		if at, ok := posts[d.text("id")]; ok {
			p := d.rings(t)[0][0]
			near(t, d.text("id")+" longitude", p[0], at[0], 1e-9)
			near(t, d.text("id")+" latitude", p[1], at[1], 1e-9)
			if d.text("class") != "sensor" {
				t.Errorf("%s is of class %q", d.text("id"), d.text("class"))
			}
		}
	}
	for _, d := range opened(t, path, "devices") {
		if want := d.text("id"); !strings.HasPrefix(d.text("label"), want) || !strings.HasSuffix(d.text("label"), d.text("name")) {
			t.Errorf("%s is labelled %q", want, d.text("label"))
		}
	}
	gaps := having(opened(t, path, "boundary_stretches"), "class", "gap")
	if len(gaps) != len(c.Boundaries[0].Gaps) {
		t.Fatalf("%d gaps, the report has %d", len(gaps), len(c.Boundaries[0].Gaps))
	}
	for i, g := range gaps {
		want := c.Boundaries[0].Gaps[i]
		near(t, "gap from", g.number(t, "from_m"), want.From, 1e-3)
		near(t, "gap to", g.number(t, "to_m"), want.To, 1e-3)
		near(t, "gap length", g.number(t, "length_m"), want.Length, 1e-3)
		if g.text("cause") != want.Cause {
			t.Errorf("gap %d: cause %q, the report says %q", i+1, g.text("cause"), want.Cause)
		}
	}
	prints := having(opened(t, path, "footprints"), "class", "footprint")
	for i, s := range c.Sensors {
		near(t, s.ID+" footprint", prints[i].number(t, "area_m2"), s.Area, 1e-3)
	}
	for _, name := range []string{"overspill", "links", "boundaries", "buildings", "foliage", "roads", "gates"} {
		if len(opened(t, path, name)) == 0 {
			t.Errorf("layer %s is empty", name)
		}
	}
	// Every layer has a style of its own, by the classes it holds.
	styles := opened(t, path, "layer_styles")
	if len(styles) < 15 {
		t.Fatalf("%d styles", len(styles))
	}
	for _, s := range styles {
		drawn := opened(t, path, s.text("f_table_name"))
		for _, column := range []string{"styleQML", "styleSLD"} {
			text := s.text(column)
			wellFormed(t, s.text("f_table_name")+" "+column, []byte(text))
			if name := s.text("f_table_name"); !strings.Contains(name, "findings") && !strings.Contains(name, "posture") && (strings.Count(text, `fieldName="label"`)+strings.Count(text, "<ogc:PropertyName>label<") != 1 || strings.Contains(text, `labelsEnabled="0"`)) {
				t.Errorf("%s of %s writes no names", column, name)
			}
			for _, f := range drawn {
				if !strings.Contains(text, `"`+f.text("class")+`"`) && !strings.Contains(text, ">"+f.text("class")+"<") {
					t.Errorf("%s of %s does not draw class %q", column, s.text("f_table_name"), f.text("class"))
				}
			}
		}
	}
}

func wellFormed(t *testing.T, what string, data []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Errorf("%s: %v", what, err)
			return
		}
	}
}

func TestOutsideGDALReadsADrawingInMetresWhoseFiguresAreThoseOfTheReport(t *testing.T) {
	path, c := exported(t, compound, ".dxf"), checkOf(t, compound)
	all := opened(t, path, "")
	for i, g := range having(all, "Layer", "GAP") {
		near(t, "length of gap "+strconv.Itoa(i+1), g.length(t), c.Boundaries[0].Gaps[i].Length, 2e-3)
	}
	if n := len(having(all, "Layer", "GAP")); n != len(c.Boundaries[0].Gaps) {
		t.Errorf("%d gaps drawn, the report has %d", n, len(c.Boundaries[0].Gaps))
	}
	// A pattern of one part is drawn as one ring, so its area is the footprint's
	// but for the chords of its arcs: 5 mm over at most 40 m.
	prints := having(all, "Layer", "FOOTPRINT")
	if len(prints) != len(c.Sensors) {
		t.Fatalf("%d footprints, %d sensors", len(prints), len(c.Sensors))
	}
	for i, s := range c.Sensors {
		near(t, s.ID+" footprint drawn", math.Abs(prints[i].area(t)), s.Area, 0.2)
	}
	if len(having(all, "Layer", "SENSOR")) != 3 || len(having(all, "Layer", "BUILDING")) != 1 || len(having(all, "Layer", "NOTES")) != 1 {
		t.Error("sensors, the building or the note are not on their layers")
	}
	if len(having(all, "Text", "S1 South fence")) != 1 {
		t.Error("the name of S1 is not written")
	}
}

func TestOutsideGDALReadsKMLWaypointsAndGeoJSON(t *testing.T) {
	c := checkOf(t, compound)
	t.Run("KML", func(t *testing.T) {
		path := exported(t, compound, ".kml")
		for _, d := range opened(t, path, "Devices") {
			if at, ok := posts[d.text("id")]; ok {
				p := d.rings(t)[0][0]
				near(t, "longitude", p[0], at[0], 1e-9)
				near(t, "latitude", p[1], at[1], 1e-9)
			}
		}
		gaps := having(opened(t, path, "Covered, closed and open stretches"), "class", "gap")
		if len(gaps) != len(c.Boundaries[0].Gaps) {
			t.Fatalf("%d gaps", len(gaps))
		}
		for i, g := range gaps {
			near(t, "gap length", g.number(t, "length_m"), c.Boundaries[0].Gaps[i].Length, 1e-3)
		}
	})
	t.Run("GPX", func(t *testing.T) {
		points := opened(t, exported(t, compound, ".gpx"), "waypoints")
		if len(points) != 4 {
			t.Fatalf("%d waypoints, the plan has 4 devices", len(points))
		}
		for _, p := range points {
			id, _, _ := strings.Cut(p.text("name"), " ")
			if at, ok := posts[id]; ok {
				near(t, id+" longitude", p.rings(t)[0][0][0], at[0], 1e-9)
				near(t, id+" latitude", p.rings(t)[0][0][1], at[1], 1e-9)
			}
		}
	})
	t.Run("GeoJSON", func(t *testing.T) {
		all := opened(t, exported(t, compound, ".geojson"), "")
		gaps := having(having(all, "layer", "boundary_stretches"), "class", "gap")
		if len(gaps) != len(c.Boundaries[0].Gaps) {
			t.Fatalf("%d gaps", len(gaps))
		}
		for i, g := range gaps {
			near(t, "gap from", g.number(t, "from_m"), c.Boundaries[0].Gaps[i].From, 1e-3)
		}
		for _, f := range having(all, "layer", "footprints") {
			if f.area(t) <= 0 {
				t.Error("an outer ring does not run anticlockwise")
			}
		}
	})
}

// sheetRows are the rows of a sheet as the library reads them, by heading.
func sheetRows(t *testing.T, f *excelize.File, sheet string) (heads []string, rows [][]string) {
	t.Helper()
	all, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatalf("sheet %s is empty", sheet)
	}
	return all[0], all[1:]
}

func workbook(t *testing.T, path string) *excelize.File {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func TestOutsideASpreadsheetLibraryReadsTypedCellsAndFrozenHeadings(t *testing.T) {
	f, c := workbook(t, exported(t, compound, ".xlsx")), checkOf(t, compound)
	if got := f.GetSheetList(); !slices.Equal(got, export.Schedules()) {
		t.Errorf("sheets %v", got)
	}
	for _, sheet := range f.GetSheetList() {
		p, err := f.GetPanes(sheet)
		if err != nil || !p.Freeze || p.YSplit != 1 {
			t.Errorf("%s: panes %+v, %v", sheet, p, err)
		}
	}
	heads, rows := sheetRows(t, f, "gaps")
	at := slices.Index(heads, "Length m")
	n := 0
	for k, r := range rows {
		if r[slices.Index(heads, "Posture")] != "target" {
			continue
		}
		name, _ := excelize.CoordinatesToCellName(at+1, k+2)
		kind, err := f.GetCellType("gaps", name)
		if err != nil || kind != excelize.CellTypeUnset && kind != excelize.CellTypeNumber {
			t.Errorf("gaps %s is of type %v, %v: it should be a number", name, kind, err)
		}
		v, err := strconv.ParseFloat(r[at], 64)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "gap length", v, c.Boundaries[0].Gaps[n].Length, 1e-3)
		n++
	}
	if n != len(c.Boundaries[0].Gaps) {
		t.Errorf("%d gaps, the report has %d", n, len(c.Boundaries[0].Gaps))
	}
	heads, rows = sheetRows(t, f, "sensors")
	for i, s := range c.Sensors {
		v, _ := strconv.ParseFloat(rows[i][slices.Index(heads, "Margin dB")], 64)
		near(t, s.ID+" margin", v, s.Margin, 1e-3)
	}
	_, rows = sheetRows(t, f, "bill")
	if rows[0][6] != "3" || rows[1][6] != "2" {
		t.Errorf("bill: %v", rows)
	}
}

// hostileNames are names that break what is not spelled with care.
var hostileNames = []string{`=cmd|'/C calc'!A0`, "-4", `<b>"q" & 's'</b>`, "line\nbreak", "Ünïcödé Łódź 日本", "+1", "@SUM(A1)", `%%c \U+0041 ^J {x}`, "_x000A_ ]]>", "a;b,c",
	"🚧 gate", "שער \u202eعربى", "\t=1", "bell \a esc \x1b[31m nul", strings.Repeat("x", 10_000)}

// hostile is the plan compound with such names, and the names its devices have.
func hostile(t *testing.T) (path string, names map[string]string) {
	t.Helper()
	var p map[string]any
	if err := json.Unmarshal([]byte(read(t, compound)), &p); err != nil {
		t.Fatal(err)
	}
	names = map[string]string{}
	// A sensor more for each name.
	var sensor []byte
	for _, f := range p["features"].([]any) {
		if f.(map[string]any)["id"] == "S1" {
			var err error
			if sensor, err = json.Marshal(f); err != nil {
				t.Fatal(err)
			}
		}
	}
	for len(p["features"].([]any))%len(hostileNames) != 0 {
		p["features"] = append(p["features"].([]any), map[string]any{"type": "Feature", "geometry": nil})
	}
	for i := range hostileNames {
		var f map[string]any
		if err := json.Unmarshal(sensor, &f); err != nil {
			t.Fatal(err)
		}
		f["id"] = fmt.Sprintf("S%d", 100+i)
		delete(f["properties"].(map[string]any), "address")
		at := f["geometry"].(map[string]any)["coordinates"].([]any)
		at[0] = at[0].(float64) + 1e-5*float64(i+1)
		p["features"] = append(p["features"].([]any), f)
	}
	for i, f := range p["features"].([]any) {
		f := f.(map[string]any)
		props, ok := f["properties"].(map[string]any)
		if !ok {
			continue
		}
		props["name"] = hostileNames[i%len(hostileNames)]
		names[f["id"].(string)] = hostileNames[i%len(hostileNames)]
		if props["kind"] == "sensor" {
			props["zone"], props["tilt_deg"] = "=1+1", -4
			props["note"] = "bell \a and nul \x00"
		}
	}
	p["pleach"].(map[string]any)["title"] = "=HYPERLINK(\"x\") <t>\n'"
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return write(t, "hostile.geojson", string(b)), names
}

// undrawn decodes the characters that a drawing of release 12 has no place for.
func undrawn(s string) string {
	return regexp.MustCompile(`(\\U\+[0-9A-F]{4})+`).ReplaceAllStringFunc(s, func(m string) string {
		var units []uint16
		for _, h := range strings.Split(m, `\U+`)[1:] {
			v, _ := strconv.ParseUint(h, 16, 16)
			units = append(units, uint16(v))
		}
		return string(utf16.Decode(units))
	})
}

func TestOutsideHostileNamesComeThroughEveryFormat(t *testing.T) {
	plan, names := hostile(t)
	oneLine := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	controls := func(s, with string) string { // what has no place in XML or between commas
		return regexp.MustCompile(`[\x00-\x08\x0b-\x1f]`).ReplaceAllString(s, with)
	}
	t.Run("GeoPackage", func(t *testing.T) {
		for _, d := range opened(t, exported(t, plan, ".gpkg"), "devices") {
			if d.text("name") != names[d.text("id")] {
				t.Errorf("%s: %q, want %q", d.text("id"), d.text("name"), names[d.text("id")])
			}
		}
	})
	t.Run("KML", func(t *testing.T) {
		path := exported(t, plan, ".kml")
		wellFormed(t, "KML", []byte(read(t, path)))
		for _, d := range opened(t, path, "Devices") {
			name := oneLine(controls(names[d.text("id")], "\ufffd"))
			if got := oneLine(d.text("Name")); got != d.text("id")+" "+name && got != name {
				t.Errorf("%q, want %q", got, name)
			}
		}
	})
	t.Run("GPX", func(t *testing.T) {
		path := exported(t, plan, ".gpx")
		wellFormed(t, "GPX", []byte(read(t, path)))
		for _, d := range opened(t, path, "waypoints") {
			id, rest, _ := strings.Cut(d.text("name"), " ")
			if want := controls(names[id], "\ufffd"); rest != want {
				t.Errorf("%s: %q, want %q", id, rest, want)
			}
		}
	})
	t.Run("DXF", func(t *testing.T) {
		got := map[string]bool{}
		for _, d := range opened(t, exported(t, plan, ".dxf"), "") {
			got[oneLine(undrawn(d.text("Text")))] = true
		}
		for id, name := range names {
			if id[0] != 'S' && id != "RX" || strings.ContainsAny(name, `\`) {
				continue // GDAL leaves \U+HHHH in a text as it is
			}
			want := oneLine(controls(id+" "+name, " "))
			if !got[want[:min(len(want), 255)]] { // the most release 12 takes
				t.Errorf("%q is not among the texts", want)
			}
		}
	})
	t.Run("GeoJSON", func(t *testing.T) {
		for _, d := range having(opened(t, exported(t, plan, ".geojson"), ""), "layer", "devices") {
			if d.text("name") != names[d.text("id")] {
				t.Errorf("%q, want %q", d.text("name"), names[d.text("id")])
			}
		}
	})
	t.Run("XLSX", func(t *testing.T) {
		f := workbook(t, exported(t, plan, ".xlsx"))
		heads, rows := sheetRows(t, f, "sensors")
		for k, r := range rows {
			if r[1] != names[r[0]] {
				t.Errorf("%s: %q, want %q", r[0], r[1], names[r[0]])
			}
			cell, _ := excelize.CoordinatesToCellName(2, k+2)
			kind, _ := f.GetCellType("sensors", cell)
			formula, _ := f.GetCellFormula("sensors", cell)
			if kind != excelize.CellTypeInlineString || formula != "" {
				t.Errorf("the name of %s is of type %v, formula %q", r[0], kind, formula)
			}
			tilt := slices.Index(heads, "Tilt °")
			cell, _ = excelize.CoordinatesToCellName(tilt+1, k+2)
			if kind, _ := f.GetCellType("sensors", cell); r[tilt] != "-4" || kind != excelize.CellTypeUnset && kind != excelize.CellTypeNumber {
				t.Errorf("tilt %q of type %v: -4 stays a number", r[tilt], kind)
			}
		}
	})
	t.Run("CSV", func(t *testing.T) {
		text := read(t, exported(t, plan, ".csv", "--schedule", "sensors"))
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows[1:] {
			want := controls(strings.ReplaceAll(names[r[0]], "\t", " "), " ")
			if strings.ContainsAny(strings.TrimSpace(want)[:1], "=+-@") {
				want = "'" + want
			}
			if strings.ReplaceAll(r[1], "\r\n", "\n") != want {
				t.Errorf("%s: %q, want %q", r[0], r[1], want)
			}
			if r[3] != "'=1+1" || r[slices.Index(rows[0], "Tilt °")] != "-4" {
				t.Errorf("zone %q, tilt %q", r[3], r[slices.Index(rows[0], "Tilt °")])
			}
		}
	})
	t.Run("SVG", func(t *testing.T) { wellFormed(t, "SVG", []byte(read(t, exported(t, plan, ".svg")))) })
	t.Run("what a terminal shows", func(t *testing.T) {
		for _, args := range [][]string{{"check", plan}, {"address", plan, "--all"}, {"aim", plan, "S113"}, {"diff", compound, plan}, {"link", plan, "--from", "S113", "--to", "RX"}} {
			_, text, errs := pleach(args...)
			if text == "" || errs != "" {
				t.Errorf("%v: %d bytes, %q", args, len(text), errs)
			}
			for _, r := range text {
				if r != '\n' && (unicode.IsControl(r) || r == '\u202e') {
					t.Errorf("%v writes %q", args, r)
				}
			}
			for _, l := range strings.Split(text, "\n") {
				if n := len([]rune(l)); n > 400 {
					t.Errorf("%v: a line of %d characters: %.60q", args, n, l)
				}
			}
		}
	})
}

func TestEveryFormatIsWrittenOfAnEmptyPlan(t *testing.T) {
	plan := write(t, "empty.geojson", `{"type": "FeatureCollection", "pleach": {"version": 1}, "features": []}`)
	for _, format := range export.Formats {
		t.Run(format, func(t *testing.T) {
			path := exported(t, plan, format)
			switch format {
			case ".gpkg":
				if n := len(opened(t, path, "devices")); n != 0 {
					t.Errorf("%d devices", n)
				}
			case ".xlsx":
				if heads, rows := sheetRows(t, workbook(t, path), "sensors"); len(heads) < 20 || len(rows) != 0 {
					t.Errorf("%d headings, %d rows", len(heads), len(rows))
				}
			case ".kml", ".gpx", ".svg":
				wellFormed(t, format, []byte(read(t, path)))
			case ".dxf":
				if all := opened(t, path, ""); len(all) != 1 || all[0].text("Layer") != "NOTES" {
					t.Errorf("entities: %v", all)
				}
			case ".geojson":
				if !json.Valid([]byte(read(t, path))) {
					t.Error("no JSON")
				}
			case ".png":
				if _, err := png.DecodeConfig(strings.NewReader(read(t, path))); err != nil {
					t.Error(err)
				}
			}
		})
	}
}

func TestTheSamePlanGivesTheSameBytesInEveryFormat(t *testing.T) {
	plan := write(t, "dated.geojson", strings.Replace(read(t, compound), `"version": 1,`, `"version": 1, "date": "2026-07-14",`, 1))
	for _, format := range export.Formats {
		if first, again := read(t, exported(t, plan, format)), read(t, exported(t, plan, format)); first != again {
			t.Errorf("%s: two exports differ", format)
		}
	}
	if got := read(t, exported(t, plan, ".gpx")); !strings.Contains(got, "<time>2026-07-14T00:00:00Z</time>") {
		t.Error("the waypoints do not bear the plan's date")
	}
}

func TestAnExportNeverReplacesAPlanOrAFileOfThePlan(t *testing.T) {
	text := strings.Replace(read(t, compound), `"version": 1,`, `"version": 1, "base_map": {"file": "aerial.png", "control": [{"pixel": [0, 0], "at": [-2.001, 52.001]}, {"pixel": [9, 9], "at": [-1.999, 51.999]}]},`, 1)
	plan := write(t, "plan.geojson", text)
	folder := filepath.Dir(plan)
	other := filepath.Join(folder, "other.geojson")
	aerial := filepath.Join(folder, "aerial.png")
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewRGBA(image.Rect(0, 0, 10, 10))); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string]string{other: read(t, compound), aerial: b.String()} {
		if err := os.WriteFile(name, []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	link := filepath.Join(folder, "link.geojson")
	if err := os.Symlink(plan, link); err != nil {
		t.Fatal(err)
	}
	refused(t, "it is the plan itself", "export", plan, "-o", plan)
	refused(t, "it is the plan itself", "export", plan, "-o", link)
	refused(t, "it is a plan", "export", plan, "-o", other)
	refused(t, "it is the plan's base map", "export", plan, "-o", aerial)
	if read(t, plan) != text || read(t, other) != read(t, compound) || read(t, aerial) != b.String() {
		t.Error("a refused export changed a file")
	}
	// Results that were exported before are replaced.
	results := filepath.Join(folder, "results.geojson")
	works(t, done, "export", compound, "-o", results)
	works(t, done, "export", plan, "-o", results)
}

func TestAnExportThatFailsLeavesNothingBehind(t *testing.T) {
	folder := t.TempDir()
	refused(t, "there is no folder", "export", compound, "-o", filepath.Join(folder, "none", "x.kml"))
	if err := os.Mkdir(filepath.Join(folder, "x.gpkg"), 0o777); err != nil {
		t.Fatal(err)
	}
	refused(t, "there is a folder of that name", "export", compound, "-o", filepath.Join(folder, "x.gpkg"))
	kept := filepath.Join(folder, "kept.xlsx")
	if err := os.WriteFile(kept, []byte("mine"), 0o444); err != nil {
		t.Fatal(err)
	}
	refused(t, "write-protected", "export", compound, "-o", kept)
	entries, err := os.ReadDir(folder)
	if err != nil || len(entries) != 2 || read(t, kept) != "mine" {
		t.Errorf("left behind: %v, %v", entries, err)
	}
	for path, want := range badPlans(t) {
		to := filepath.Join(folder, "bad.dxf")
		refused(t, want, "export", path, "-o", to)
		missing(t, to)
	}
}

func TestOutsideAnSVGRendererDrawsThePictureOfThePNG(t *testing.T) {
	svg, picture := exported(t, compound, ".svg"), exported(t, compound, ".png")
	rendered := filepath.Join(t.TempDir(), "svg.png")
	tool(t, "rsvg-convert", "-z", "2", "-o", rendered, svg)
	a, b := decoded(t, rendered), decoded(t, picture)
	if a.Bounds() != b.Bounds() {
		t.Fatalf("rendered %v, painted %v", a.Bounds(), b.Bounds())
	}
	// Edges are blended otherwise; a label or a band that is missing would show
	// in blocks of 16 pixels.
	const block = 16
	far := 0
	for y := 0; y+block <= a.Bounds().Dy(); y += block {
		for x := 0; x+block <= a.Bounds().Dx(); x += block {
			if d := math.Abs(light(a, x, y, block) - light(b, x, y, block)); d > 24 {
				far++
			}
		}
	}
	if all := a.Bounds().Dx() * a.Bounds().Dy() / block / block; far*500 > all {
		t.Errorf("%d of %d blocks differ", far, all)
	}
	if !strings.Contains(read(t, svg), `aria-label="South fence"`) {
		t.Error("the name of a sensor is not kept as a label")
	}
}

func decoded(t *testing.T, path string) image.Image {
	t.Helper()
	img, err := png.Decode(strings.NewReader(read(t, path)))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// light is the mean lightness of a block, 0 to 255.
func light(img image.Image, x0, y0, size int) float64 {
	sum := 0
	for y := y0; y < y0+size; y++ {
		for x := x0; x < x0+size; x++ {
			sum += int(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y)
		}
	}
	return float64(sum) / float64(size*size)
}

func TestDiffNeedsTwoPlansAndTellsWhatChanged(t *testing.T) {
	refused(t, "diff: needs two plans", "diff", compound)
	refused(t, "one argument too many", "diff", compound, compound, compound)
	if got := works(t, done, "diff", compound, compound); !strings.Contains(got, "Nothing changed") {
		t.Errorf("a plan and itself: %s", got)
	}
	turned := write(t, "turned.geojson", strings.Replace(read(t, compound), `"bearing_deg": 91`, `"bearing_deg": 95`, 1))
	if got := works(t, done, "diff", compound, turned); !strings.Contains(got, "sensor S1 (South fence): aimed afresh, bearing 91° before, 95° now") || !strings.Contains(got, "lost from") {
		t.Errorf("turned by 4 degrees: %s", got)
	}
	var got struct {
		Aimed []struct {
			ID     string
			Values map[string]struct{ Before, After float64 }
		}
		Boundaries []struct{ Coverage []struct{ Posture string } }
	}
	if err := json.Unmarshal([]byte(works(t, done, "diff", compound, turned, "--json")), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Aimed) != 1 || got.Aimed[0].Values["bearing_deg"].Before != 91 || got.Aimed[0].Values["bearing_deg"].After != 95 || len(got.Boundaries) != 1 {
		t.Errorf("%+v", got)
	}
}

func TestAPNGIsAsWideAsAskedFor(t *testing.T) {
	for width, args := range map[int][]string{3200: nil, 900: {"--width", "900"}, 1601: {"--width=1601"}} {
		img, err := png.Decode(strings.NewReader(read(t, exported(t, compound, ".png", args...))))
		if err != nil {
			t.Fatal(err)
		}
		if got := img.Bounds().Dx(); got != width {
			t.Errorf("%v: %d pixels, want %d", args, got, width)
		}
	}
	out := filepath.Join(t.TempDir(), "o.png")
	refused(t, "--width 799 is not from 800 to 8000", "export", compound, "-o", out, "--width", "799")
	refused(t, `--width "wide" is not a whole number`, "export", compound, "-o", out, "--width", "wide")
	refused(t, "--width is for a file that ends in .png", "export", compound, "-o", "o.svg", "--width", "900")
}

// A degree of longitude at latitude 50 is 71.70 km on WGS 84 (published tables of
// the length of a degree); a thousandth of it on UTM is 71.67 m, and a plane that
// rises by 5 % to the east stands 3.583 m there.
func TestOutsideGDALReadsTheElevationOfAWaypoint(t *testing.T) {
	dir := t.TempDir()
	const n, cell = 120, 5.0
	west, south := 500000-n/2*cell, 5538630.703-n/2*cell
	var asc strings.Builder
	fmt.Fprintf(&asc, "ncols %d\nnrows %d\nxllcorner %.3f\nyllcorner %.3f\ncellsize %g\n", n, n, west, south, cell)
	for range n {
		for j := range n {
			fmt.Fprintf(&asc, "%.4f ", 0.05*(west+(float64(j)+0.5)*cell-500000))
		}
		asc.WriteString("\n")
	}
	if err := os.WriteFile(filepath.Join(dir, "plane.asc"), []byte(asc.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "plan.geojson")
	plan := `{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":"plane.asc","crs":"EPSG:32632"}},"features":[
{"type":"Feature","id":"S1","properties":{"kind":"sensor","model":"sector-90-16","mount_height_m":3,"bearing_deg":90,"tilt_deg":0},"geometry":{"type":"Point","coordinates":[9,50]}},
{"type":"Feature","id":"S2","properties":{"kind":"sensor","model":"sector-90-16","mount_height_m":3,"bearing_deg":90,"tilt_deg":0},"geometry":{"type":"Point","coordinates":[9.001,50]}}]}`
	if err := os.WriteFile(path, []byte(plan), 0o644); err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{"S1": 0, "S2": 3.583}
	for _, p := range opened(t, exported(t, path, ".gpx"), "waypoints") {
		near(t, p.text("name")+" elevation in GPX", p.number(t, "ele"), want[p.text("name")], 0.02)
	}
	for _, ext := range []string{".gpkg", ".kml"} {
		layer := map[string]string{".gpkg": "devices", ".kml": "Devices"}[ext]
		for _, p := range opened(t, exported(t, path, ext), layer) {
			near(t, p.text("id")+" ground in "+ext, p.number(t, "ground_m"), want[p.text("id")], 0.02)
		}
	}
}
