package drawing

import (
	"fmt"
	"math"
	"math/rand"
	"reflect"
	"testing"

	"github.com/paulmach/orb"
)

// thicket is n sensors at random places with their names, along with gap
// numbers, margins on links and a gate.
func thicket(n int, seed int64) *List {
	rng := rand.New(rand.NewSource(seed))
	l := &List{}
	at := func() orb.Point { return orb.Point{rng.Float64()*600 - 300, rng.Float64()*400 - 200} }
	fence := orb.LineString{{-250, -150}, {250, -150}, {250, 150}, {-250, 150}, {-250, -150}}
	l.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: Boundary, ID: "B1", Line: fence, Inside: Left})
	l.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: ChainageTick, Line: fence, Inside: Left})
	l.Add(Item{Layer: BoundaryLayer, Kind: MarkKind, Meaning: Gate, ID: "G1", At: orb.Point{0, -150}, Length: 12})
	l.Add(Item{Kind: LabelKind, Layer: LabelLayer, Meaning: FeatureName, Text: "Gate", At: orb.Point{0, -150}, Prefer: Outward, Bearing: 180, Priority: 5})
	for i := 0; i < n; i++ {
		p := at()
		id := fmt.Sprintf("S%d", i)
		l.Add(Item{Layer: LinkLayer, Kind: LineKind, Meaning: LinkFails, ID: id, Line: orb.LineString{p, {0, 0}}})
		l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Sensor, ID: id, At: p, Bearing: rng.Float64() * 360})
		l.Add(Item{Kind: LabelKind, Layer: LabelLayer, Meaning: DeviceName, ID: id, Text: id + " post", At: p, Prefer: Outward, Bearing: rng.Float64() * 360, Must: true, Priority: 50})
		l.Add(Item{Kind: LabelKind, Layer: LabelLayer, Meaning: MarginFigure, ID: id, Text: "14 dB", Line: orb.LineString{p, {0, 0}}, Prefer: OnLine, Priority: 20})
		if i%10 == 0 {
			l.Add(Item{Kind: LabelKind, Layer: LabelLayer, Meaning: GapNumber, ID: "B1", Text: fmt.Sprint(i), At: orb.Point{p[0], 150}, Prefer: Outward, Must: true, Priority: 100})
		}
	}
	l.Arrange()
	return l
}

func overlap(a, b orb.Bound) bool {
	return a.Min[0] < b.Max[0] && b.Min[0] < a.Max[0] && a.Min[1] < b.Max[1] && b.Min[1] < a.Max[1]
}

func TestLabelsAndLeadersStayOffPlacesThatAreKept(t *testing.T) {
	th := NewTheme(Medium{Paper: true})
	l := thicket(40, 7)
	v := View{MetresPerUnit: 1.6, Width: 380, Height: 260}
	keep := []orb.Bound{{Min: orb.Point{100, 0}, Max: orb.Point{100.6, 260}}, {Min: orb.Point{200, 120}, Max: orb.Point{260, 150}}}
	touching := func(p *Placement) (n int) {
		for _, l := range p.Labels {
			for _, k := range keep {
				if overlap(l.Box, k) {
					n++
				}
				for i := 0; i+1 < len(l.Leader); i++ {
					// The mark itself may stand there, and its leader leaves it.
					if _, _, ok := clipSegment(l.Leader[i], l.Leader[i+1], k.Min[0], k.Min[1], k.Max[0], k.Max[1]); ok && !k.Contains(l.Leader[0]) {
						n++
					}
				}
			}
		}
		return n
	}
	if n := touching(PlaceLabels(l, v, th, keep...)); n > 0 {
		t.Errorf("%d labels or leaders run over what is kept", n)
	}
	if touching(PlaceLabels(l, v, th)) == 0 {
		t.Error("none would without it: the test shows nothing")
	}
}

func TestNoLabelCoversAMarkOrAnotherLabel(t *testing.T) {
	for name, medium := range media {
		th := NewTheme(medium)
		for _, n := range []int{5, 40, 200} {
			l := thicket(n, int64(n))
			v := View{MetresPerUnit: 0.5, Width: 1200, Height: 800}
			if medium.Paper {
				v = View{MetresPerUnit: 1.6, Width: 380, Height: 260}
			}
			p := PlaceLabels(l, v, th)
			if len(p.Labels) < n/2 {
				t.Errorf("%s, %d sensors: only %d labels found a place", name, n, len(p.Labels))
			}
			for i := range p.Labels {
				for j := i + 1; j < len(p.Labels); j++ {
					if overlap(p.Labels[i].Box, p.Labels[j].Box) {
						t.Errorf("%s, %d sensors: %q and %q overlap", name, n, p.Labels[i].Text, p.Labels[j].Text)
					}
				}
				for k := range l.Items {
					it := &l.Items[k]
					if it.Kind != MarkKind || it.Meaning == Gate {
						continue
					}
					u, h := v.ToUnit(it.At), markSize(th.Style(it.Meaning), v, th)/2
					if overlap(p.Labels[i].Box, orb.Bound{Min: orb.Point{u[0] - h, u[1] - h}, Max: orb.Point{u[0] + h, u[1] + h}}) {
						t.Errorf("%s, %d sensors: %q covers the mark of %s", name, n, p.Labels[i].Text, it.ID)
					}
				}
			}
		}
	}
}

func TestTheSameListIsLabelledTheSameWay(t *testing.T) {
	v, th := View{MetresPerUnit: 0.5, Width: 1200, Height: 800}, NewTheme(Medium{})
	if !reflect.DeepEqual(PlaceLabels(thicket(80, 3), v, th), PlaceLabels(thicket(80, 3), v, th)) {
		t.Error("two runs differ")
	}
}

func TestPanningByWholePixelsLeavesLabelsOnTheGround(t *testing.T) {
	th, l := NewTheme(Medium{}), thicket(30, 5)
	v := View{MetresPerUnit: 0.5, Width: 1400, Height: 1000}
	before := PlaceLabels(l, v, th)
	for _, step := range []orb.Point{{1, 0}, {0, 3}, {-7, 5}} {
		w := v
		w.Centre = orb.Point{step[0] * v.MetresPerUnit, -step[1] * v.MetresPerUnit}
		after := PlaceLabels(l, w, th)
		if len(before.Labels) != len(after.Labels) {
			t.Fatalf("%d labels before, %d after a move by %v", len(before.Labels), len(after.Labels), step)
		}
		for i := range before.Labels {
			a, b := before.Labels[i].Box.Min, after.Labels[i].Box.Min
			if math.Abs(a[0]-step[0]-b[0]) > 1e-6 || math.Abs(a[1]-step[1]-b[1]) > 1e-6 {
				t.Errorf("%q jumped by %.2f, %.2f while the view moved by %v", before.Labels[i].Text, b[0]-a[0], b[1]-a[1], step)
			}
		}
	}
}

func TestALabelThatMustStandGetsALeaderWhereThereIsNoRoom(t *testing.T) {
	l := &List{}
	for i := -4; i <= 4; i++ {
		for j := -4; j <= 4; j++ {
			l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Repeater, ID: "R", At: orb.Point{float64(i) * 15, float64(j) * 15}})
		}
	}
	l.Add(Item{Layer: LabelLayer, Kind: LabelKind, Meaning: DeviceName, ID: "R", Text: "RP1", At: orb.Point{45, 0}, Must: true})
	p := PlaceLabels(l, View{MetresPerUnit: 1, Width: 500, Height: 500}, NewTheme(Medium{}))
	if len(p.Labels) != 1 || len(p.Labels[0].Leader) != 2 {
		t.Fatalf("want one label with a leader, got %+v, left out %v", p.Labels, p.LeftOut)
	}
}

func TestALabelThatFindsNoRoomIsReported(t *testing.T) {
	l := &List{}
	for i := 0; i < 400; i++ {
		l.Add(Item{Layer: LabelLayer, Kind: LabelKind, Meaning: DeviceName, Text: "a long name that needs its place", At: orb.Point{}, Must: true})
	}
	p := PlaceLabels(l, View{MetresPerUnit: 1, Width: 400, Height: 300}, NewTheme(Medium{}))
	if len(p.Labels) == 0 || len(p.LeftOut) == 0 || len(p.Labels)+len(p.LeftOut) != 400 {
		t.Errorf("%d placed, %d left out, of 400", len(p.Labels), len(p.LeftOut))
	}
}

func TestLabelsOnPaperStayOnTheSheet(t *testing.T) {
	th, v := NewTheme(Medium{Paper: true}), View{MetresPerUnit: 1.2, Width: 300, Height: 200}
	for _, pl := range PlaceLabels(thicket(120, 9), v, th).Labels {
		if pl.Box.Min[0] < 0 || pl.Box.Min[1] < 0 || pl.Box.Max[0] > v.Width || pl.Box.Max[1] > v.Height {
			t.Errorf("%q at %v leaves the sheet", pl.Text, pl.Box)
		}
	}
}

func TestChainageIsNumberedByScale(t *testing.T) {
	for _, c := range []struct {
		mpu        float64
		paper      bool
		small, big float64
	}{
		{0.2, false, 10, 50}, {0.5, false, 10, 50}, {1, false, 10, 100}, {3, false, 50, 200}, {10, false, 100, 1000},
		{0.5, true, 10, 50}, {2.5, true, 10, 50}, {5, true, 10, 100},
	} {
		small, big := chainageSteps(c.mpu, Medium{Paper: c.paper})
		if small != c.small || big != c.big {
			t.Errorf("at %v m a unit, paper %v: ticks every %v, numbers every %v; want %v, %v", c.mpu, c.paper, small, big, c.small, c.big)
		}
	}
}

func TestALabelIsShortenedBeforeItMovesOff(t *testing.T) {
	l := &List{}
	// A court of marks round the anchor leaves room for a few letters only.
	for i := -6; i <= 6; i++ {
		for _, d := range []float64{-40, 40} {
			l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Repeater, At: orb.Point{float64(i) * 8, d}})
			l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Repeater, At: orb.Point{d, float64(i) * 8}})
		}
	}
	l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Repeater, ID: "R1"})
	l.Add(Item{Layer: LabelLayer, Kind: LabelKind, Meaning: DeviceName, ID: "R1", Text: "R1 on the roof of the goods shed", Short: "R1", Must: true})
	p := PlaceLabels(l, View{MetresPerUnit: 1, Width: 500, Height: 500}, NewTheme(Medium{}))
	if len(p.Labels) != 1 || p.Labels[0].Text != "R1" || p.Labels[0].Leader != nil {
		t.Errorf("want R1 beside its mark, got %+v", p.Labels)
	}
}
