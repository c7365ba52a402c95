package analysis_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/testdata/site"
)

func marginSite() *site.Site {
	return new(site.Site).
		Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 300, 200)}).
		Add(model.KindReceiver, "RX", orb.Point{20, 20}, model.Prop("antenna_height_m", 11)).
		Add(model.KindRepeater, "RP", orb.Point{280, 180}, model.Prop("antenna_height_m", 14)).
		Building("H", site.Box(120, 60, 160, 110), 9).
		Add(model.KindFoliage, "F", orb.Polygon{site.Box(200, 20, 230, 90)}, model.Prop("height_m", 8))
}

func TestMarginsAreThoseOfADeviceThatStandsThere(t *testing.T) {
	r, err := analysis.RunOn(context.Background(), marginSite().Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 2.5, Cell: 20}, nil)
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for i := 0; i < len(m.Values); i += 7 {
		at := orb.Point{m.Origin[0] + float64(i%m.Cols)*20, m.Origin[1] + float64(i/m.Cols)*20}
		if math.IsNaN(m.Values[i]) {
			if at[0] > 0.01 && at[0] < 299.9 && at[1] > 0.01 && at[1] < 199.9 {
				t.Errorf("no margin at %v", at)
			}
			continue
		}
		// A repeater has the default radio of a sensor, all but the antenna's gain.
		s := marginSite().Sensor("S", at, "sector-90-25", 2.5, 0, 3)
		best := math.Inf(-1)
		sc := s.Scene(t)
		for _, hub := range []string{"RX", "RP"} {
			k, _, _, err := analysis.LinkBetween(sc, "S", hub)
			if err != nil {
				t.Fatal(err)
			}
			if k.A != at && math.Hypot(k.A[0]-at[0], k.A[1]-at[1]) > 0.001 {
				best = math.NaN() // fixed to a wall: its antenna is not here
				break
			}
			best = math.Max(best, k.Margin)
		}
		if math.IsNaN(best) {
			continue
		}
		checked++
		if math.Abs(best-m.Values[i]) > 0.02 {
			t.Errorf("at %v: %v dB by %s, a sensor there has %v dB", at, m.Values[i], m.HubIDs[m.Hubs[i]], best)
		}
	}
	if checked < 15 {
		t.Fatalf("only %d places were checked", checked)
	}
}

func TestARepeaterWithoutARouteOfItsOwnCarriesNothing(t *testing.T) {
	s := marginSite().Set("radio", map[string]any{"required_margin_db": 90})
	r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 2.5, Cell: 20}, nil)
	if err != nil || len(m.HubIDs) != 1 || m.HubIDs[0] != "RX" {
		t.Errorf("margins to %v, %v", m.HubIDs, err)
	}
}

func TestTheWayOverAloneIsNeverTheBetterFigure(t *testing.T) {
	r, err := analysis.RunOn(context.Background(), marginSite().Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	all, _ := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 2.5, Cell: 10}, nil)
	over, _ := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 2.5, Cell: 10, Bare: true}, nil)
	differ := 0
	for i := range all.Values {
		if math.Abs(all.Values[i]-over.Values[i]) > 0.1 {
			differ++
		}
	}
	if differ < 10 {
		t.Errorf("building and trees change %d places", differ)
	}
}

func TestMarginsAreBrokenOffAtOnce(t *testing.T) {
	r, err := analysis.RunOn(context.Background(), marginSite().Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	told := 0
	_, err = analysis.MarginsOver(ctx, r, analysis.MarginsAsked{Height: 3, Cell: 0.5}, func(done, of int) {
		told++
		cancel()
	})
	if !errors.Is(err, context.Canceled) || told > 4 {
		t.Errorf("%v after %d rows", err, told)
	}
	cancel()
}

func TestMarginsWithoutAnythingToHearThem(t *testing.T) {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.LineString{{0, 0}, {100, 0}})
	r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	if analysis.HasMargins(r) {
		t.Error("there is no receiver and no closed boundary")
	}
	if m, err := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 3}, nil); err != nil || len(m.Values) != 0 {
		t.Errorf("%d values, %v", len(m.Values), err)
	}
}

func BenchmarkMarginsOfTwoKilometres(b *testing.B) {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 2000, 2000)}).
		Add(model.KindReceiver, "RX", orb.Point{1000, 1000}, model.Prop("antenna_height_m", 8))
	for i := range 100 {
		x, y := 30+float64(i%10)*200, 60+float64(i/10)*190
		s.Building(fmt.Sprintf("H%d", i+1), site.Box(x, y, x+25, y+15), 6)
	}
	sc := s.Scene(b)
	r, err := analysis.RunOn(context.Background(), sc, nil)
	if err != nil {
		b.Fatal(err)
	}
	for _, bare := range []bool{true, false} {
		b.Run(fmt.Sprintf("overAlone=%v", bare), func(b *testing.B) {
			for b.Loop() {
				if _, err := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 2.5, Bare: bare}, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("cancel", func(b *testing.B) {
		var worst time.Duration
		for b.Loop() {
			ctx, cancel := context.WithCancel(context.Background())
			var at time.Time
			time.AfterFunc(30*time.Millisecond, func() { at = time.Now(); cancel() })
			analysis.MarginsOver(ctx, r, analysis.MarginsAsked{Height: 2.5, Bare: true}, nil)
			worst = max(worst, time.Since(at))
		}
		b.ReportMetric(float64(worst.Microseconds()), "worst-µs")
	})
}
