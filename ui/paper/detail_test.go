package paper

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"pleach/model"
	"pleach/model/scene"
)

// crowdedSite is a site with clusters of sensors, each some metres apart.
func crowdedSite(t testing.TB, apart float64, clusters ...orb.Point) Input {
	t.Helper()
	in := site(t, oval(700, 420), 6)
	var more []*model.Feature
	for k, c := range clusters {
		for i := range 4 {
			at := orb.Point{c[0] + apart*float64(i%2), c[1] + apart*float64(i/2)}
			more = append(more, model.NewFeature(model.KindSensor, fmt.Sprintf("C%d%d", k+1, i+1), in.Scene.Grid.ToLonLat(at), model.Prop("model", "curtain-4-63"),
				model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 90*i), model.Prop("tilt_deg", 1.5)))
		}
	}
	p, err := model.Add{Features: more}.Apply(in.Plan)
	if err != nil {
		t.Fatal(err)
	}
	return Input{Plan: p}
}

func TestOutsideDetailsHaveScalesOfISO5455(t *testing.T) {
	// ISO 5455:1979, clause 5: the reduction scales.
	iso := []int{2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000}
	for _, ratio := range detailScales {
		if !slices.Contains(iso, ratio) {
			t.Errorf("1:%d is none of ISO 5455", ratio)
		}
	}
	_, info := printed(t, crowdedSite(t, 2, orb.Point{100, 50}, orb.Point{-200, -60}), Options{Sheets: []string{layoutName, detailName}})
	if len(info.Details) != 2 {
		t.Fatalf("%d details of two clusters", len(info.Details))
	}
	for _, d := range info.Details {
		if !slices.Contains(iso, d.Scale) || d.Scale*leastLarger > info.Scale {
			t.Errorf("detail %s at 1:%d of a layout at 1:%d", d.Letter, d.Scale, info.Scale)
		}
	}
}

func TestWhatCrowdsIsDrawnLargerWithItsLetterOnBothSheets(t *testing.T) {
	in := crowdedSite(t, 2, orb.Point{100, 50}, orb.Point{-200, -60})
	for _, opt := range []Options{{}, {Paper: A4, Mono: true}, {Tile: true, Scale: 1000, Paper: A4}} {
		opt.Sheets = []string{layoutName, detailName}
		t.Run(fmt.Sprintf("%s, several sheets: %v", opt.Paper, opt.Tile), func(t *testing.T) {
			f, info := printed(t, in, opt)
			for _, d := range info.Details {
				pages := map[int]bool{}
				for i, p := range f.pages {
					for _, x := range p.texts {
						if x.s == d.Letter && math.Abs(x.size-sizeHead) < 0.01 {
							pages[i+1] = true
						}
					}
				}
				if !pages[d.Sheet] || !pages[1] {
					t.Errorf("letter %s stands on %v; its detail on %d", d.Letter, pages, d.Sheet)
				}
				if opt.Tile && len(pages) < 3 {
					t.Errorf("letter %s is on no sheet at 1:%d: %v", d.Letter, info.TileScale, pages)
				}
			}
			// Every device of a cluster has its name on a detail, clear of the next mark.
			for _, s := range in.Plan.Of(model.KindSensor) {
				if !strings.HasPrefix(s.ID, "C") {
					continue
				}
				named := false
				for _, d := range info.Details {
					for _, x := range f.pages[d.Sheet-1].texts {
						named = named || x.s == s.ID && d.Map.Contains(x.at)
					}
				}
				if !named {
					t.Errorf("%s has no name on a detail", s.ID)
				}
			}
		})
	}
}

func TestWithoutCrowdingThereIsNoDetail(t *testing.T) {
	in := site(t, oval(300, 200), 5)
	f, info := printed(t, in, Options{Sheets: []string{detailName}})
	if said := f.pages[0].text(); info.Sheets != 1 || !strings.Contains(said, "No details are needed") {
		t.Errorf("%d sheets: %s", info.Sheets, said)
	}
	f, info = printed(t, in, Options{Sheets: []string{layoutName, detailName, notesName}})
	if !slices.Equal(info.Unneeded, []string{detailName}) {
		t.Errorf("unneeded: %q", info.Unneeded)
	}
	for i, p := range f.pages {
		if said := p.text(); strings.Contains(said, "etails") {
			t.Errorf("sheet %d: %s", i+1, said)
		}
	}
	if !strings.Contains(info.Words(), "no sheet detail") {
		t.Errorf("it is not told: %s", info.Words())
	}
}

func TestEveryCrowdedDeviceIsOnADetail(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var at []orb.Point
		for range rapid.IntRange(1, 6).Draw(r, "clusters") {
			at = append(at, orb.Point{rapid.Float64Range(-300, 300).Draw(r, "x"), rapid.Float64Range(-180, 180).Draw(r, "y")})
		}
		in := crowdedSite(t, rapid.Float64Range(0, 12).Draw(r, "apart"), at...)
		s := newSheet(Input{Plan: in.Plan, Scene: scene.New(in.Plan)}, Options{Paper: rapid.SampledFrom([]Format{A4, A3}).Draw(r, "paper")})
		if err := s.settle(); err != nil {
			r.Fatal(err)
		}
		s.details = s.findDetails()
		crowded := s.crowded()
		for _, c := range crowded {
			if !slices.ContainsFunc(s.details, func(d detail) bool { return d.ground.Contains(c.at) }) {
				r.Fatalf("%s crowds at 1:%d and is on no detail", c.id, s.ratio)
			}
		}
		if (s.details == nil) != (crowded == nil) {
			r.Fatalf("%d details of %d devices", len(s.details), len(crowded))
		}
		w, h := s.detailPage()
		leaves, err := s.detailSheets("")
		if err != nil {
			r.Fatal(err)
		}
		n := 0
		for _, l := range leaves {
			var boxes []orb.Bound
			for _, in := range l.insets {
				n++
				iw, ih := in.size()
				if iw > w+1e-6 || ih > h+1e-6 {
					r.Fatalf("detail %s of %.0f by %.0f mm on a page with room for %.0f by %.0f", in.letter, iw, ih, w, h)
				}
				b := orb.Bound{Min: orb.Point{in.x, in.y}, Max: orb.Point{in.x + iw, in.y + ih + detailHead + detailFoot}}
				if low := l.layout.frame.y + l.layout.frame.h - s.footHeight(l.layout); b.Max[1] > low+1e-6 || b.Max[0] > l.layout.frame.x+l.layout.frame.w {
					r.Fatalf("detail %s at %v leaves the page", in.letter, b)
				}
				for _, o := range boxes {
					if overlap(b, o) {
						r.Fatalf("details overlap: %v, %v", b, o)
					}
				}
				boxes = append(boxes, b)
			}
		}
		if n != len(s.details) {
			r.Fatalf("%d of %d details are drawn", n, len(s.details))
		}
	})
}

func TestTheLayoutListsWhatWasAcceptedByWhomAndWhy(t *testing.T) {
	in := site(t, orb.LineString{{0, 0}, {400, 0}}, 2)
	res := *in.Result
	res.Findings = slices.Clone(res.Findings)
	f := &res.Findings[0]
	f.Accepted = &model.Accepted{Reason: "a wall of 4 m stands here", By: "M. Oddy", At: "2026-10-10T09:00:00Z"}
	res.Findings = append(res.Findings, model.Finding{Rule: "mount-height", Severity: model.Warning, Subject: []string{"S1"}, Text: "S1 hangs high: 5 m is more than its model allows."},
		model.Finding{Rule: "head-on", Severity: model.Warning, Text: "Crossed head-on, 3 m from 7 m."})
	in.Result = &res
	p, _ := printed(t, in, Options{Paper: A3})
	said := strings.ReplaceAll(p.pages[0].text(), string(hardSpace), " ")
	for _, want := range []string{"Accepted by M. Oddy, 10 October 2026: a wall of 4 m stands here.", "Further warnings", "S1 hangs high."} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in %q", want, said)
		}
	}
	for _, not := range []string{"more than its model allows", "3 m from 7 m"} {
		if strings.Contains(said, not) {
			t.Errorf("%q is in %q", not, said)
		}
	}
	if faults, _, _ := strings.Cut(said, "Accepted"); strings.Contains(faults, inBrief(f.Text)) {
		t.Error("what was accepted stands among the faults")
	}
}

func TestManyWarningsOfOneKindAreCounted(t *testing.T) {
	in := site(t, orb.LineString{{0, 0}, {400, 0}}, 2)
	res := *in.Result
	res.Findings = nil
	for i := range 30 {
		res.Findings = append(res.Findings, model.Finding{Rule: "shallow", Severity: model.Warning, Text: fmt.Sprintf("Shallow, 2 m from %d m.", i)})
	}
	got := answerable(&res, true)
	if len(got) != mostOfKind+1 || got[mostOfKind].text != "22 more of the kind “shallow” on the sheet of notes." || got[0].head != warningsHead {
		t.Errorf("%d: %+v", len(got), got)
	}
}

func TestGraverKindsAreListedBeforeManyOfASlightOne(t *testing.T) {
	in := site(t, orb.LineString{{0, 0}, {400, 0}}, 2)
	res := *in.Result
	res.Findings = nil
	add := func(rule string, n int) {
		for i := range n {
			res.Findings = append(res.Findings, model.Finding{Rule: rule, Severity: model.Warning, Text: fmt.Sprintf("%s %d.", rule, i)})
		}
	}
	add("shallow", 60)
	add("angle", 16)
	add("reading", 1)
	add("storm", 1)
	add("overspill", 3)
	add("zone-without-output", 1)
	all := answerable(&res, true)
	var got []string
	for _, l := range all[:9] {
		got = append(got, l.text)
	}
	want := []string{"zone-without-output 0.", "storm 0.", "overspill 0.", "overspill 1.", "reading 0.", "angle 0.", "angle 1.", "shallow 0.", "shallow 1."}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	c := contents{findings: findingList{all: all, to: 9}, noted: true}
	list, n := c.withFindings(100, c.findings.height(100)+bodyRow, true)
	// 82 warnings, of which nine are listed.
	if n != 9 || list.more != "73 more on the sheet of notes" {
		t.Errorf("%d listed, %q", n, list.more)
	}
}
