package panel

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
)

func TestOutputsOfAReceiverAreWrittenInATable(t *testing.T) {
	e, ed, result := site(t)
	outputs := []any{map[string]any{"zone": "North", "type": "relay", "number": 1, "lamp": "red"}}
	if err := e.Do(model.Add{Features: []*model.Feature{model.NewFeature(model.KindReceiver, "RX9", orb.Point{8, 47}, model.Prop("antenna_height_m", 4), model.Prop("outputs", outputs))}}); err != nil {
		t.Fatal(err)
	}
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("RX9")
	d.Update()
	of := func() string {
		d.Update()
		return fmt.Sprint(e.Plan().Feature("RX9").Value.(*model.Receiver).Outputs)
	}
	cell := func(row, column int) fyne.CanvasObject {
		return d.outs.rows.Objects[row].(*fyne.Container).Objects[column]
	}
	kept := cell(1, 0)
	typeIn(cell(1, 0).(*Value), "South", fyne.KeyReturn)
	if got := of(); got != "[{North relay 1  } {South    }]" {
		t.Errorf("an output is added: %s", got)
	}
	if cell(1, 0) != kept {
		t.Error("the row that was typed into is another")
	}
	typeIn(cell(1, 2).(*Value), "0", fyne.KeyReturn)
	if got := d.form.help.Text(); !strings.HasPrefix(got, "Output 2 has the number 0 but no type: ") {
		t.Errorf("of a number without a type it says %q", got)
	}
	if err := cell(1, 1).(*Pick).Commit("ip"); err != nil {
		t.Fatal(err)
	}
	if got := d.form.help.Text(); got != "" {
		t.Errorf("once it has a type it says %q", got)
	}
	typeIn(cell(1, 2).(*Value), "502", fyne.KeyReturn)
	typeIn(cell(0, 4).(*Value), "3", fyne.KeyReturn)
	if got := of(); got != "[{North relay 1  3} {South ip 502  }]" {
		t.Errorf("%s", got)
	}
	for _, c := range []int{0, 2} {
		typeIn(cell(1, c).(*Value), "", fyne.KeyReturn)
		d.Update()
	}
	if err := cell(1, 1).(*Pick).Commit(""); err != nil {
		t.Fatal(err)
	}
	if got := of(); got != "[{North relay 1  3}]" {
		t.Errorf("an output that says nothing stays: %s", got)
	}
	if raw, _ := e.Plan().Feature("RX9").Property("outputs"); !strings.Contains(string(raw), `"lamp": "red", "number": 1`) {
		t.Errorf("what the program does not know is lost: %s", raw)
	}
	e.Undo()
	if got := of(); got != "[{North relay 1  3} { ip   }]" {
		t.Errorf("undone: %s", got)
	}
}
