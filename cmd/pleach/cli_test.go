package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// compound is a plan of an invented site, with faults.
const compound = "../../testdata/plans/compound.geojson"

// pleach runs the program and returns its exit status and what it wrote.
func pleach(args ...string) (status int, stdout, stderr string) {
	var out, errs bytes.Buffer
	status = run(args, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

// works runs the program and fails the test unless it ends with status.
func works(t *testing.T, status int, args ...string) (stdout string) {
	t.Helper()
	got, stdout, stderr := pleach(args...)
	if got != status {
		t.Fatalf("pleach %s: status %d, want %d\n%s", strings.Join(args, " "), got, status, stderr)
	}
	return stdout
}

// refused runs the program and fails the test unless it refuses with one line
// that holds want, status 2 and no result.
func refused(t *testing.T, want string, args ...string) {
	t.Helper()
	status, stdout, stderr := pleach(args...)
	if status != bad || stdout != "" {
		t.Errorf("pleach %s: status %d, want 2; standard output %q", strings.Join(args, " "), status, stdout)
	}
	if !strings.HasPrefix(stderr, "pleach: ") || strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, want) {
		t.Errorf("pleach %s: message %q, want one line with %q", strings.Join(args, " "), stderr, want)
	}
}

// write writes a file into a folder of the test and returns its path.
func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// missing fails the test if a file is there.
func missing(t *testing.T, path string) {
	t.Helper()
	if _, err := os.Lstat(path); err == nil {
		t.Errorf("%s was written", path)
	}
}

func TestBadUsageIsOneLineAndStatusTwo(t *testing.T) {
	pdf := filepath.Join(t.TempDir(), "x.pdf")
	for _, row := range []struct {
		args string
		want string
	}{
		{"--json", "--json is not an option"},
		{"chek " + compound, "chek is not a command: do you mean check?"},
		{"check", "check: the plan is missing"},
		{"check a b", `check: "b" is one argument too many`},
		{"check a --xml", "check: --xml is not an option"},
		{"check a --json=1", "check: --json takes no value"},
		{"check a --json --json", "check: --json stands twice"},
		{"new", "new: -o PLAN is missing"},
		{"new -o x", "new: names no file to make the plan of"},
		{"new --boundary", "new: --boundary needs a value"},
		{"new --boundary -o x", "new: --boundary needs a value"},
		{"new --boundary= -o x", "new: --boundary is empty"},
		{"new --image-crs EPSG:2994 --boundary x -o y", "new: --image-crs is for an --image"},
		{"new x -o y", `new: "x" is one argument too many`},
		{"print " + compound, "print: -o FILE.pdf is missing"},
		{"print " + compound + " -o x.geojson", "must end in .pdf"},
		{"print " + compound + " --paper A7 -o " + pdf, "print: --paper"},
		{"print " + compound + " --scale half -o " + pdf, "--scale half is not a whole number above 0"},
		{"print " + compound + " --scale -5 -o " + pdf, "--scale -5 is not a whole number above 0"},
		{"print " + compound + " --prices x.csv -o " + pdf, "print: --prices goes on the bill alone: add it with --sheets bill"},
		{"print " + compound + " --sheets bill --prices gone.csv -o " + pdf, "gone.csv: no such file"},
		{"print " + compound + " --sheets plinth -o " + pdf, "--sheets plinth is not a drawing of this version"},
		{"link", "link: the profile or plan is missing"},
		{"link " + compound + " --mhz 868 --from S1 --to RX", "--mhz is for a profile"},
		{"link " + compound + " --from S1", "link: --from ID and --to ID"},
		{"demo x", `demo: "x" is one argument too many`},
		{"export " + compound, "export: -o FILE is missing"},
		{"export " + compound + " -o x.shp", "export: -o x.shp must end in one of .gpkg .kml .gpx .dxf .csv .xlsx .geojson .png .svg"},
		{"export " + compound + " -o folder.kml/x", "must end in one of"},
		{"export " + compound + " -o x.kml --schedule gaps", "--schedule is for a file that ends in .csv"},
		{"export " + compound + " -o x.csv --schedule prices", "--schedule prices is not one of sensors, addresses, zones, links, gaps, bill, batteries, readings, plan"},
		{"import " + compound + " -o x.kml", "import is not a command: see pleach help"},
		{"--json check " + compound, "--json stands before the command: options follow it, pleach check …"},
		{"export " + compound + " x.kml", "where to write stands after -o: -o x.kml"},
		{"print " + compound + " x.pdf", "where to write stands after -o: -o x.pdf"},
		{"help prnt", "help: prnt is not a command: do you mean print?"},
		{"help import", "help: import is not a command"},
		{"help check print", "one argument too many"},
	} {
		t.Run(row.args, func(t *testing.T) { refused(t, row.want, strings.Fields(row.args)...) })
	}
	refused(t, "the first argument is empty", "")
	refused(t, "check: an argument is empty", "check", "")
	missing(t, pdf)
}

func TestHelpNamesEveryCommandAndEveryOption(t *testing.T) {
	all := works(t, done, "help")
	for _, c := range commands() {
		if !strings.Contains(all, "pleach "+c.name) {
			t.Errorf("help says nothing of %s", c.name)
		}
		one := works(t, done, "help", c.name)
		if again := works(t, done, c.name, "--help"); again != one {
			t.Errorf("%s --help is not help %s", c.name, c.name)
		}
	}
	if works(t, done, "--help") != all || works(t, done, "-h") != all {
		t.Error("--help is not help")
	}
}

func TestWithoutADisplayTheWindowIsBadUsage(t *testing.T) {
	for _, name := range []string{"DISPLAY", "WAYLAND_DISPLAY"} {
		t.Setenv(name, "")
	}
	refused(t, "there is no display")
	refused(t, "there is no display", compound)
	t.Setenv("DISPLAY", ":4711") // nobody listens there
	refused(t, "there is no display", compound)
}

// badPlans are plans that the command line refuses, each with what its one
// message says.
func badPlans(t *testing.T) map[string]string {
	t.Helper()
	text := read(t, compound)
	change := func(old, new string) string {
		if !strings.Contains(text, old) {
			t.Fatalf("the plan does not hold %q", old)
		}
		return strings.Replace(text, old, new, 1)
	}
	huge := write(t, "huge.geojson", "{")
	if err := os.Truncate(huge, 300<<20); err != nil {
		t.Fatal(err)
	}
	// The rows below keep the boundary's ring but for one thing.
	ring := `[[[-2.000874, 51.9996405], `
	return map[string]string{
		filepath.Join(t.TempDir(), "none.geojson"): "none.geojson: no such file",
		t.TempDir():                   "is a folder",
		huge:                          "is 300 MB large: a plan has at most 256 MB",
		write(t, "empty.geojson", ""): "empty.geojson: is empty (0 bytes)",
		write(t, "cut.geojson", text[:len(text)/2]):                                                                                      "cut short",
		write(t, "text.geojson", "hello"):                                                                                                "text.geojson: line 1, column 1: hello is not JSON here",
		write(t, "nan.geojson", change(`"bearing_deg": 91`, `"bearing_deg": NaN`)):                                                       "NaN is not a JSON value: write a finite number",
		write(t, "inf.geojson", change(`"tilt_deg": 4`, `"tilt_deg": -Infinity`)):                                                        "-Infinity is not a JSON value",
		write(t, "crs.geojson", change(`"pleach"`, `"crs": {"type": "name", "properties": {"name": "EPSG:27700"}}, "pleach"`)):           "a plan is in WGS 84",
		write(t, "link.geojson", change(`"pleach"`, `"crs": {"type": "link", "properties": {"href": "http://localhost:1/"}}, "pleach"`)): "a plan is in WGS 84",
		write(t, "twice.geojson", change(`"id": "S2"`, `"id": "S1"`)):                                                                    `sensor S1: id "S1" is also that of a feature before it (sensor)`,
		write(t, "tilt.geojson", change(`"tilt_deg": 4`, `"tilt_deg": 95`)):                                                              "tilt.geojson: sensor S3: tilt_deg 95 is not between -45 and 89",
		write(t, "large.geojson", change(`"mount_height_m": 3,`, `"mount_height_m": 1e999,`)):                                            "sensor S3: mount_height_m 1e999 is not above 0 and at most 60",
		write(t, "text-height.geojson", change(`"height_m": 5`, `"height_m": "5 m"`)):                                                    `building H1: height_m "5 m" is not a number: it must be between 0 and 200`,
		write(t, "no-height.geojson", change(`"name": "Store", "height_m": 5`, `"name": "Store"`)):                                       "building H1: height_m is missing",
		write(t, "model.geojson", change(`sector-90-25`, `no-such-model`)):                                                               `sensor S3: model "no-such-model" is not a sensor model`,
		write(t, "id.geojson", change(`"id": "S3"`, `"id": 3`)):                                                                          "features[8] (sensor): id 3 is not text",
		write(t, "setting.geojson", change(`"version": 1,`, `"version": 1, "radio": {"frequency_mhz": 10},`)):                            "plan: pleach.radio.frequency_mhz 10 is not between 30 and 6000",
		write(t, "two-points.geojson", change(ring, `[[[-2.000874, 51.9996405], [-2, 52], [-2.000874, 51.9996405]], [`)):                 "boundary B1: geometry has a ring of 2 distinct points",
		write(t, "crossed.geojson", change(ring, ring+`[-1.999126, 52.0003595], `)):                                                      "boundary B1: geometry crosses itself near longitude",
		write(t, "latitude.geojson", change(`-2.0008448, 51.9996585`, `-2.0008448, 85`)):                                                 "sensor S1: geometry latitude 85 is not between -84 and 84",
		write(t, "version.geojson", change(`"version": 1`, `"version": 3`)):                                                              "pleach.version 3 is not 1",
	}
}

func TestABadPlanIsRefusedInOneLineByEveryCommand(t *testing.T) {
	pdf, csv := filepath.Join(t.TempDir(), "out.pdf"), filepath.Join(t.TempDir(), "out.csv")
	for path, want := range badPlans(t) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			refused(t, want, "check", path)
			refused(t, want, "check", path, "--json")
			refused(t, want, "print", path, "-o", pdf)
			if strings.HasPrefix(filepath.Base(path), "text.") {
				return // no JSON: link takes it for a profile
			}
			if filepath.Base(path) != "empty.geojson" {
				refused(t, want, "link", path, "--from", "S1", "--to", "RX", "--profile", csv)
			}
		})
	}
	missing(t, pdf)
	missing(t, csv)
}

func TestEveryThingWrongHasALineAndThereAreTwentyAtMost(t *testing.T) {
	text := read(t, compound)
	two := strings.Replace(strings.Replace(text, `"tilt_deg": 4`, `"tilt_deg": 95`, 1), `"height_m": 5`, `"height_m": -5`, 1)
	status, stdout, stderr := pleach("check", write(t, "two.geojson", two))
	if status != bad || stdout != "" || strings.Count(stderr, "\n") != 2 {
		t.Errorf("two things wrong: status %d, %q", status, stderr)
	}
	var many []string
	for range 30 {
		many = append(many, `{"type": "Feature", "properties": {"kind": "gate"}, "geometry": null}`)
	}
	path := write(t, "many.geojson", `{"type": "FeatureCollection", "pleach": {"version": 1}, "features": [`+strings.Join(many, ",")+`]}`)
	_, _, stderr = pleach("check", path)
	if n := strings.Count(stderr, "\n"); n != maxLines {
		t.Errorf("%d lines, want %d", n, maxLines)
	}
	for _, line := range strings.Split(strings.TrimSpace(stderr), "\n") {
		if !strings.HasPrefix(line, "pleach: ") {
			t.Errorf("line %q", line)
		}
	}
}

func TestCheckSaysByItsStatusWhetherAFaultIsOpen(t *testing.T) {
	works(t, faulty, "check", compound)
	works(t, faulty, "check", "--json", compound)
	// Without sensors and without a boundary nothing can be at fault.
	works(t, done, "check", write(t, "bare.geojson", `{"type": "FeatureCollection", "pleach": {"version": 1}, "features": []}`))

	// The plan's only faults, accepted, keep their severity and do not count.
	text := `{"type": "FeatureCollection", "pleach": {"version": 1%s}, "features": [
		{"type": "Feature", "id": "B1", "properties": {"kind": "boundary"}, "geometry": {"type": "LineString", "coordinates": [[7, 50], [7.001, 50]]}}]}`
	works(t, faulty, "check", write(t, "gap.geojson", strings.Replace(text, "%s", "", 1)))
	accepted := write(t, "accepted.geojson", strings.Replace(text, "%s", `, "accepted": [{"rule": "gap", "subject": ["B1"], "from_m": 0, "to_m": 71.7, "reason": "watched by people", "by": "N. N."}]`, 1))
	out := works(t, done, "check", accepted, "--json")
	if !strings.Contains(out, `"severity":"fault"`) || !strings.Contains(out, `"reason":"watched by people"`) {
		t.Errorf("an accepted fault is not in the report:\n%s", out)
	}
	if text := works(t, done, "check", accepted); !strings.Contains(text, "Accepted by N. N.: watched by people.") {
		t.Errorf("an accepted fault is not in the text:\n%s", text)
	}
}

func TestCheckIsTheSameRunAfterRun(t *testing.T) {
	first := works(t, faulty, "check", compound, "--json")
	for range 3 {
		if again := works(t, faulty, "check", compound, "--json"); again != first {
			t.Fatal("the report differs from run to run")
		}
	}
}

func TestCheckTellsAPlanWithoutSensorsWhatItsLengthAsksFor(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.geojson")
	boundary := write(t, "b.geojson", `{"type": "Polygon", "coordinates": [[[7, 50], [7.01, 50], [7.01, 50.01], [7, 50.01], [7, 50]]]}`)
	works(t, done, "new", "--boundary", boundary, "-o", path)
	out := works(t, faulty, "check", path)
	// 0.01° of latitude is 1112.3 m there, 0.01° of longitude 717.0 and 716.8 m
	// (WGS 84, from memory).
	for _, want := range []string{"3 658 m round", "79.7 ha", "for a straight line", "curtain-3-100", "sector-90-16"} {
		if !strings.Contains(strings.ToLower(out), strings.ToLower(want)) {
			t.Errorf("the text does not say %q:\n%s", want, out)
		}
	}
}

func TestPrintWritesAPDFAndNothingWhenItCannot(t *testing.T) {
	dir := t.TempDir()
	pdf := filepath.Join(dir, "site.pdf")
	for range 2 { // over the one before, too
		works(t, done, "print", compound, "-o", pdf, "--paper", "A4", "--mono", "--sheets", "layout")
		if got := read(t, pdf); !strings.HasPrefix(got, "%PDF-") || !strings.Contains(got[len(got)-32:], "%%EOF") {
			t.Errorf("not a PDF: %.40q", got)
		}
	}
	none := filepath.Join(dir, "none.pdf")
	refused(t, "does not fit", "print", compound, "--scale", "50", "--paper", "A4", "-o", none)
	missing(t, none)
	refused(t, "there is no folder", "print", compound, "-o", filepath.Join(dir, "no", "site.pdf"))
	names, _ := os.ReadDir(dir)
	if len(names) != 1 {
		t.Errorf("in the folder: %v", names)
	}
}

func TestAPrintAgainstAnEarlierPlanRefusesOneOfAnotherSite(t *testing.T) {
	dir := t.TempDir()
	pdf, none := filepath.Join(dir, "site.pdf"), filepath.Join(dir, "none.pdf")
	works(t, done, "print", compound, "-o", pdf, "--before", compound, "--sheets", "notes")
	other := write(t, "other.geojson", `{"type":"FeatureCollection","pleach":{"version":1},"features":[{"type":"Feature","id":"B1","properties":{"kind":"boundary"},
		"geometry":{"type":"Polygon","coordinates":[[[-120,-50],[-119.999,-50],[-119.999,-49.999],[-120,-50]]]}}]}`)
	refused(t, "other sites", "print", compound, "-o", none, "--before", other)
	refused(t, "no such file", "print", compound, "-o", none, "--before", filepath.Join(dir, "gone.geojson"))
	missing(t, none)
}

// The bill that is exported, with a column of prices added, prices the sheet.
func TestAnExportedBillWithPricesPricesTheBill(t *testing.T) {
	dir := t.TempDir()
	bill, pdf := filepath.Join(dir, "bill.csv"), filepath.Join(dir, "bill.pdf")
	works(t, done, "export", compound, "-o", bill, "--schedule", "bill")
	lines := strings.Split(strings.TrimSpace(read(t, bill)), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], "\r") + map[bool]string{true: ",Price", false: ",12.50"}[i == 0]
	}
	prices := write(t, "prices.csv", strings.Join(lines, "\n"))
	works(t, done, "print", compound, "-o", pdf, "--sheets", "bill", "--prices", prices)
	if got := read(t, pdf); !strings.HasPrefix(got, "%PDF-") {
		t.Errorf("not a PDF: %.40q", got)
	}
	wrong := write(t, "wrong.csv", "code,price\ncurtain,412\nsector,twelve\n")
	none := filepath.Join(dir, "none.pdf")
	refused(t, wrong+": line 3, column 2: price twelve is not an amount", "print", compound, "-o", none, "--sheets", "bill", "--prices", wrong)
	missing(t, none)
}

func TestAPlanWithoutItsPictureIsPrintedAndSaysSo(t *testing.T) {
	pdf := filepath.Join(t.TempDir(), "site.pdf")
	plan := write(t, "p.geojson", strings.Replace(read(t, compound), `"version": 1,`, `"version": 1, "base_map": {"file": "gone.tif"},`, 1))
	status, _, stderr := pleach("print", plan, "-o", pdf)
	if status != done || !strings.Contains(stderr, "gone.tif: no such file: printed without its picture") {
		t.Errorf("status %d, %q", status, stderr)
	}
}

func TestAPlanWhoseNationalGridIsNoneOfItsSiteIsNotPrinted(t *testing.T) {
	pdf := filepath.Join(t.TempDir(), "site.pdf")
	for crs, says := range map[string]string{"EPSG:2193": "is for use between", "EPSG:4326": "is not a grid on a map", "home": "is not a coordinate reference system"} {
		plan := write(t, "p.geojson", strings.Replace(read(t, compound), `"version": 1,`, `"version": 1, "national_grid": {"crs": "`+crs+`"},`, 1))
		refused(t, "national_grid.crs: ", "print", plan, "-o", pdf)
		refused(t, says, "print", plan, "-o", pdf)
		missing(t, pdf)
	}
}

func TestTheDemoIsUnpackedAndChecked(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	path := strings.TrimSpace(works(t, done, "demo"))
	out := works(t, faulty, "check", path, "--json")
	var report struct {
		Findings []struct{ Rule, Severity string }
	}
	if err := json.Unmarshal([]byte(out), &report); err != nil {
		t.Fatal(err)
	}
	faults := map[string]int{}
	for _, f := range report.Findings {
		if f.Severity == "fault" {
			faults[f.Rule]++
		}
	}
	for _, rule := range []string{"gap", "overspill", "link"} {
		if faults[rule] == 0 {
			t.Errorf("the demo shows no fault of rule %s: %v", rule, faults)
		}
	}
}

// The window's toolkit must not write a line of its own when a command runs.
func TestTheProgramItselfIsSilentWhateverTheLocale(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	binary := filepath.Join(t.TempDir(), "pleach")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, locale := range []string{"LANG=C.UTF-8", "LC_ALL=C.UTF-8", "LANG=xx_YY@odd", "LANG=", "LC_MESSAGES=C"} {
		var out, errs bytes.Buffer
		c := exec.Command(binary, "check", compound)
		c.Env = []string{locale, "HOME=" + t.TempDir()}
		c.Stdout, c.Stderr = &out, &errs
		err := c.Run()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != faulty {
			t.Errorf("%s: %v", locale, err)
		}
		if errs.Len() > 0 || !strings.HasPrefix(out.String(), "Invented compound\n") {
			t.Errorf("%s: standard error %q, standard output %.40q", locale, errs.String(), out.String())
		}
	}
}
