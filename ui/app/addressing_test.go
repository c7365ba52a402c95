package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/ui/panel"
)

// addresses are those of the window's plan, by id, -1 for none.
func addresses(w *window) map[string]int {
	out := map[string]int{}
	for _, f := range w.ed.Plan().Of(model.KindSensor, model.KindRepeater) {
		out[f.ID] = -1
		if v, ok := f.Number("address"); ok {
			out[f.ID] = int(v)
		}
	}
	return out
}

// dialogButton is the button of the dialog on top whose label begins so.
func dialogButton(w *window, begins string) (found *widget.Button) {
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if b, ok := o.(*widget.Button); ok && strings.HasPrefix(b.Text, begins) {
			found = b
		}
	})
	return found
}

func TestAddressesAreShownBeforeTheyAreGivenAndAreOneStep(t *testing.T) {
	w := open(t, demoCopy(t))
	for _, id := range []string{"S2", "RP1"} {
		if err := w.ed.Do(model.Set{ID: id, Values: []model.Value{{Property: "address"}}}); err != nil {
			t.Fatal(err)
		}
	}
	before := addresses(w)
	w.giveAddresses()
	for _, want := range []string{"S2  South-west bay", "53 m along B1", "→  102", "RP1", "→  121", "The switches can set 0 to 255"} {
		if s := dialogText(w); !strings.Contains(s, want) {
			t.Errorf("no %q in %q", want, s)
		}
	}
	tapButton(t, w, "Give 2 addresses")
	if got := addresses(w); got["S2"] != 102 || got["RP1"] != 121 || got["S1"] != 101 {
		t.Errorf("%v", got)
	}
	if got := w.ed.UndoLabel(); got != "give 2 addresses" {
		t.Errorf("Undo says %q", got)
	}
	w.ed.Undo()
	if got := addresses(w); got["S2"] != before["S2"] || got["RP1"] != before["RP1"] {
		t.Errorf("undone, the addresses are %v", got)
	}
}

func TestNothingIsGivenWhereNothingChangesOrTheSwitchesCannotHoldThem(t *testing.T) {
	w := open(t, demoCopy(t))
	w.giveAddresses()
	if s := dialogText(w); !strings.Contains(s, "Nothing changes") || !dialogButton(w, "Give").Disabled() {
		t.Errorf("%q", s)
	}
	w.win.Canvas().Overlays().Top().Hide()
	if err := w.ed.Do(model.Change{Path: "addresses.switches", Value: 4}); err != nil {
		t.Fatal(err)
	}
	w.giveAddresses()
	var which *panel.Pick
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if p, ok := o.(*panel.Pick); ok {
			which = p
		}
	})
	if err := which.Commit(true); err != nil {
		t.Fatal(err)
	}
	if s := dialogText(w); !strings.Contains(s, "21 need an address and 15 addresses are left") || !dialogButton(w, "Give").Disabled() {
		t.Errorf("%q", s)
	}
}
