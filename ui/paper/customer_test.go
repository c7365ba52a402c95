package paper

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/scene"
)

// twoYards is a plan of two boundaries with long and missing names, gaps on both,
// one of them accepted, and what the sheets tell people.
func twoYards(t testing.TB) Input {
	t.Helper()
	at := func(x, y float64) orb.Point { return place.ToLonLat(orb.Point{x, y}) }
	yard := func(x, w, h float64) orb.Geometry {
		return place.Back(orb.Polygon{{{x, 0}, {x + w, 0}, {x + w, h}, {x, h}, {x, 0}}})
	}
	post := func(id string, x, y, bearing float64, more ...model.Member) *model.Feature {
		return model.NewFeature(model.KindSensor, id, at(x, y), append([]model.Member{model.Prop("model", "curtain-3-100"), model.Prop("mount_height_m", 3.3), model.Prop("bearing_deg", bearing),
			model.Prop("tilt_deg", 2.2)}, more...)...)
	}
	fs := []*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", yard(0, 120, 80), model.Prop("name", "Northern compound of the Upper Wendmarch Cold Storage and Ferry Undertaking with its approach")),
		model.NewFeature(model.KindBoundary, "B2", yard(150, 60, 60)),
		model.NewFeature(model.KindGate, "G1", at(60, 0)),
		model.NewFeature(model.KindFoliage, "F1", place.Back(orb.Polygon{{{90, 1}, {94, 1}, {94, 5}, {90, 5}, {90, 1}}}), model.Prop("height_m", 6)),
		model.NewFeature(model.KindAsset, "A1", at(180, 30)),
		post("S1", 1, 3, 90, model.Prop("name", "A post whose name is as long as the names of posts can be when a committee agrees on them")),
		post("S2", 119, 77, 270), post("S3", 151, 3, 90),
		model.NewFeature(model.KindReceiver, "RX", at(60, 40), model.Prop("antenna_height_m", 8)),
	}
	in := accepting(t, plan(t, fs), "B2", model.Prop("customer", "Upper Wendmarch"), model.Prop("duties", []map[string]string{{"what": "cut the hedge by the ferry", "from": "2027-03-01"}, {"what": "Lock the shed."}}),
		model.Prop("quotation", map[string]string{"valid_until": "2027-02-28"}), model.Prop("revisions", []map[string]string{{"revision": "A", "what": "First issue"}}))
	return in
}

// accepting analyses a plan with the first gap of a boundary accepted.
func accepting(t testing.TB, p *model.Plan, boundary string, settings ...model.Member) Input {
	t.Helper()
	run := func() Input {
		r, err := analysis.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return Input{Plan: p, Scene: r.Scene, Result: r}
	}
	in := run()
	for _, b := range in.Result.Boundaries {
		if b.ID == boundary {
			g := b.Target.Gaps[0]
			settings = append(settings, model.Prop("accepted", []map[string]any{{"rule": "gap", "subject": []string{boundary}, "from_m": g.From, "to_m": g.To,
				"reason": "the quay is manned day and night", "by": "P. Quill", "at": "2026-11-20"}}))
		}
	}
	for _, m := range settings {
		var err error
		if p, err = (model.Change{Path: m.Name, Value: json.RawMessage(m.Value)}).Apply(p); err != nil {
			t.Fatal(err)
		}
	}
	if fl := p.AllFlaws(); len(fl) > 0 {
		t.Fatal(fl)
	}
	return run()
}

func TestTheSheetForTheCustomerNamesNoIDAndMarksEveryGap(t *testing.T) {
	for name, in := range map[string]Input{"the demo": analysed(t), "two yards": twoYards(t)} {
		for _, opt := range []Options{{Sheets: []string{"customer"}}, {Sheets: []string{"customer"}, Paper: A3, Mono: true}} {
			t.Run(name+" on "+opt.Paper.String(), func(t *testing.T) {
				f, _ := printed(t, in, opt)
				flags := map[string]int{}
				for _, p := range f.pages {
					for _, w := range p.texts {
						flags[w.s]++
						for _, word := range strings.FieldsFunc(w.s, func(r rune) bool { return strings.ContainsRune(" ,.;:()", r) }) {
							if g := in.Plan.Feature(word); g != nil && !strings.Contains(in.Plan.Settings.Revision, word) {
								t.Errorf("%q names %s", w.s, word)
							}
						}
					}
				}
				want := map[string]int{}
				n := 0
				for _, b := range in.Result.Boundaries {
					for k := range b.Target.Gaps {
						want[fmt.Sprint(k+1)]++
						n++
					}
				}
				if n == 0 {
					t.Fatal("the plan has no gap")
				}
				for s, k := range want {
					if flags[s] < k {
						t.Errorf("gap %s is marked %d times, want %d", s, flags[s], k)
					}
				}
				if text := pagesText(f); !strings.Contains(text, fmt.Sprintf("Gaps: %d,", n)) || !strings.Contains(text, "take no pictures") {
					t.Errorf("the page says %s", text)
				}
			})
		}
	}
}

// He signs for every gap, however many there are.
func TestEveryGapIsToldTheCustomerWithItsLength(t *testing.T) {
	for _, n := range []int{3, mostPlain + 1, 19, 150} {
		in := site(t, orb.LineString{{0, 0}, {float64(n) * 20, 0}}, 1)
		b := &in.Result.Boundaries[0]
		b.Target.Gaps = nil
		for i := range n {
			from := float64(i) * 20
			b.Target.Gaps = append(b.Target.Gaps, analysis.Gap{Span: coverage.Span{From: from, To: from + 10}, Length: 10 + float64(i)/10, Cause: coverage.Hidden})
		}
		for _, paper := range []Format{A4, A3} {
			f, _ := printed(t, in, Options{Sheets: []string{"customer"}, Paper: paper})
			text := pagesText(f)
			for k := range b.Target.Gaps {
				want := fmt.Sprintf("%d: %s, hidden", k+1, metres(b.Target.Gaps[k].Length))
				if !strings.Contains(strings.ReplaceAll(text, string(hardSpace), " "), strings.ReplaceAll(want, string(hardSpace), " ")) {
					t.Errorf("%d gaps on %v: %q is not told", n, paper, want)
				}
			}
			for i, p := range f.pages {
				for _, x := range p.texts {
					if x.at[1] > p.box.Max[1]-margin {
						t.Errorf("%d gaps on %v, page %d: %q leaves the frame", n, paper, i+1, x.s)
					}
				}
			}
		}
	}
}

func pagesText(f pdfFile) string {
	var s []string
	for _, p := range f.pages {
		s = append(s, p.text())
	}
	return strings.Join(s, " ")
}

func TestTheCustomerReadsWhatIsAcceptedAndFromWhichDayTheDutiesHold(t *testing.T) {
	in := twoYards(t)
	f, _ := printed(t, in, Options{Sheets: []string{"customer"}})
	text := pagesText(f)
	for _, want := range []string{"accepted by P. Quill on 20 November 2026: the quay is", "1 March 2027", "Cut the hedge by the ferry.", "Lock the shed.", "28 February 2027", "trees and bushes", "the gate", "the boundary"} {
		if !strings.Contains(strings.ReplaceAll(text, string(hardSpace), " "), want) {
			t.Errorf("%q is not on the sheet: %s", want, text)
		}
	}
	s := newSheet(in, Options{})
	d := s.duties()
	if n := slices.IndexFunc(d, func(d model.Duty) bool { return d.What == "Lock the shed." }); n < 0 || d[n].From != "" {
		t.Errorf("a duty without a day: %+v", d)
	}
	if s := newSheet(Input{Plan: model.NewPlan(), Scene: scene.New(model.NewPlan())}, Options{}); len(s.watched()) != 1 || s.plainGaps() != nil || len(s.headlines()) != 0 {
		t.Error("a plan without a boundary tells of figures")
	}
}

func TestTheVanHasContactsOfThePlanAndBlanksForTheRest(t *testing.T) {
	rows := newSheet(analysed(t), Options{}).contacts().rows
	at := func(who string) []string {
		if i := slices.IndexFunc(rows, func(r []string) bool { return r[0] == who }); i >= 0 {
			return rows[i]
		}
		t.Fatalf("nobody is %s", who)
		return nil
	}
	if r := at("On site"); !strings.HasPrefix(r[1], "P. Quillby") || r[2] != "01632 960111" {
		t.Errorf("on site %q", r)
	}
	if r := at("In an emergency"); r[1] != "" || r[2] != "" {
		t.Errorf("in an emergency %q", r)
	}
	blank := newSheet(Input{Plan: model.NewPlan()}.whole(), Options{})
	for _, r := range append(blank.contacts().rows, blank.visit().rows...) {
		if strings.Join(r[1:], "") != "" {
			t.Errorf("an empty plan states %q", r)
		}
	}
}

// whole is the input with a scene.
func (in Input) whole() Input {
	in.Scene = scene.New(in.Plan)
	return in
}
