package paper

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"pleach/assets/fonts"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
)

// analysed is the demo plan with its whole result, on level ground.
func analysed(t testing.TB) Input {
	t.Helper()
	analysedOnce.Do(func() {
		p, err := planfile.Read("../../assets/demo/demo.geojson")
		if err != nil {
			t.Fatal(err)
		}
		r, err := analysis.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		analysedMade = Input{Plan: p, Scene: r.Scene, Result: r}
	})
	return analysedMade
}

var (
	analysedOnce sync.Once
	analysedMade Input
)

// golden compares text with a file of testdata; with PLEACH_GOLDEN=1 it writes
// the file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if os.Getenv("PLEACH_GOLDEN") == "1" {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); d != "" {
		t.Errorf("%s differs (-golden +now):\n%s", name, d)
	}
}

func TestEverySheetOfTheSetIsAsItWas(t *testing.T) {
	for _, name := range Sheets() {
		if name == layoutName {
			continue
		}
		t.Run(name, func(t *testing.T) {
			f, _ := printed(t, analysed(t), Options{Sheets: []string{name}})
			var b strings.Builder
			for i, p := range f.pages {
				fmt.Fprintf(&b, "page %d\n", i+1)
				for _, w := range p.texts {
					fmt.Fprintf(&b, "%.1f %.1f %s\n", w.at[0], w.at[1], w.s)
				}
			}
			golden(t, name+".txt", b.String())
		})
	}
}

func TestNothingOfASetIsCutOffOrWrittenOver(t *testing.T) {
	ins := map[string]Input{"the demo": analysed(t), "levels read on site": surveyed(t, 40)}
	for name, in := range sheets(t) {
		ins[name] = in
	}
	for name, in := range ins {
		for _, opt := range []Options{{}, {Paper: A3, Mono: true}} {
			t.Run(name+" on "+opt.Paper.String(), func(t *testing.T) {
				for _, sheet := range Sheets() {
					if sheet == layoutName {
						continue
					}
					opt.Sheets = []string{sheet}
					f, info := printed(t, in, opt)
					w, h := info.Paper.Size(info.Landscape)
					for n, p := range f.pages {
						for _, a := range p.texts {
							x0, y1 := a.at[0], a.at[1]
							x1, y0 := x0+fonts.Advance(false, a.s)*a.size, y1-a.size*fonts.CapHeight
							if x0 < margin || y0 < margin || x1 > w-margin+0.01 || y1 > h-margin+0.01 {
								t.Errorf("%s page %d: %q at %.1f, %.1f leaves the frame", sheet, n+1, a.s, x0, y1)
							}
							for _, b := range p.texts {
								if a.at == b.at {
									continue
								}
								bx1, by0 := b.at[0]+fonts.Advance(false, b.s)*b.size, b.at[1]-b.size*fonts.CapHeight
								if over := math.Min(x1, bx1) - math.Max(x0, b.at[0]); over > 0.3 && math.Min(y1, b.at[1])-math.Max(y0, by0) > 0.3 {
									t.Errorf("%s page %d: %q is written over %q", sheet, n+1, a.s, b.s)
								}
							}
						}
					}
				}
			})
		}
	}
}

func TestASetIsOneDocumentWithBookmarksAndItsTitleInTheTitleBar(t *testing.T) {
	in, opt := analysed(t), Options{Sheets: Sheets()}
	var a, b bytes.Buffer
	info, err := Print(&a, in, opt)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Print(&b, in, opt); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same plan gives other bytes")
	}
	if !bytes.Contains(a.Bytes(), []byte("/ViewerPreferences <</DisplayDocTitle true>>")) {
		t.Error("the title is not asked for in the title bar")
	}
	f := readPDF(t, a.Bytes())
	if len(f.pages) != info.Sheets {
		t.Errorf("%d pages, %d sheets", len(f.pages), info.Sheets)
	}
	for i, p := range f.pages {
		if want := fmt.Sprintf("%d of %d", i+1, info.Sheets); !strings.Contains(p.text(), want) {
			t.Errorf("page %d does not say %q", i+1, want)
		}
	}
	// poppler reads the document's table of objects too: a wrong place is told.
	if said := poppler(t, a.Bytes(), "pdfinfo", "PDF"); strings.Contains(said, "rror") || !strings.Contains(said, in.Plan.Settings.Title) {
		t.Errorf("pdfinfo says:\n%s", said)
	}
	for _, name := range Sheets() {
		if SheetTitle(name) == "" {
			t.Errorf("sheet %s has no title", name)
		}
	}
}

func TestSheetsAreReadInTheOrderOfTheSetAndOthersRefused(t *testing.T) {
	for list, want := range map[string]string{"": "layout", "notes,boundary": "boundary notes", "notes, layout notes": "layout notes"} {
		got, err := ParseSheets(list)
		if err != nil || strings.Join(got, " ") != want {
			t.Errorf("%q: %v, %v, want %s", list, got, err, want)
		}
	}
	if _, err := ParseSheets("notes plinth"); err == nil || !strings.Contains(err.Error(), "plinth") || !strings.Contains(err.Error(), strings.Join(Sheets(), " ")) {
		t.Errorf("plinth: %v", err)
	}
}

func TestTheRowsOfABoundaryAddUpToIt(t *testing.T) {
	res := analysed(t).Result
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		sum, gap := 0.0, 0.0
		last := 0.0
		for _, r := range boundaryRows(res, b) {
			var from, to float64
			if _, err := fmt.Sscan(r.cells[0]+" "+r.cells[1], &from, &to); err != nil {
				t.Fatal(err)
			}
			if math.Abs(from-last) > 1e-9 {
				t.Errorf("%s: a row begins at %v, the one before ends at %v", b.ID, from, last)
			}
			last, sum = to, sum+to-from
			if strings.HasPrefix(r.cells[3], "gap") {
				gap += to - from
			} else if r.cells[3] == "covered" && r.cells[4] == "" {
				t.Errorf("%s: nobody covers %v to %v m", b.ID, from, to)
			}
		}
		want := 0.0
		for _, g := range b.Target.Gaps {
			want += g.Length
		}
		if math.Abs(sum-b.Length) > 0.1 || math.Abs(gap-want) > 0.2 {
			t.Errorf("%s: rows sum to %v m with %v m of gaps; it is %v m with %v m", b.ID, sum, gap, b.Length, want)
		}
	}
}

func TestNotesHoldEveryFindingAndSetting(t *testing.T) {
	in := analysed(t)
	s := newSheet(in, Options{})
	open, accepted := s.findingRows()
	if len(open)+len(accepted) != len(in.Result.Findings) {
		t.Errorf("%d and %d rows for %d findings", len(open), len(accepted), len(in.Result.Findings))
	}
	rows := s.settingRows()
	want := len(in.Plan.Settings.Postures) - 6 // of the title block
	for _, d := range model.SettingsTable {
		if !model.ForSheets(d.Path) {
			want++
		}
	}
	if len(rows) != want {
		t.Errorf("%d settings, want %d", len(rows), want)
	}
}

func TestEveryDeviceHasItsPostSheet(t *testing.T) {
	in := analysed(t)
	f, _ := printed(t, in, Options{Sheets: []string{"posts"}})
	var all strings.Builder
	for _, p := range f.pages {
		all.WriteString(p.text() + "\n")
	}
	said := all.String()
	for _, d := range in.Scene.Devices {
		if !strings.Contains(said, "Post sheet "+d.Feature.ID) {
			t.Errorf("%s has no post sheet", d.Feature.ID)
		}
	}
	if !strings.Contains(said, "Sight on the mark, not by compass near steel.") {
		t.Error("nobody is told to sight on the mark")
	}
}

func TestOffsetsLeadBackToTheDevice(t *testing.T) {
	sc := analysed(t).Scene
	for _, d := range sc.Devices {
		for _, o := range offsets(sc, d) {
			var far, bearing float64
			if _, err := fmt.Sscanf(o, "%f", &far); err != nil {
				t.Fatal(err)
			}
			_, tail, _ := strings.Cut(o, "on a bearing of ")
			if _, err := fmt.Sscanf(tail, "%f", &bearing); err != nil {
				t.Fatal(err)
			}
			// A corner of the plan must stand where the tape leads back to.
			sin, cos := math.Sincos(bearing * math.Pi / 180)
			x, y := d.At[0]-far*sin, d.At[1]-far*cos
			near := math.Inf(1)
			for _, f := range fixed(sc.Plan) {
				if g := sc.Shape(f.ID); g != nil {
					for _, c := range corners(g) {
						near = math.Min(near, math.Hypot(c[0]-x, c[1]-y))
					}
				}
			}
			if near > 0.01+far*0.5*math.Pi/180 {
				t.Errorf("%s: %s leads to a place %.2f m from any corner", d.Feature.ID, o, near)
			}
		}
	}
}

func fixed(p *model.Plan) []*model.Feature {
	return p.Of(model.KindBuilding, model.KindObstacle, model.KindBoundary, model.KindGate)
}

func corners(g orb.Geometry) []orb.Point {
	switch g := g.(type) {
	case orb.Polygon:
		return g[0]
	case orb.LineString:
		return append([]orb.Point{g.Bound().Center()}, g...)
	case orb.Point:
		return []orb.Point{g}
	}
	return nil
}

func BenchmarkSetForSixtySensors(b *testing.B) {
	in := site(b, oval(760, 480), 60)
	r, err := analysis.Run(context.Background(), in.Plan, nil)
	if err != nil {
		b.Fatal(err)
	}
	in = Input{Plan: in.Plan, Scene: r.Scene, Result: r}
	n := 0
	for b.Loop() {
		var out bytes.Buffer
		info, err := Print(&out, in, Options{Sheets: Sheets()})
		if err != nil {
			b.Fatal(err)
		}
		n = info.Sheets
	}
	b.ReportMetric(float64(n), "sheets")
}

func TestAddressesAreToldBothWays(t *testing.T) {
	fs := []*model.Feature{
		model.NewFeature(model.KindReceiver, "RX", orb.Point{10, 50}, model.Prop("antenna_height_m", 5), model.Prop("outputs", []any{
			map[string]any{"zone": "North", "type": "relay", "number": "1"}, map[string]any{"zone": "Empty", "type": "relay", "number": "1"}})),
	}
	for i, s := range []struct {
		address int
		zone    string
	}{{5, "North"}, {5, "North"}, {700, "South"}} {
		fs = append(fs, model.NewFeature(model.KindSensor, fmt.Sprintf("S%d", i+1), orb.Point{10, 50.001 + float64(i)*0.0001}, model.Prop("model", "curtain-4-63"),
			model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 0), model.Prop("tilt_deg", 2), model.Prop("address", s.address), model.Prop("zone", s.zone)))
	}
	s := newSheet(Input{Plan: plan(t, fs), Scene: scene.New(plan(t, fs))}, Options{})
	in, out := s.addressRows(), s.outputRows()
	for _, row := range []struct {
		got, want string
	}{
		{in[0].cells[1], "00000101"},
		{in[0].cells[6], "RX relay 1"},
		{in[0].cells[7], "Address used more than once"},
		{in[2].cells[7], "Address beyond the switches; its zone has no output"},
		{out[0].cells[6], "S1, S2"},
		{out[0].cells[7], "Zone Empty leads to it too"},
		{out[1].cells[7], "No sensor is in this zone; zone North leads to it too"},
	} {
		if row.got != row.want {
			t.Errorf("%q, want %q", row.got, row.want)
		}
	}
}

func TestEverySensorAndGapIsWalked(t *testing.T) {
	res := analysed(t).Result
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		said := ""
		for _, c := range crossings(b) {
			said += strings.Join(c.why, "\n") + "\n"
			if c.at < 0 || c.at > b.Length {
				t.Errorf("%s: a line at %v m", b.ID, c.at)
			}
			for _, why := range c.why {
				if name, ok := strings.CutPrefix(why, "middle of gap"); ok && c.expect != nil {
					t.Errorf("gap%s: %v are to report", name, c.expect)
				} else if _, id, _ := strings.Cut(why, " of "); !ok && !slices.Contains(c.expect, id) {
					t.Errorf("%s at %v m: only %v are to report", why, c.at, c.expect)
				}
			}
		}
		for _, p := range b.Spans {
			if len(p.Spans) > 0 && !strings.Contains(said, "middle of "+p.ID+"\n") {
				t.Errorf("%s is not walked", p.ID)
			}
		}
		for k := range b.Target.Gaps {
			if !strings.Contains(said, fmt.Sprintf("middle of gap %d\n", k+1)) {
				t.Errorf("gap %d is not walked", k+1)
			}
		}
	}
}

func TestTheCustomerSheetHasNoAddressesMarginsOrDeviceNames(t *testing.T) {
	in := analysed(t)
	f, _ := printed(t, in, Options{Sheets: []string{"customer"}})
	said := ""
	for _, p := range f.pages {
		said += p.text() + " "
	}
	for _, d := range in.Scene.Devices {
		if n := d.Feature.Name; n != "" && strings.Contains(said, n) {
			t.Errorf("it names %s", n)
		}
	}
	for _, word := range []string{" dB", "ddress"} {
		if strings.Contains(said, word) {
			t.Errorf("it says %q", word)
		}
	}
	if !strings.Contains(said, "in all, marked 1") || !strings.Contains(said, "take no pictures") {
		t.Errorf("it says only: %s", said)
	}
}

func TestAScheduleWithAWordOfTenThousandLettersKeepsItsColumns(t *testing.T) {
	s := schedule{look: look{}, columns: addressColumns}
	long := strings.Repeat("x", 10_000)
	s.rows = []row{{cells: []string{"5", "00000101", "S1", long, "sensor", long, long, long}}}
	for _, w := range []float64{180, 267, 390} {
		sum := -cellGap
		for i, c := range s.widths(w) {
			if sum += c + cellGap; c < width(s.columns[i].head, sizeSchedule, true)/2 {
				t.Errorf("%v mm: column %q is %.1f mm wide", w, s.columns[i].head, c)
			}
		}
		if sum > w+0.01 {
			t.Errorf("the columns take %.1f mm of %v", sum, w)
		}
	}
}
