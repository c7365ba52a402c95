package paper

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"pleach/assets/fonts"
	"pleach/model"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

// wide is a site that takes several sheets at 1:500, with a repeater every 30 m
// along its boundary.
func wide(t testing.TB) Input {
	t.Helper()
	in := site(t, oval(900, 500), 40, model.Prop("title", "Broad field"))
	b := in.Scene.Boundaries[0]
	var more []*model.Feature
	for s := 0.0; s < b.Length(); s += 30 {
		more = append(more, model.NewFeature(model.KindRepeater, fmt.Sprintf("RP%d", len(more)+1), in.Scene.Grid.ToLonLat(b.Point(s)), model.Prop("antenna_height_m", 5)))
	}
	p, err := model.Add{Features: more}.Apply(in.Plan)
	if err != nil {
		t.Fatal(err)
	}
	return Input{Plan: p}
}

// repeaters returns where the dots of repeaters lie on a page, millimetres: small
// discs.
func repeaters(p pdfPage, within orb.Bound) (at []orb.Point) {
	for _, f := range p.fills {
		b := orb.MultiPoint(f.points).Bound()
		if w := b.Max[0] - b.Min[0]; len(f.points) > 8 && w > 0.5 && w < 1.3 && math.Abs(b.Max[1]-b.Min[1]-w) < 0.02 && within.Contains(b.Center()) {
			at = append(at, b.Center())
		}
	}
	return at
}

func TestOutsideEverySheetOfATilingIsTrueToScale(t *testing.T) {
	in := wide(t)
	for _, opt := range []Options{{Tile: true, Scale: 500, Paper: A3}, {Tile: true, Scale: 500, Paper: A4}, {Tile: true, Scale: 1000, Paper: A4, Mono: true}} {
		t.Run(fmt.Sprintf("%s at %s", ratioText(opt.Scale), opt.Paper), func(t *testing.T) {
			f, info := printed(t, in, opt)
			if len(info.Tiles) < 4 || info.TileScale != opt.Scale {
				t.Fatalf("%d sheets at %s", len(info.Tiles), ratioText(info.TileScale))
			}
			all := in.Plan.Of(model.KindRepeater)
			grid := scene.New(in.Plan).Grid
			found := map[string][]orb.Point{} // where a dot lies on the ground, by each sheet
			for _, tile := range info.Tiles {
				on := map[string]orb.Point{}
				for _, p := range repeaters(f.pages[tile.Sheet-1], tile.Map) {
					// Whose it is: that of the nearest repeater, by the view.
					g := tile.View.ToGrid(orb.Point{p[0] - tile.Map.Min[0], p[1] - tile.Map.Min[1]})
					for _, r := range all {
						at := grid.ToSite(r.Geometry.(orb.Point))
						if math.Hypot(at[0]-g[0], at[1]-g[1]) < 2 {
							if d := math.Hypot(at[0]-g[0], at[1]-g[1]) / float64(opt.Scale) * 1000; d > 0.05 {
								t.Errorf("sheet %d: %s lies %.3f mm from its place", tile.Sheet, r.ID, d)
							}
							on[r.ID] = p
							found[r.ID] = append(found[r.ID], g)
						}
					}
				}
				// Distances on one sheet against those on the ellipsoid (see ground).
				for a, p := range on {
					for b, q := range on {
						if a >= b {
							continue
						}
						want := ground(in.Plan.Feature(a).Geometry.(orb.Point), in.Plan.Feature(b).Geometry.(orb.Point)) / float64(opt.Scale) * 1000
						if got := math.Hypot(p[0]-q[0], p[1]-q[1]); math.Abs(got-want) > 0.05 {
							t.Errorf("sheet %d: %s and %s lie %.3f mm apart, want %.3f", tile.Sheet, a, b, got, want)
						}
					}
				}
			}
			twice := 0
			for _, r := range all {
				g := found[r.ID]
				if len(g) == 0 {
					t.Errorf("%s is on no sheet", r.ID)
				}
				for _, p := range g[min(1, len(g)):] {
					twice++
					if d := math.Hypot(p[0]-g[0][0], p[1]-g[0][1]) / float64(opt.Scale) * 1000; d > 0.05 {
						t.Errorf("%s lies in places %.3f mm apart on two sheets", r.ID, d)
					}
				}
			}
			if twice == 0 {
				t.Error("no repeater stands on two sheets: the test shows nothing of the overlap")
			}
		})
	}
}

func TestBarsOfSheetsAndDetailsAreTrueInThePDF(t *testing.T) {
	measure := func(t *testing.T, p pdfPage, bar Bar, scale int) {
		t.Helper()
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, f := range p.fills {
			b := orb.MultiPoint(f.points).Bound()
			if math.Abs(b.Min[1]-bar.Y) < 0.01 && math.Abs(b.Max[1]-bar.Y-barHeight) < 0.01 && b.Min[0] > bar.X-0.1 && b.Max[0] < bar.X+bar.Length+0.5 {
				lo, hi = math.Min(lo, b.Min[0]), math.Max(hi, b.Max[0])
			}
		}
		if want := bar.Metres / float64(scale) * 1000; math.Abs(hi-lo-want) > 0.2 || want < 20 {
			t.Errorf("the bar is %.2f mm long; %v m at 1:%d are %.2f mm", hi-lo, bar.Metres, scale, want)
		}
	}
	f, info := printed(t, wide(t), Options{Tile: true, Scale: 500})
	for _, tile := range info.Tiles {
		measure(t, f.pages[tile.Sheet-1], tile.Bar, info.TileScale)
	}
	f, info = printed(t, analysed(t), Options{Sheets: []string{layoutName, detailName}})
	if len(info.Details) < 2 {
		t.Fatalf("%d details of the demo", len(info.Details))
	}
	for _, d := range info.Details {
		measure(t, f.pages[d.Sheet-1], d.Bar, d.Scale)
		if got := d.View.MetresPerUnit * 1000; math.Abs(got-float64(d.Scale)) > 1e-9 || math.Abs(d.Map.Max[0]-d.Map.Min[0]-d.View.Width) > 1e-9 {
			t.Errorf("detail %s is drawn at 1:%v in %v", d.Letter, got, d.Map)
		}
	}
}

// Sheets that are left out lean on those beside them, which may then not be left
// out in their turn.
func TestEverySpotIsOnASheet(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		const w, h = 90.0, 70.0
		var spots []spot
		for i := range rapid.IntRange(1, 40).Draw(r, "spots") {
			at := orb.Point{rapid.Float64Range(0, 300).Draw(r, fmt.Sprint("x", i)), rapid.Float64Range(0, 300).Draw(r, fmt.Sprint("y", i))}
			spots = append(spots, spot{at: at, inset: rapid.SampledFrom([]float64{0, lineInset, markInset}).Draw(r, fmt.Sprint("inset", i))})
		}
		g := layCells(spots, w, h, 1000)
		for _, p := range spots {
			if !slices.ContainsFunc(g.cells, func(c cell) bool {
				x, y := p.at[0]-g.x-float64(c[0])*g.w+tileBleed, p.at[1]-g.y-float64(c[1])*g.h+tileBleed // on its map
				return math.Min(x, w-x) >= p.inset-1e-9 && math.Min(y, h-y) >= p.inset-1e-9
			}) {
				r.Fatalf("%v is on none of %d sheets", p, len(g.cells))
			}
		}
	})
}

func TestSheetsShowTheWholeBoundaryAndEveryDevice(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		outline := oval(rapid.Float64Range(60, 1500).Draw(r, "w"), rapid.Float64Range(60, 1500).Draw(r, "h"))
		if rapid.Bool().Draw(r, "open") {
			outline = orb.LineString{{0, 0}, {rapid.Float64Range(50, 1500).Draw(r, "x"), rapid.Float64Range(-900, 900).Draw(r, "y")}, {40, 300}}
		}
		in := site(t, outline, rapid.IntRange(0, 20).Draw(r, "sensors"))
		s := newSheet(in, Options{Paper: rapid.SampledFrom([]Format{Auto, A4, A3}).Draw(r, "paper")})
		ratio := rapid.SampledFrom([]int{200, 250, 500, 1000, 2000}).Draw(r, "scale")
		tl := s.spread(ratio, 10000)
		shown := func(p orb.Point, inset float64) bool {
			return slices.ContainsFunc(tl.views, func(v drawing.View) bool {
				u := v.ToUnit(p)
				return u[0] >= inset && u[1] >= inset && u[0] <= v.Width-inset && u[1] <= v.Height-inset
			})
		}
		b := in.Scene.Boundaries[0]
		for c := 0.0; c <= b.Length(); c += 0.25 {
			if !shown(b.Point(c), 0.5) {
				r.Fatalf("1:%d: the boundary at %.2f m is on none of %d sheets", ratio, c, len(tl.views))
			}
		}
		for _, d := range in.Scene.Devices {
			if !shown(d.At, markInset-1e-6) {
				r.Fatalf("1:%d: %s is on none of %d sheets", ratio, d.Feature.ID, len(tl.views))
			}
		}
		for i, sensor := range in.Result.Sensors {
			for _, p := range sensor.Footprint[0][0] {
				if !shown(p, 0) {
					r.Fatalf("1:%d: the pattern of sensor %d is not shown at %v", ratio, i, p)
				}
			}
		}
		// Neighbours share a strip; no sheet is there twice.
		for i := range tl.views {
			if k, ok := tl.beside(i, 1, 0); ok {
				if w := (tl.views[i].Bound().Max[0] - tl.views[k].Bound().Min[0]) / float64(ratio) * 1000; math.Abs(w-tileOverlap) > 1e-6 {
					r.Fatalf("sheets share %.2f mm, want %v", w, tileOverlap)
				}
			}
			if k, ok := tl.beside(i, 0, 0); !ok || k != i {
				r.Fatalf("sheet %d is found as %d, %v", i, k, ok)
			}
		}
	})
}

func TestASheetOnWhichNothingOfThePlanLiesIsLeftOut(t *testing.T) {
	in := site(t, rectangle(1400, 1000), 20)
	in.Picture = demo(t).Picture
	s := newSheet(in, Options{Paper: A3})
	tl := s.spread(500, tilesMost)
	var lo, hi cell
	for i, c := range tl.grid.cells {
		if i == 0 {
			lo, hi = c, c
		}
		lo, hi = cell{min(lo[0], c[0]), min(lo[1], c[1])}, cell{max(hi[0], c[0]), max(hi[1], c[1])}
	}
	if whole := (hi[0] - lo[0] + 1) * (hi[1] - lo[1] + 1); len(tl.views) > whole-4 {
		t.Errorf("%d sheets of a grid of %d, though the middle is empty", len(tl.views), whole)
	}
	for i, v := range tl.views {
		if !slices.ContainsFunc(s.list.Items, func(it drawing.Item) bool {
			return asksForRoom(&it) && extentOf(&it).Intersects(v.Bound())
		}) {
			t.Errorf("nothing lies on sheet %d", i+1)
		}
	}
}

func TestFewestSheetsAreTaken(t *testing.T) {
	// A map of 114 by 64 mm with an overlap of 14 is a cell of 100 by 50.
	row := func(x0, y0, dx, dy float64, n int) (out []spot) {
		for i := range n {
			out = append(out, spot{at: orb.Point{x0 + float64(i)*dx, y0 + float64(i)*dy}, inset: lineInset})
		}
		return out
	}
	for name, r := range map[string]struct {
		spots []spot
		want  int
	}{
		"one place":                    {row(7, 9, 0, 0, 1), 1},
		"a line as long as a cell":     {row(0, 0, 1, 0, 101), 1},
		"a line a little longer":       {row(0, 0, 1, 0, 108), 2}, // the margin of one sheet shows 5 mm at most
		"four cells in a row":          {row(0, 0, 1, 0, 399), 4},
		"two places far apart":         {append(row(0, 0, 0, 0, 1), row(5000, 3000, 0, 0, 1)...), 2},
		"a square line of 199 by 99":   {slices.Concat(row(0, 0, 1, 0, 200), row(0, 99, 1, 0, 200), row(0, 0, 0, 1, 100), row(199, 0, 0, 1, 100)), 4},
		"a corner on a neighbour only": {append(row(0, 0, 1, 0, 100), row(102, 0, 0, 1, 4)...), 1},
	} {
		t.Run(name, func(t *testing.T) {
			if g := layCells(r.spots, 114, 64, 100); len(g.cells) != r.want {
				t.Errorf("%d sheets, want %d: %+v", len(g.cells), r.want, g)
			}
		})
	}
}

func TestMatchLinesNameEachOthersSheets(t *testing.T) {
	f, info := printed(t, wide(t), Options{Tile: true, Scale: 500, Paper: A4, Sheets: []string{"van", layoutName, notesName}})
	names := map[int][]int{}
	see := regexp.MustCompile(`^match line: see sheets? (\d+)(?: and (\d+))?$`)
	numbers := map[int]bool{}
	for _, tile := range info.Tiles {
		numbers[tile.Sheet] = true
		for _, x := range f.pages[tile.Sheet-1].texts {
			if m := see.FindStringSubmatch(x.s); m != nil {
				for _, g := range m[1:] {
					if n, err := strconv.Atoi(g); err == nil {
						names[tile.Sheet] = append(names[tile.Sheet], n)
					}
				}
			}
		}
		if said := fmt.Sprintf("part %d of %d", len(numbers), len(info.Tiles)); !strings.Contains(f.pages[tile.Sheet-1].text(), said) {
			t.Errorf("sheet %d does not say %s", tile.Sheet, said)
		}
	}
	for a, list := range names {
		for _, b := range list {
			if !numbers[b] || b == a || !slices.Contains(names[b], a) {
				t.Errorf("sheet %d leads to %d, which leads to %v", a, b, names[b])
			}
		}
	}
	if len(names) < len(info.Tiles)-1 { // the receiver stands alone in the middle
		t.Errorf("%d of %d sheets have a match line", len(names), len(info.Tiles))
	}
	// The key plan bears the number of each.
	key := map[string]bool{}
	for _, p := range f.pages {
		if strings.Contains(p.text(), "This is the key plan") {
			for _, x := range p.texts {
				if math.Abs(x.size-sizeHead) < 0.01 && x.at[0] > info.Map.Min[0] && x.at[0] < info.Map.Max[0] && x.at[1] > info.Map.Min[1] && x.at[1] < info.Map.Max[1] {
					key[x.s] = true
				}
			}
		}
	}
	for n := range numbers {
		if !key[strconv.Itoa(n)] {
			t.Errorf("the key plan has no sheet %d among %v", n, key)
		}
	}
}

func TestNothingOfATilingIsCutOffOrWrittenOver(t *testing.T) {
	for name, in := range map[string]Input{"the demo": analysed(t), "broad": wide(t), "one sensor": sheets(t)["one sensor"]} {
		for _, opt := range []Options{{Tile: true, Scale: 500, Paper: A4}, {Tile: true, Scale: 250, Paper: A3, Mono: true}} {
			t.Run(name+" on "+opt.Paper.String(), func(t *testing.T) {
				f, info := printed(t, in, opt)
				for _, tile := range info.Tiles {
					p := f.pages[tile.Sheet-1]
					box := func(x pdfText) orb.Bound {
						w, h := fonts.Advance(false, x.s)*x.size, x.size*fonts.CapHeight
						if x.up {
							return orb.Bound{Min: orb.Point{x.at[0] - h, x.at[1] - w}, Max: x.at}
						}
						return orb.Bound{Min: orb.Point{x.at[0], x.at[1] - h}, Max: orb.Point{x.at[0] + w, x.at[1]}}
					}
					for i, a := range p.texts {
						b := box(a)
						if b.Min[0] < margin || b.Min[1] < margin || b.Max[0] > p.box.Max[0]-margin+0.01 || b.Max[1] > p.box.Max[1]-margin+0.01 {
							t.Errorf("sheet %d: %q at %v leaves the frame", tile.Sheet, a.s, b)
						}
						for _, o := range p.texts[:i] {
							c := box(o)
							if math.Min(b.Max[0], c.Max[0])-math.Max(b.Min[0], c.Min[0]) > 0.3 && math.Min(b.Max[1], c.Max[1])-math.Max(b.Min[1], c.Min[1]) > 0.3 {
								t.Errorf("sheet %d: %q is written over %q", tile.Sheet, a.s, o.s)
							}
						}
					}
					if opt.Mono {
						for _, c := range p.colours {
							if c[0] != c[1] || c[1] != c[2] {
								t.Fatalf("sheet %d: colour %v", tile.Sheet, c)
							}
						}
					}
				}
			})
		}
	}
}

func TestTheScaleOfATilingIsChosenOrRefused(t *testing.T) {
	one, info := printed(t, site(t, oval(90, 60), 3), Options{Tile: true})
	if len(info.Tiles) > 0 || len(one.pages) != info.Sheets {
		t.Errorf("a site that fits on one sheet at 1:500 takes %d", len(info.Tiles))
	}
	if _, info = printed(t, site(t, oval(900, 500), 12), Options{Tile: true, Scale: 5000, Paper: A3}); len(info.Tiles) > 0 {
		t.Error("a scale that fits on one sheet is spread over several")
	}
	if _, info = printed(t, site(t, oval(900, 500), 12), Options{Tile: true, Paper: A3}); info.TileScale != tileRatio {
		t.Errorf("1:%d is taken where none is asked for", info.TileScale)
	}
	large := site(t, oval(4000, 3000), 12)
	if _, info = printed(t, large, Options{Tile: true, Paper: A3}); len(info.Tiles) > tilesUnasked || info.TileScale <= tileRatio {
		t.Errorf("%d sheets at 1:%d where no scale is asked for", len(info.Tiles), info.TileScale)
	}
	var b bytes.Buffer
	_, err := Print(&b, large, Options{Tile: true, Scale: 200, Paper: A4})
	if err == nil || b.Len() > 0 {
		t.Fatalf("%v, %d bytes", err, b.Len())
	}
	m := regexp.MustCompile(`scale 1:200 takes more than 100 sheets of A4, .* the largest usual scale that stays within is 1:(\d+), with (\d+) sheets`).FindStringSubmatch(err.Error())
	if m == nil {
		t.Fatal(err)
	}
	scale, _ := strconv.Atoi(m[1])
	if _, info = printed(t, large, Options{Tile: true, Scale: scale, Paper: A4}); fmt.Sprint(len(info.Tiles)) != m[2] {
		t.Errorf("%d sheets at 1:%d, the error said %s", len(info.Tiles), scale, m[2])
	}
	k := slices.IndexFunc(Scales, func(s Scale) bool { return s.Ratio == scale })
	if _, err = Print(&b, large, Options{Tile: true, Scale: Scales[k-1].Ratio, Paper: A4}); err == nil {
		t.Errorf("1:%d was printed", Scales[k-1].Ratio)
	}
	if _, err = Print(&b, large, Options{Scale: 500}); err == nil || !strings.Contains(err.Error(), "--tile") {
		t.Errorf("%v does not name --tile", err)
	}
}

func TestATilingHasBookmarksAndTheSameBytesEachTime(t *testing.T) {
	in, opt := wide(t), Options{Tile: true, Scale: 1000, Paper: A4, Sheets: []string{layoutName, detailName, notesName}}
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
	said := poppler(t, a.Bytes(), "pdftohtml", "-xml", "-i", "-stdout", "PDF")
	for i, tile := range info.Tiles {
		if want := fmt.Sprintf(`<item page="%d">Part %d of %d</item>`, tile.Sheet, i+1, len(info.Tiles)); !strings.Contains(said, want) {
			t.Errorf("there is no bookmark %s", want)
		}
	}
}

func TestASheetOfATilingIsAsItWas(t *testing.T) {
	f, info := printed(t, analysed(t), Options{Tile: true, Scale: 500, Paper: A3})
	var b strings.Builder
	for _, tile := range info.Tiles {
		fmt.Fprintf(&b, "sheet %d\n", tile.Sheet)
		for _, w := range f.pages[tile.Sheet-1].texts {
			fmt.Fprintf(&b, "%.1f %.1f %s\n", w.at[0], w.at[1], w.s)
		}
	}
	golden(t, "tiles.txt", b.String())
}

func TestOutlinesOfSheetsLieUnderTheDevicesOnTheKeyPlan(t *testing.T) {
	f, info := printed(t, wide(t), Options{Tile: true, Scale: 500})
	outline, device := -1, -1
	for i, p := range f.pages[0].strokes {
		if !info.Map.Contains(orb.MultiPoint(p.points).Bound().Center()) {
			continue
		}
		switch {
		case len(p.points) == 2 && math.Abs(p.width-0.9) < 0.005 && (p.points[0][0] == p.points[1][0] || p.points[0][1] == p.points[1][1]):
			outline = i // what is kept white round the outline
		case len(p.points) == 5 && math.Abs(p.width-0.32) < 0.005 && device < 0:
			device = i // a repeater's lozenge
		}
	}
	if outline < 0 || device < 0 || outline > device {
		t.Errorf("the last outline is stroke %d, the first device stroke %d", outline, device)
	}
}
