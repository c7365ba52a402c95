package app

import (
	"strings"
	"testing"

	"pleach/ui/drawing"
)

func drawnMargins(w *window) (n int) {
	for _, it := range w.chart.Layers.List().Items {
		if it.Meaning == drawing.MarginWanted || it.Meaning == drawing.MarginLine {
			n++
		}
	}
	return n
}

func TestMarginContoursAreDrawnWhenAskedForAndFollowTheEdits(t *testing.T) {
	w := open(t, demoCopy(t))
	if drawnMargins(w) != 0 {
		t.Fatal("contours that nobody asked for")
	}
	var ask, none *command
	for _, c := range w.marginChoices() {
		switch c.label {
		case "of an antenna 3 m up":
			ask = c
		case "None":
			none = c
		}
	}
	ask.do()
	if drawnMargins(w) < 3 || !strings.Contains(w.status.Text(), "antenna 3 m up") || !strings.Contains(w.status.Text(), "19 dB past obstacles") {
		t.Fatalf("%d contours, the status line says %q", drawnMargins(w), w.status.Text())
	}
	before := w.contours.found
	w.ed.Select("RP1")
	if err := w.ed.Delete(); err != nil {
		t.Fatal(err)
	}
	if w.contours.found == before || drawnMargins(w) == 0 {
		t.Error("the contours do not follow the plan")
	}
	none.do()
	if drawnMargins(w) != 0 {
		t.Error("the contours stay")
	}
}
