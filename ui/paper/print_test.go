package paper

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"pleach/assets/fonts"
	"pleach/model"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

func printed(t testing.TB, in Input, opt Options) (pdfFile, Info) {
	t.Helper()
	var b bytes.Buffer
	info, err := Print(&b, in, opt)
	if err != nil {
		t.Fatal(err)
	}
	return readPDF(t, b.Bytes()), info
}

// poppler runs one of poppler's tools on a PDF and returns what it prints.
func poppler(t *testing.T, raw []byte, tool string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(tool); err != nil {
		t.Skipf("%s is not installed (packages poppler-utils, qpdf)", tool)
	}
	name := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(name, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	for i := range args {
		args[i] = strings.ReplaceAll(args[i], "PDF", name)
	}
	out, err := exec.Command(tool, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", tool, err, out)
	}
	return string(out)
}

func TestOutsidePagesHaveTheSizesOfISO216(t *testing.T) {
	for _, row := range []struct {
		format        Format
		width, height float64
		source        string
	}{
		{A4, 210, 297, "ISO 216:2007, table 1, A4"},
		{A3, 297, 420, "ISO 216:2007, table 1, A3"},
	} {
		t.Run(row.format.String(), func(t *testing.T) {
			f, info := printed(t, site(t, oval(200, 150), 6), Options{Paper: row.format})
			w, h := f.box.Max[0], f.box.Max[1]
			if info.Landscape {
				w, h = h, w
			}
			if math.Abs(w-row.width) > 0.05 || math.Abs(h-row.height) > 0.05 {
				t.Errorf("page is %.2f by %.2f mm, want %v by %v (%s)", w, h, row.width, row.height, row.source)
			}
		})
	}
}

func TestOutsideScalesOfISO5455AreMarked(t *testing.T) {
	// ISO 5455:1979, clause 5: the reduction scales 1:2 to 1:10000.
	iso := map[int]bool{2: true, 5: true, 10: true, 20: true, 50: true, 100: true, 200: true, 500: true, 1000: true, 2000: true, 5000: true, 10000: true}
	last := 0
	for _, s := range Scales {
		t.Run(ratioText(s.Ratio), func(t *testing.T) {
			if s.ISO != iso[s.Ratio] {
				t.Errorf("marked %v, ISO 5455 says %v", s.ISO, iso[s.Ratio])
			}
			if s.Ratio <= last {
				t.Errorf("stands after 1:%d", last)
			}
			last = s.Ratio
		})
	}
}

// sheets are plans of every shape, to hold the laws of a sheet against.
func sheets(t testing.TB) map[string]Input {
	sheetsOnce.Do(func() { sheetsMade = makeSheets(t) })
	return sheetsMade
}

// They are made once: nothing changes them.
var (
	sheetsOnce sync.Once
	sheetsMade map[string]Input
)

func makeSheets(t testing.TB) map[string]Input {
	long := []model.Member{
		model.Prop("title", "Περίμετρος αποθήκης Κόκκινο Ύψωμα – Северный периметр склада, Žďár nad Sázavou, phase two with the new compound"),
		model.Prop("customer", "Consortium of the Upper Wendmarch Harbour, Railway and Cold Storage Undertakings, Department of Estates and Perimeter Safety"),
		model.Prop("designer", "Ž. Řehořová-Þórarinsdóttir 漢字 😀"), model.Prop("revision", "draft 14 for comment, not for construction"), model.Prop("date", "14 March 2026"),
		model.Prop("reference", "UWHRCS/EST/2026/PERIMETER/00000000000000000123456"), model.Prop("north", map[string]any{"declination_deg": 3.5, "on": "2026-01-01"}),
	}
	return map[string]Input{
		"the demo":            demo(t),
		"two hundred sensors": site(t, oval(760, 480), 200, long...),
		"sixty metres across": site(t, rectangle(60, 40), 4),
		"an open line":        site(t, orb.LineString{{0, 0}, {200, 30}, {400, -60}, {700, 20}}, 9),
		"two kilometres long": site(t, rectangle(2000, 60), 40, long...),
		"far taller":          site(t, rectangle(90, 1400), 30),
		"no sensors":          site(t, oval(300, 200), 0),
		"nothing at all":      {Plan: plan(t, nil)},
		"one sensor":          {Plan: plan(t, site(t, oval(300, 200), 1).Plan.Of(model.KindSensor))},
		"only a picture":      {Plan: plan(t, nil), Scene: demo(t).Scene, Picture: demo(t).Picture},
	}
}

func TestTheScaleBarIsTrueInThePDF(t *testing.T) {
	for name, in := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			f, info := printed(t, in, Options{})
			want := info.Bar.Metres / float64(info.Scale) * 1000
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, p := range f.pages[0].fills {
				b := orb.MultiPoint(p.points).Bound()
				if math.Abs(b.Min[1]-info.Bar.Y) < 0.01 && math.Abs(b.Max[1]-info.Bar.Y-barHeight) < 0.01 {
					lo, hi = math.Min(lo, b.Min[0]), math.Max(hi, b.Max[0])
				}
			}
			if math.Abs(hi-lo-want) > 0.2 {
				t.Errorf("the bar is %.2f mm long; %v m at 1:%d are %.2f mm", hi-lo, info.Bar.Metres, info.Scale, want)
			}
			if want < 30 || want > 110 {
				t.Errorf("the bar is %.1f mm long: too short or too long to be of use", want)
			}
		})
	}
}

func TestTheScaleBarIsTrueOnThePrint(t *testing.T) {
	const dpi = 300
	var b bytes.Buffer
	info, err := Print(&b, demo(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "page")
	px := func(mm float64) int { return int(mm / 25.4 * dpi) }
	x0, y0 := px(info.Bar.X-2), px(info.Bar.Y-5)
	poppler(t, b.Bytes(), "pdftoppm", "-r", fmt.Sprint(dpi), "-gray", "-x", fmt.Sprint(x0), "-y", fmt.Sprint(y0),
		"-W", fmt.Sprint(px(info.Bar.Length+6)), "-H", fmt.Sprint(px(20)), "-png", "-singlefile", "PDF", out)
	file, err := os.Open(out + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	img, err := png.Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	// Along the bar's lower outline, from well before to well after it.
	y := px(info.Bar.Y+barHeight-0.1) - y0
	first, last := -1, -1
	for x := 0; x < img.Bounds().Dx(); x++ {
		if r, _, _, _ := img.At(x, y).RGBA(); r < 0x8000 {
			if first < 0 {
				first = x
			}
			last = x
		}
	}
	got := float64(last-first+1) / dpi * 25.4
	want := info.Bar.Metres / float64(info.Scale) * 1000
	if first < 0 || math.Abs(got-want) > 0.2 {
		t.Errorf("the bar measures %.2f mm on the print; %v m at 1:%d are %.2f mm", got, info.Bar.Metres, info.Scale, want)
	}
}

// ground returns the distance of two places in metres on the WGS 84 ellipsoid.
//
// Source: the mid-latitude formula, e.g. Torge and Müller, Geodesy (2012),
// section 6.3 (radii of curvature in the meridian and the prime vertical); over
// a kilometre it is right to a millimetre.
func ground(a, b orb.Point) float64 {
	const semi, e2 = 6378137.0, 0.00669437999014
	lat := (a[1] + b[1]) / 2 * math.Pi / 180
	w := math.Sqrt(1 - e2*math.Sin(lat)*math.Sin(lat))
	n, m := semi/w, semi*(1-e2)/(w*w*w)
	return math.Hypot((b[0]-a[0])*math.Pi/180*n*math.Cos(lat), (b[1]-a[1])*math.Pi/180*m)
}

func TestOutsideCornersLieTrueToScale(t *testing.T) {
	for name, in := range map[string]Input{
		"the demo":            demo(t),
		"sixty metres across": site(t, rectangle(60, 40), 4),
		"two kilometres long": site(t, rectangle(2000, 60), 0),
		"far north":           {Plan: moved(t, oval(500, 400), 12, 78)},
	} {
		t.Run(name, func(t *testing.T) {
			f, info := printed(t, in, Options{})
			corners := in.Plan.Of(model.KindBoundary)[0].Geometry.(orb.Polygon)[0]
			// The line is the one stroke with as many corners, as heavy as a boundary is.
			heavy := drawing.NewTheme(drawing.Medium{Paper: true}).Style(drawing.Boundary).Pen.Width
			var path []orb.Point
			for _, s := range f.pages[0].strokes {
				if len(s.points) == len(corners) && math.Abs(s.width-heavy) < 0.01 {
					path = s.points
				}
			}
			if path == nil {
				t.Fatalf("no line of %d corners is drawn", len(corners))
			}
			for i := range corners {
				for j := range i {
					want := ground(corners[i], corners[j]) / float64(info.Scale) * 1000
					got := math.Hypot(path[i][0]-path[j][0], path[i][1]-path[j][1])
					if math.Abs(got-want) > 0.2 {
						t.Errorf("corners %d and %d lie %.2f mm apart, want %.2f at 1:%d", j, i, got, want, info.Scale)
					}
				}
			}
			// North is up: the corner farthest north is the highest.
			north, high := 0, 0
			for i := range corners {
				if corners[i][1] > corners[north][1]+1e-9 {
					north = i
				}
				if path[i][1] < path[high][1]-0.01 {
					high = i
				}
			}
			if math.Abs(path[north][1]-path[high][1]) > 0.2 {
				t.Errorf("corner %d lies farthest north, corner %d is highest on the sheet", north, high)
			}
			for i, p := range path {
				if !info.Map.Contains(p) {
					t.Errorf("corner %d at %v lies outside the map %v", i, p, info.Map)
				}
			}
		})
	}
}

// moved is a plan of one boundary elsewhere on the Earth.
func moved(t testing.TB, outline orb.LineString, lon, lat float64) *model.Plan {
	g := scene.On(plan(t, nil), place).Grid
	g.Lon0 = lon // a grid of the same shape about another meridian
	r := orb.Ring{}
	for _, p := range outline {
		r = append(r, orb.Point{lon + p[0]/111320/math.Cos(lat*math.Pi/180), lat + p[1]/111320})
	}
	r[len(r)-1] = r[0]
	return plan(t, []*model.Feature{model.NewFeature(model.KindBoundary, "B1", orb.Polygon{r})})
}

func TestAScaleThatDoesNotFitIsRefused(t *testing.T) {
	in := site(t, rectangle(1100, 700), 16)
	var b bytes.Buffer
	_, err := Print(&b, in, Options{Paper: A3, Scale: 500})
	if err == nil || b.Len() > 0 {
		t.Fatalf("error %v, %d bytes written", err, b.Len())
	}
	for _, want := range []string{"1:500", "A3", "1:5000"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not name %s", err, want)
		}
	}
	// What it names does fit, and the next larger one does not.
	if _, err := Print(&b, in, Options{Paper: A3, Scale: 5000}); err != nil {
		t.Error(err)
	}
	if _, err := Print(&b, in, Options{Paper: A3, Scale: 2500}); err == nil {
		t.Error("1:2500 was printed")
	}
	for _, scale := range []int{-1, 1, 49, 2_000_000} {
		if _, err := Print(&b, in, Options{Scale: scale}); err == nil || !strings.Contains(err.Error(), "between 1:50 and 1:1000000") {
			t.Errorf("scale 1:%d: %v", scale, err)
		}
	}
}

func TestASiteTooLargeForAnyUsualScaleNamesWhatLiesFarthestOut(t *testing.T) {
	in := site(t, rectangle(300, 200), 3)
	far := model.NewFeature(model.KindRepeater, "RP9", place.ToLonLat(orb.Point{40000, 0}), model.Prop("antenna_height_m", 5))
	p, err := model.Add{Features: []*model.Feature{far}}.Apply(in.Plan)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Print(&bytes.Buffer{}, Input{Plan: p}, Options{})
	if err == nil || !strings.Contains(err.Error(), "repeater RP9") {
		t.Errorf("%v", err)
	}
}

func TestTheSamePlanGivesTheSameBytes(t *testing.T) {
	for name, in := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			var a, b bytes.Buffer
			if _, err := Print(&a, in, Options{}); err != nil {
				t.Fatal(err)
			}
			if _, err := Print(&b, in, Options{}); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Error("two prints differ")
			}
			if !bytes.Contains(a.Bytes(), []byte("/ID [<")) {
				t.Error("the file has no identifier")
			}
		})
	}
}

func TestTheDateIsThePlans(t *testing.T) {
	for date, want := range map[string]string{"2019-03-14": "20190314000000", "14 March 2019": "20190314000000", "": "20010101000000", "soon": "20010101000000"} {
		t.Run(date, func(t *testing.T) {
			f, _ := printed(t, site(t, oval(300, 200), 0, model.Prop("date", date)), Options{})
			for _, key := range []string{"CreationDate", "ModDate"} {
				// A text string of a PDF may be in UTF-16.
				m := regexp.MustCompile(`/` + key + ` \(([^)]*)\)`).FindSubmatch(f.raw)
				if m == nil || strings.TrimPrefix(string(m[1]), "D:") != want {
					t.Errorf("%s is %q, want %s", key, m, want)
				}
			}
		})
	}
}

func TestTextCanBeExtractedAndFontsAreEmbedded(t *testing.T) {
	in := sheets(t)["two hundred sensors"]
	var b bytes.Buffer
	if _, err := Print(&b, in, Options{}); err != nil {
		t.Fatal(err)
	}
	text := poppler(t, b.Bytes(), "pdftotext", "-enc", "UTF-8", "PDF", "-")
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{"Κόκκινο Ύψωμα", "Северный периметр", "Žďár nad Sázavou", "Řehořová-Þórarinsdóttir 漢字", "magnetic 3.5° E", "S200", "1:5000"} {
		if !strings.Contains(flat, want) {
			t.Errorf("%q is not in the text", want)
		}
	}
	lines := strings.Split(strings.TrimSpace(poppler(t, b.Bytes(), "pdffonts", "PDF")), "\n")[2:]
	if len(lines) != 2 {
		t.Errorf("%d fonts, want 2: %q", len(lines), lines)
	}
	for _, l := range lines {
		if f := strings.Fields(l); len(f) < 8 || f[4] != "yes" || f[6] != "yes" {
			t.Errorf("not embedded with Unicode: %s", l)
		}
	}
	info := poppler(t, b.Bytes(), "pdfinfo", "PDF")
	for _, want := range []string{`Title: +Περίμετρος`, `Author: +Ž. Řehořová`, `CreationDate: .*Mar 14 .*2026`} {
		if !regexp.MustCompile(want).MatchString(info) {
			t.Errorf("%s is not in\n%s", want, info)
		}
	}
}

func TestEverySheetSaysWhatItIsWorthAndWhichItIs(t *testing.T) {
	for name, in := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			f, info := printed(t, in, Options{})
			if len(f.pages) != info.Sheets {
				t.Fatalf("%d pages, %d sheets", len(f.pages), info.Sheets)
			}
			for i, p := range f.pages {
				text := p.text()
				for _, want := range []string{"walk test", "work at height", "accredited installer", fmt.Sprintf("%d of %d", i+1, info.Sheets), ratioText(info.Scale)} {
					if !strings.Contains(text, want) {
						t.Errorf("sheet %d lacks %q", i+1, want)
					}
				}
			}
		})
	}
}

func TestEveryDeviceHasARowInTheSchedule(t *testing.T) {
	for name, in := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			f, _ := printed(t, in, Options{})
			rows := map[string]int{}
			for _, p := range f.pages {
				for text, n := range rowsOf(p) {
					rows[text] += n
				}
			}
			for _, d := range in.Plan.Of(model.KindSensor, model.KindRepeater, model.KindReceiver) {
				if rows[d.ID] != 1 {
					t.Errorf("%s has %d rows", d.ID, rows[d.ID])
				}
			}
		})
	}
}

func TestTwentySensorsAndTheirScheduleStandOnOneA3Sheet(t *testing.T) {
	for name, in := range map[string]Input{"the demo": demo(t), "an oval": site(t, oval(430, 280), 20), "a line": site(t, orb.LineString{{0, 0}, {300, 40}, {600, 0}}, 20)} {
		t.Run(name, func(t *testing.T) {
			f, _ := printed(t, in, Options{Paper: A3})
			rows := rowsOf(f.pages[0])
			for _, d := range in.Plan.Of(model.KindSensor) {
				if rows[d.ID] != 1 {
					t.Errorf("%s has %d rows on the first sheet", d.ID, rows[d.ID])
				}
			}
		})
	}
}

// rowsOf counts what is written in the type of schedules.
func rowsOf(p pdfPage) map[string]int {
	rows := map[string]int{}
	for _, x := range p.texts {
		if math.Abs(x.size-sizeSchedule) < 0.01 {
			rows[x.s]++
		}
	}
	return rows
}

func TestTextStandsWithinTheFrameAndIsLargeEnough(t *testing.T) {
	for name, in := range sheets(t) {
		for _, paper := range []Format{A4, A3} {
			t.Run(name+" on "+paper.String(), func(t *testing.T) {
				var b bytes.Buffer
				_, err := Print(&b, in, Options{Paper: paper})
				if err != nil {
					if strings.Contains(err.Error(), "no usual scale") {
						t.Skip(err)
					}
					t.Fatal(err)
				}
				f := readPDF(t, b.Bytes())
				for i, p := range f.pages {
					for _, x := range p.texts {
						w := math.Max(width(x.s, x.size, false), width(x.s, x.size, true))
						if x.at[0] < margin-0.1 || x.at[1]-x.size*fonts.CapHeight < margin-0.1 || x.at[0]+w > f.box.Max[0]-margin+0.1 || x.at[1] > f.box.Max[1]-margin+0.1 {
							t.Errorf("sheet %d: %q at %.1f, %.1f reaches beyond the frame", i+1, x.s, x.at[0], x.at[1])
						}
						capitals := x.size * fonts.CapHeight
						if capitals < 1.8-0.005 {
							t.Errorf("sheet %d: capitals of %q are %.2f mm high", i+1, x.s, capitals)
						}
					}
				}
			})
		}
	}
}

func TestASheetWithoutColourHasNone(t *testing.T) {
	f, _ := printed(t, demo(t), Options{Mono: true})
	for _, p := range f.pages {
		for _, c := range p.colours {
			if c[0] != c[1] || c[1] != c[2] {
				t.Fatalf("colour %v", c)
			}
		}
	}
	if bytes.Contains(f.raw, []byte("/ColorSpace /DeviceRGB")) || !bytes.Contains(f.raw, []byte("/ColorSpace /DeviceGray")) {
		t.Error("the picture has colour")
	}
	if f, _ := printed(t, demo(t), Options{}); !bytes.Contains(f.raw, []byte("/ColorSpace /DeviceRGB")) {
		t.Error("the coloured sheet has a grey picture")
	}
}

func TestTheLegendHasWhatOccursAndNothingElse(t *testing.T) {
	with, _ := printed(t, site(t, orb.LineString{{0, 0}, {400, 0}}, 2), Options{})
	without, _ := printed(t, site(t, oval(300, 200), 0), Options{})
	for text, has := range map[string][2]bool{
		"Gap, numbered": {true, true}, "Receiver": {true, false}, "Repeater": {false, false}, "Boundary": {true, true},
		"Detection pattern": {true, false}, "Public road": {false, false},
	} {
		for i, f := range []pdfFile{with, without} {
			got := false
			for _, x := range f.pages[0].texts {
				got = got || x.s == text && math.Abs(x.size-sizeBody) < 0.01
			}
			if text == "Boundary" { // the summary says it too
				continue
			}
			if got != has[i] {
				t.Errorf("%q in the legend of sheet %d: %v", text, i, got)
			}
		}
	}
}

func TestTheSummarySaysWhatTheResultSays(t *testing.T) {
	in := site(t, orb.LineString{{0, 0}, {400, 0}}, 2)
	text := strings.ReplaceAll(func() string { f, _ := printed(t, in, Options{}); return f.pages[0].text() }(), string(hardSpace), " ")
	b := in.Result.Boundaries[0]
	gaps, length := len(b.Target.Gaps), 0.0
	for _, g := range b.Target.Gaps {
		length += g.Length
	}
	for _, want := range []string{
		fmt.Sprintf("Boundary %.0f m", b.Length),
		fmt.Sprintf("Covered %.0f m, %d %%", b.Target.Covered, int(100*b.Target.Covered/b.Length)),
		fmt.Sprintf("Gaps %d, %.0f m in all", gaps, length),
		"Overspill none", "2 links in use", fmt.Sprintf("Findings %d faults", len(in.Result.Findings)),
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in %q", want, text)
		}
	}
}

func TestMagneticNorthShowsWhereItDiffers(t *testing.T) {
	for _, row := range []struct {
		declination float64
		want        string
	}{{0, ""}, {3.5, "magnetic 3.5° E"}, {-12, "magnetic 12° W"}} {
		t.Run(fmt.Sprint(row.declination), func(t *testing.T) {
			f, _ := printed(t, site(t, oval(300, 200), 2, model.Prop("north", map[string]any{"declination_deg": row.declination})), Options{})
			text := f.pages[0].text()
			if row.want == "" && strings.Contains(text, "magnetic") || !strings.Contains(text, row.want) {
				t.Errorf("want %q in %q", row.want, text)
			}
		})
	}
}

func TestLabelsNeverCoverEachOtherOrAMark(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		w := rapid.Float64Range(60, 900).Draw(r, "width")
		h := rapid.Float64Range(40, 700).Draw(r, "height")
		n := rapid.IntRange(0, 80).Draw(r, "sensors")
		in := site(t, oval(w, h), n)
		list := compose(in)
		theme := drawing.NewTheme(drawing.Medium{Paper: true})
		view := drawing.View{MetresPerUnit: rapid.SampledFrom([]float64{0.5, 1, 2.5, 5, 10}).Draw(r, "scale"), Width: 260, Height: 230}
		labels := drawing.PlaceLabels(list, view, theme).Labels
		for i, a := range labels {
			if a.Box.Min[0] < 0 || a.Box.Min[1] < 0 || a.Box.Max[0] > view.Width || a.Box.Max[1] > view.Height {
				r.Fatalf("label %q reaches beyond the map: %v", a.Text, a.Box)
			}
			for _, b := range labels[:i] {
				if overlap(a.Box, b.Box) {
					r.Fatalf("labels %q and %q overlap: %v, %v", a.Text, b.Text, a.Box, b.Box)
				}
			}
			for k := range list.Items {
				it := &list.Items[k]
				if it.Kind != drawing.MarkKind {
					continue
				}
				u, half := view.ToUnit(it.At), theme.Style(it.Meaning).Size/2
				if overlap(a.Box, orb.Bound{Min: orb.Point{u[0] - half, u[1] - half}, Max: orb.Point{u[0] + half, u[1] + half}}) {
					r.Fatalf("label %q covers the mark of %s", a.Text, it.ID)
				}
			}
		}
	})
}

func overlap(a, b orb.Bound) bool {
	const tol = 1e-6
	return a.Min[0] < b.Max[0]-tol && b.Min[0] < a.Max[0]-tol && a.Min[1] < b.Max[1]-tol && b.Min[1] < a.Max[1]-tol
}

func TestPartsOfASheetNeverOverlap(t *testing.T) {
	word := rapid.StringMatching(`[A-Za-zÄ-žΑ-ωА-я0-9 /.,-]{0,90}`)
	rapid.Check(t, func(r *rapid.T) {
		set := []model.Member{}
		for _, k := range []string{"title", "customer", "reference", "designer", "revision", "date"} {
			set = append(set, model.Prop(k, word.Draw(r, k)))
		}
		if rapid.Bool().Draw(r, "declination") {
			set = append(set, model.Prop("north", map[string]any{"declination_deg": rapid.Float64Range(-30, 30).Draw(r, "east"), "on": word.Draw(r, "on")}))
		}
		in := site(t, rectangle(rapid.Float64Range(30, 1500).Draw(r, "w"), rapid.Float64Range(30, 1500).Draw(r, "h")), rapid.IntRange(0, 60).Draw(r, "n"), set...)
		for range rapid.IntRange(0, 40).Draw(r, "faults") {
			in.Result.Findings = append(in.Result.Findings, model.Finding{Rule: "gap", Severity: model.Fault, Text: word.Draw(r, "text")})
		}
		s := newSheet(in, Options{Paper: rapid.SampledFrom([]Format{Auto, A4, A3}).Draw(r, "paper")})
		if err := s.settle(); err != nil {
			if strings.Contains(err.Error(), "no usual scale") {
				return
			}
			r.Fatal(err)
		}
		for i, l := range append([]layout{s.layout}, furtherLayouts(s)...) {
			check := func(name string, a orb.Bound, frame box) {
				if a.Min[0] < frame.x-1e-6 || a.Min[1] < frame.y-1e-6 || a.Max[0] > frame.x+frame.w+1e-6 || a.Max[1] > frame.y+frame.h+1e-6 {
					r.Fatalf("sheet %d: %s at %v reaches beyond %v", i+1, name, a, frame)
				}
			}
			var boxes []orb.Bound
			for _, p := range l.blocks {
				a := orb.Bound{Min: orb.Point{p.x, p.y}, Max: orb.Point{p.x + p.w, p.y + p.height(p.w)}}
				check(fmt.Sprintf("%T", p.block), a, l.frame)
				for k, b := range boxes {
					if overlap(a, b) {
						r.Fatalf("sheet %d: %T %v and %T %v overlap", i+1, p.block, a, l.blocks[k].block, b)
					}
				}
				boxes = append(boxes, a)
				if i == 0 && overlap(a, orb.Bound{Min: orb.Point{l.picture.x, l.picture.y}, Max: orb.Point{l.picture.x + l.picture.w, l.picture.y + l.picture.h}}) {
					r.Fatalf("%T %v lies on the map %v", p.block, a, l.picture)
				}
			}
		}
	})
}

// furtherLayouts are the sheets after the first as layouts, title block and
// caution included.
func furtherLayouts(s *sheet) (out []layout) {
	for _, p := range s.further(s.layout) {
		l := layout{frame: s.layout.frame, blocks: p.blocks}
		h := s.footHeight(s.layout)
		l.blocks = append(l.blocks, placed{filler(h), l.frame.x, l.frame.y + l.frame.h - h, l.frame.w})
		out = append(out, l)
	}
	return out
}

// filler is a block of a given height.
type filler float64

func (f filler) height(float64) float64            { return float64(f) }
func (f filler) draw(d *document, x, y, w float64) {}

func TestAnyTextCanBePrinted(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		in := site(t, rectangle(100, 80), 1, model.Prop("title", rapid.String().Draw(r, "title")), model.Prop("customer", rapid.String().Draw(r, "customer")))
		if _, err := Print(&bytes.Buffer{}, in, Options{}); err != nil {
			r.Fatal(err)
		}
	})
}
