package paper

import (
	"bytes"
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/drawing"
)

// revised is the demo as revision B of a plan in which one sensor stood elsewhere,
// one was not there, one was aimed otherwise, and a repeater stood that is gone.
func revised(t testing.TB) Input {
	t.Helper()
	in := analysed(t)
	p := in.Plan
	do := func(e model.Edit) {
		t.Helper()
		n, err := e.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		p = n
	}
	at := func(id string) orb.Point { return in.Scene.Grid.ToSite(p.Feature(id).Geometry.(orb.Point)) }
	s5 := at("S5")
	do(model.Reshape{ID: "S5", To: in.Scene.Grid.ToLonLat(orb.Point{s5[0] - 21, s5[1] - 5})})
	if d := planar.Distance(s5, at("S5")); d < 20 || d > 23 {
		t.Fatalf("S5 was moved %.1f m", d)
	}
	do(model.Set{ID: "W2", Values: []model.Value{{Property: "bearing_deg", Value: 300}}})
	do(model.Delete{IDs: []string{"FS1"}})
	do(model.Add{Features: []*model.Feature{model.NewFeature(model.KindRepeater, "RP2", in.Scene.Grid.ToLonLat(orb.Point{20, 40}), model.Prop("antenna_height_m", 6), model.Prop("address", 250))}})
	do(model.Change{Path: "revision", Value: "A"})
	r, err := analysis.Run(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	in.Before = r
	return in
}

func TestEveryChangeStandsInACloudThatBearsTheRevision(t *testing.T) {
	for _, opt := range []Options{{}, {Mono: true, Paper: A4}} {
		in := revised(t)
		s := newSheet(in, opt)
		if err := s.settle(); err != nil {
			t.Fatal(err)
		}
		view := s.view()
		labels := drawing.PlaceLabels(s.list, view, s.theme)
		r := s.revised(s.list, view, labels, s.layout.picture)
		inside := func(what string, p orb.Point) {
			t.Helper()
			u := view.ToUnit(p)
			if !slices.ContainsFunc(r.rings, func(c orb.Ring) bool { return planar.RingContains(c, u) }) {
				t.Errorf("%s at %v stands in no cloud", what, u)
			}
		}
		grid := in.Scene.Grid
		for _, id := range []string{"S5", "W2", "FS1"} {
			inside(id, grid.ToSite(in.Plan.Feature(id).Geometry.(orb.Point)))
		}
		inside("where RP2 stood", orb.Point{20, 40})
		inside("where S5 stood", grid.ToSite(in.Before.Plan.Feature("S5").Geometry.(orb.Point)))
		n := 0
		for _, b := range s.changes.Boundaries {
			for _, c := range b.Postures {
				if c.Posture == "" {
					for _, span := range append(slices.Clone(c.Gained), c.Lost...) {
						inside("a stretch", in.Scene.Boundaries[0].Point((span.From+span.To)/2))
						n++
					}
				}
			}
		}
		if n == 0 {
			t.Error("no chainage was gained or lost")
		}
		u := view.ToUnit(grid.ToSite(in.Plan.Feature("N4").Geometry.(orb.Point)))
		if slices.ContainsFunc(r.rings, func(c orb.Ring) bool { return planar.RingContains(c, u) }) {
			t.Error("N4 is clouded and did not change")
		}
		if len(r.ghosts) != 2 {
			t.Errorf("%d ghosts, want those of S5 and RP2", len(r.ghosts))
		}
		// Letters cover no label.
		for _, ring := range r.rings {
			p, ok := letterPlace(ring, view, r.taken)
			if !ok {
				t.Fatal("a cloud without its letter")
			}
			for _, l := range labels.Labels {
				if letterBox(p).Pad(-0.5).Intersects(l.Box) {
					t.Errorf("the letter at %v covers %q", p, l.Text)
				}
			}
			r.taken = append(r.taken, letterBox(p))
		}
		f, info := printed(t, in, opt)
		letters := 0
		for _, w := range f.pages[0].texts {
			if w.s == "B" && info.Map.Contains(w.at) {
				letters++
			}
		}
		if letters != len(r.rings) {
			t.Errorf("%d letters for %d clouds", letters, len(r.rings))
		}
		text := pagesText(f)
		for _, want := range []string{"Changed since revision A", "Sensor FS1 (Fuel store watch): added", "Against revision A: 1 device added"} {
			if !strings.Contains(text, want) {
				t.Errorf("%q is not on the drawing", want)
			}
		}
	}
}

func TestTheSheetForTheCustomerHasNoClouds(t *testing.T) {
	in := revised(t)
	var a, b bytes.Buffer
	if _, err := Print(&a, in, Options{Sheets: []string{"customer"}}); err != nil {
		t.Fatal(err)
	}
	if text := pagesText(readPDF(t, a.Bytes())); strings.Contains(text, "Changed since") {
		t.Error("the customer reads of changes")
	}
	f, _ := printed(t, in, Options{Sheets: []string{"layout", "notes"}})
	if n := strings.Count(pagesText(f), "Sensor FS1 (Fuel store watch): added"); n != 1 {
		t.Errorf("what changed is listed %d times, want once, on the notes", n)
	}
	if _, err := Print(&b, in, Options{Sheets: []string{"customer"}}); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Errorf("the same plans give other bytes, %v", err)
	}
}

func TestAPlanOfAnotherSiteIsNoRevision(t *testing.T) {
	in := analysed(t)
	in.Before = twoYards(t).Result
	var b bytes.Buffer
	if _, err := Print(&b, in, Options{}); err == nil || !strings.Contains(err.Error(), "other sites") || b.Len() > 0 {
		t.Errorf("error %v, %d bytes written", err, b.Len())
	}
}

func TestCloudsHoldTheirPartsAndMergeWhereTheyAreNear(t *testing.T) {
	at := func(x, y float64) cloudPart { return cloudPart{[]orb.Point{{x, y}}, cloudRound} }
	stretch := cloudPart{[]orb.Point{{40, 60}, {80, 60}, {80, 90}}, cloudAlong}
	for name, c := range map[string]struct {
		parts []cloudPart
		want  int
	}{
		"none":               {nil, 0},
		"one":                {[]cloudPart{at(20, 20)}, 1},
		"two far apart":      {[]cloudPart{at(20, 20), at(60, 20)}, 2},
		"two near":           {[]cloudPart{at(20, 20), at(20+2*cloudRound+3, 20)}, 1},
		"one in another":     {[]cloudPart{at(20, 20), {[]orb.Point{{20, 21}}, 2}}, 1},
		"a bent stretch":     {[]cloudPart{stretch}, 1},
		"beside a stretch":   {[]cloudPart{stretch, at(60, 60+cloudRound+cloudAlong+3)}, 1},
		"far from a stretch": {[]cloudPart{stretch, at(60, 90)}, 2},
		"all round":          {[]cloudPart{{[]orb.Point{{20, 20}, {80, 20}, {80, 80}, {20, 80}, {20, 20}}, cloudAlong}}, 1},
	} {
		got := clouds(c.parts)
		if len(got) != c.want {
			t.Errorf("%s: %d clouds, want %d", name, len(got), c.want)
		}
		for _, p := range c.parts {
			for _, q := range p.path {
				k := slices.IndexFunc(got, func(r orb.Ring) bool { return planar.RingContains(r, q) })
				if k < 0 {
					t.Errorf("%s: %v stands in no cloud", name, q)
					continue
				}
				// The scallops lie outside the outline, so they keep clear of it too.
				arcs := scallops(got[k], cloudChord)
				if !arcs.Closed() || !planar.RingContains(arcs, q) || math.Abs(planar.Area(arcs)) < math.Abs(planar.Area(got[k])) {
					t.Errorf("%s: the scallops do not hold %v", name, q)
				}
			}
		}
	}
}

func TestARevisionTooLongForATriangleIsADelta(t *testing.T) {
	for revision, want := range map[string]string{"": "Δ", "B": "B", "12": "12", "draft 14": "Δ", " C ": "C"} {
		p := plan(t, nil, model.Prop("revision", revision))
		if got := newSheet(Input{Plan: p}.whole(), Options{}).revisionLetter(); got != want {
			t.Errorf("%q: %q, want %q", revision, got, want)
		}
	}
}
