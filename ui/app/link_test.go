package app

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/ui/editor"
)

// A click on a link of the map shows its profile where the section on the axis
// was, and leaves it to that again with the selection of another sensor.
func TestALinkThatIsClickedShowsItsProfile(t *testing.T) {
	w := open(t, demoCopy(t))
	if w.axisPart.Open() {
		w.axisPart.SetOpen(false, true)
	}
	var at orb.Point
	var from, to string
	for _, l := range w.an.last.Links {
		if !l.InUse {
			continue
		}
		// A place on the link that is of nothing else.
		for q := 0.2; q < 0.9 && from == ""; q += 0.02 {
			p := orb.Point{l.A[0] + q*(l.B[0]-l.A[0]), l.A[1] + q*(l.B[1]-l.A[1])}
			if hs := w.chart.Layers.List().Hit(p, 0.5, 0.1); len(hs) > 0 && hs[0].Part == "link" && hs[0].ID == l.From && w.chart.Layers.List().Items[hs[0].Item].Text == l.To {
				at, from, to = p, l.From, l.To
			}
		}
	}
	if from == "" {
		t.Fatal("no link of the demo can be clicked")
	}
	p := editor.Pointer{At: at, Unit: 0.1}
	w.ed.Press(p)
	w.ed.Drop(p)
	if !w.link.Visible() || w.axis.Visible() || !w.axisPart.Open() {
		t.Fatalf("clicked, the profile shows %v, the section %v, open %v", w.link.Visible(), w.axis.Visible(), w.axisPart.Open())
	}
	if v := w.link.Profile(); v == nil || v.Link.From != from || v.Link.To != to {
		t.Fatalf("the link %s to %s is not drawn", from, to)
	}
	for _, l := range w.an.last.Links {
		if l.From == from && l.To == to && l.Margin != w.link.Profile().Link.Margin {
			t.Errorf("the profile says %v dB, the analysis %v", w.link.Profile().Link.Margin, l.Margin)
		}
	}
	if !strings.Contains(w.link.Words(), " dB, ") {
		t.Errorf("the heading reads %q", w.link.Words())
	}
	w.ed.Select(to)
	seen := map[string]bool{}
	for range w.linksHere() {
		w.nextLink()
		a, b, _ := w.ed.Link()
		if a != to && b != to || seen[a+" "+b] || w.link.Profile() == nil {
			t.Fatalf("going through the links of %s comes to %s to %s", to, a, b)
		}
		seen[a+" "+b] = true
	}
	if len(seen) < 3 || w.win.Canvas().Focused() != w.link {
		t.Errorf("%s has %d links to go through", to, len(seen))
	}
	w.ed.SelectLink(from, to)
	w.ed.Select(from)
	if !w.link.Visible() {
		t.Error("selecting an end leaves the link")
	}
	for _, s := range w.an.last.Sensors {
		if s.ID != from && s.ID != to {
			w.ed.Select(s.ID)
			break
		}
	}
	if w.win.Canvas().Focused() == w.link || w.link.Profile() != nil {
		t.Error("hidden, the profile keeps the keys")
	}
	if w.link.Visible() || !w.axis.Visible() {
		t.Error("another sensor is selected, the link stays")
	}
}
