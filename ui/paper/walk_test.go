package paper

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb/planar"

	"pleach/model/coverage"
)

func TestEveryLineToWalkLeadsInwardsThroughWhatItSays(t *testing.T) {
	for name, in := range map[string]Input{"the demo": analysed(t), "two yards": twoYards(t)} {
		t.Run(name, func(t *testing.T) {
			s := newSheet(in, Options{})
			all := s.walks()
			if len(all) != len(in.Result.Boundaries) {
				t.Fatalf("lines across %d boundaries, want %d", len(all), len(in.Result.Boundaries))
			}
			n := 0
			for i, lines := range all {
				b, at := &in.Result.Boundaries[i], &in.Scene.Boundaries[i]
				for _, w := range lines {
					n++
					if _, off := at.Nearest(w.from); off > 0.5 {
						t.Errorf("line at %.1f m begins %.2f m off the boundary", w.at, off)
					}
					if d := planar.Distance(w.from, w.to); d > in.Plan.Settings.CrossingDepth+0.01 {
						t.Errorf("line at %.1f m is %.2f m long", w.at, d)
					}
					in, normal := planar.Distance(w.from, w.to), at.Normal(w.at)
					if in > 0.1 && math.Abs(((w.to[0]-w.from[0])*normal[0]+(w.to[1]-w.from[1])*normal[1])/in-1) > 1e-6 {
						t.Errorf("line at %.1f m does not lead straight inwards", w.at)
					}
				}
				for k, g := range b.Target.Gaps {
					if !slices.ContainsFunc(lines, func(w walk) bool {
						return slices.Contains(w.why, fmt.Sprintf("middle of gap %d", k+1)) && w.expect == nil && holds(coverage.Span{From: g.From, To: g.To}, w.at)
					}) {
						t.Errorf("gap %d is not walked", k+1)
					}
				}
			}
			if n == 0 {
				t.Fatal("no line")
			}
			f, info := printed(t, in, Options{Sheets: []string{"walk"}})
			marks := map[string]bool{}
			for _, w := range f.pages[0].texts {
				marks[w.s] = true
			}
			for k := range n {
				if !marks[fmt.Sprint(k+1)] {
					t.Errorf("line %d is not on the map", k+1)
				}
			}
			if info.Sheets < 2 || !strings.Contains(f.pages[len(f.pages)-1].text(), fmt.Sprintf(" %d ", n)) && !strings.Contains(f.pages[len(f.pages)-1].text(), fmt.Sprint(n)) {
				t.Errorf("line %d is not listed", n)
			}
		})
	}
}

func TestFiguresFromMemoryAreSaidToBeSo(t *testing.T) {
	if got := strings.Join(newSheet(analysed(t), Options{}).fromMemory(), " "); !strings.Contains(got, "ITU-R P.530") || !strings.Contains(got, "Weissberger") {
		t.Errorf("the demo rests on %q", got)
	}
	if got := newSheet(sheets(t)["nothing at all"].whole(), Options{}).fromMemory(); got != nil {
		t.Errorf("an empty plan rests on %q", got)
	}
}
