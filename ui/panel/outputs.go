package panel

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
)

// outputCells are the properties of an output, in two lines.
var outputCells = []struct {
	property, label string
	line            int
	from, share     float32 // of the width
	help            string
}{
	{"zone", "Zone", 0, 0, 0.46, "the zone whose sensors lead to this output; an output of which nothing is stated any more goes"},
	{"type", "Type", 0, 0.46, 0.30, "relay contact, serial or IP event"},
	{"number", "Number", 0, 0.76, 0.24, "of the contact or the event"},
	{"input", "Input", 1, 0.08, 0.68, "where it arrives: of the alarm panel, of the recorder"},
	{"preset", "Preset", 1, 0.76, 0.24, "of a camera; camera views with the same preset show it"},
}

// outputTable is the outputs of one receiver, an output a row, and a row for
// another one.
type outputTable struct {
	d     *Details
	id    string
	rows  *fyne.Container
	count int // outputs shown
	shows []func([]model.Output)
}

// outputs makes the table for a receiver.
func (d *Details) outputs(id string) *field {
	t := &outputTable{d: d, id: id, rows: VBox(0), count: -1}
	d.outs = t
	heads := container.New(outputRow{rowHeight() * 0.75})
	for _, c := range outputCells {
		heads.Add(NewLine(c.label, ColorSoft, SizeNameSmall).Right().Cut())
	}
	box := VBox(0, Inset(NewLine("Outputs", ColorSoft, ""), 0, 8, 0, 2), heads, t.rows)
	return &field{box, func(fs []*model.Feature) {
		r, ok := fs[0].Value.(*model.Receiver)
		if !ok {
			return // flawed: what it says is not known
		}
		t.show(r.Outputs)
	}}
}

func (t *outputTable) show(outputs []model.Output) {
	if len(outputs) != t.count {
		t.count = len(outputs)
		// The rows that stay keep the focus.
		for i := len(t.rows.Objects); i <= t.count; i++ {
			t.rows.Add(t.row(i))
		}
		t.rows.Objects = t.rows.Objects[:t.count+1]
		t.shows = t.shows[:(t.count+1)*len(outputCells)]
		t.rows.Refresh()
	}
	for _, f := range t.shows {
		f(outputs)
	}
}

// row is the row of output i, or of another one.
func (t *outputTable) row(i int) fyne.CanvasObject {
	row := container.New(outputRow{rowHeight()})
	for _, c := range outputCells {
		form := &t.d.form
		p := model.Property{Name: c.property, Label: c.label, Type: model.Text, Help: c.help}
		set := func(v any) error {
			form.left()
			if err := t.d.ed().Do(model.SetOutput{Receiver: t.id, Index: i, Property: c.property, Value: v}); err != nil {
				return err
			}
			form.warn(t.lacks(i))
			return nil
		}
		of := func(outputs []model.Output) string {
			if i >= len(outputs) {
				return ""
			}
			o := outputs[i]
			return map[string]string{"zone": o.Zone, "type": o.Type, "number": o.Number, "input": o.Input, "preset": o.Preset}[c.property]
		}
		if c.property == "type" {
			options := []Option{{"", "–"}}
			for _, name := range model.OutputTypes {
				options = append(options, Option{name, model.Output{Type: name}.TypeWord()})
			}
			pick := NewPick(options...)
			pick.Commit = func(v any) error {
				if v == "" {
					if i == t.count {
						return nil
					}
					v = nil
				}
				return set(v)
			}
			form.serve(pick, p)
			t.shows = append(t.shows, func(os []model.Output) { v := of(os); pick.Set(v, v, v == "") })
			row.Add(pick)
			continue
		}
		v := NewValue("")
		v.Commit = func(text string) error {
			if text = strings.TrimSpace(text); text != "" {
				return set(text)
			}
			if i == t.count {
				return nil
			}
			return set(nil)
		}
		form.serve(v, p)
		t.shows = append(t.shows, func(os []model.Output) { s := of(os); v.Set(s, s == "") })
		row.Add(v)
	}
	return row
}

// lacks says what output i is without, though its number can only be read with it.
func (t *outputTable) lacks(i int) string {
	if f := t.d.ed().Settled().Feature(t.id); f != nil {
		if r, ok := f.Value.(*model.Receiver); ok && i < len(r.Outputs) {
			if o := r.Outputs[i]; o.Number != "" && o.Type == "" {
				return fmt.Sprintf("Output %d has the number %s but no type: choose relay, serial or IP, or the number says nothing of what it is of", i+1, o.Number)
			}
		}
	}
	return ""
}

// outputRow lays the cells of an output, each line so high.
type outputRow struct{ high float32 }

func (r outputRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for i, o := range os {
		c := outputCells[i]
		o.Move(fyne.NewPos(s.Width*c.from, r.high*float32(c.line)))
		o.Resize(fyne.NewSize(s.Width*c.share-4, r.high))
	}
}

func (r outputRow) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(200, 2*r.high+6) }
