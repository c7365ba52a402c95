package paper

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
)

// postured is the demo with n gaps for the posture crawl, 12 m each, and two
// stretches that are crossed head-on.
func postured(t testing.TB, n int) Input {
	in := demo(t)
	r := &analysis.Result{Plan: in.Plan, Scene: in.Scene, Sensors: in.Result.Sensors, Links: in.Result.Links,
		Boundaries: slices.Clone(in.Result.Boundaries), Findings: slices.Clone(in.Result.Findings)}
	b := &r.Boundaries[0]
	c := analysis.Coverage{Name: "crawl", Covered: b.Length - b.Closed - 12*float64(n)}
	f := func(v float64) *float64 { return &v }
	for i := range n {
		from := 40 * float64(i)
		c.Gaps = append(c.Gaps, analysis.Gap{Span: coverage.Span{From: from, To: from + 12}, Length: 12})
		r.Findings = append(r.Findings, model.Finding{Rule: "gap", Severity: model.Warning, Posture: "crawl", Subject: []string{b.ID}, From: f(from), To: f(from + 12),
			Text: fmt.Sprintf("Gap for the posture crawl, 12 m from %.0f m along: hidden by the kerb.", from)})
	}
	b.Postures = []analysis.Coverage{c}
	for _, from := range []float64{615, 702.5} {
		r.Findings = append(r.Findings, model.Finding{Rule: "head-on", Severity: model.Warning, Subject: []string{b.ID, "N1"}, From: f(from), To: f(from + 8), Text: "Crossed head-on."})
	}
	in.Result = r
	return in
}

func plainText(t testing.TB, in Input, opt Options) (pages []string) {
	f, _ := printed(t, in, opt)
	for _, p := range f.pages {
		pages = append(pages, strings.ReplaceAll(p.text(), string(hardSpace), " "))
	}
	return pages
}

func TestEachPostureAndWhatIsCrossedHeadOnStandInTheSummary(t *testing.T) {
	for _, opt := range []Options{{}, {Mono: true}} {
		pages := plainText(t, postured(t, 3), opt)
		for _, want := range []string{"Crawl", "0.35 m tall: ", "3 gaps, 36 m in all: 0 to 12 m, 40 to 52 m,", "Head-on", "2 stretches crossed towards the sensor, 16 m in all", "702.5 to 710.5 m"} {
			if !strings.Contains(pages[0], want) {
				t.Errorf("%q is not on the first sheet: %s", want, pages[0])
			}
		}
		if strings.Contains(strings.Join(pages, " "), stretchHeading) {
			t.Error("what the summary lists is listed again")
		}
	}
	if text := plainText(t, demo(t), Options{})[0]; strings.Contains(text, "Head-on") {
		t.Error("nothing is crossed head-on, yet the sheet speaks of it")
	}
}

func TestManyGapsOfAPostureAreListedOnAFurtherSheet(t *testing.T) {
	const n = 20
	for _, opt := range []Options{{}, {Paper: A4}, {Paper: A3}} {
		pages := plainText(t, postured(t, n), opt)
		if !strings.Contains(pages[0], "20 gaps, 240 m in all, listed on a further sheet") {
			t.Errorf("%v: the first sheet does not say where they are listed: %s", opt.Paper, pages[0])
		}
		rest := strings.Join(pages[1:], " ")
		if got := strings.Count(rest, "hidden by the kerb"); got != n {
			t.Errorf("%v: %d of %d gaps are listed", opt.Paper, got, n)
		}
		if got := strings.Count(rest, "crossed towards"); got != 2 || !strings.Contains(rest, stretchHeading) {
			t.Errorf("%v: %d of 2 stretches crossed head-on are listed", opt.Paper, got)
		}
	}
}
