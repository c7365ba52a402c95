package app

import (
	"fmt"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/address"
	"pleach/model/scene"
	"pleach/ui/panel"
)

// addressing is the dialog that gives addresses in walking order: it shows what
// will change before it is done.
type addressing struct {
	w       *window
	options address.Options
	edit    model.Edit
	some    bool // there is something to do

	said *panel.Para
	rows *fyne.Container
	list *container.Scroll
	ok   *widget.Button
}

// giveAddresses asks which addresses are given and gives them as one step.
func (w *window) giveAddresses() {
	w.ed.Settle()
	a := &addressing{w: w, said: panel.NewPara("", "", ""), rows: panel.VBox(0)}
	set := w.ed.Plan().Settings.Addresses
	low, high := set.Range()

	which := panel.NewPick(panel.Option{Value: false, Label: "those without one"}, panel.Option{Value: true, Label: "every device anew"})
	which.Set(false, "", false)
	which.Commit = func(v any) error {
		which.Set(v, "", false)
		a.options.All = v.(bool)
		a.update()
		return nil
	}
	start := panel.NewValue("")
	start.Set("the lowest in use", true)
	start.Commit = func(text string) error {
		a.options.Start = nil
		if text == "" {
			start.Set("the lowest in use", true)
		} else {
			v, err := whole("The first address", text, low, high)
			if err != nil {
				return err
			}
			a.options.Start = &v
			start.Set(strconv.Itoa(v), false)
		}
		a.update()
		return nil
	}
	step := panel.NewValue("")
	step.Set("1", true)
	step.Commit = func(text string) error {
		a.options.Step = 0
		if text == "" {
			step.Set("1", true)
		} else {
			v, err := whole("The step", text, 1, max(high, 1))
			if err != nil {
				return err
			}
			a.options.Step = v
			step.Set(strconv.Itoa(v), false)
		}
		a.update()
		return nil
	}
	for _, v := range []*panel.Value{start, step} {
		v.Failed = func(err error) { a.said.SetText(panel.Sentence(err.Error())) }
	}
	help := fmt.Sprintf("In walking order: along each boundary, then to the nearest of what is left. The switches can set %d to %d", low, high)
	if set.Reserved != nil {
		help += "; kept for other equipment: " + set.ReservedText()
	}
	a.list = container.NewVScroll(a.rows)
	a.list.SetMinSize(fyne.NewSize(480, 260))
	body := container.NewBorder(
		panel.VBox(8, panel.NewPara(help+".", panel.ColorSoft, panel.SizeNameSmall), panel.VBox(0, panel.FormRow("Which", which), panel.FormRow("The first", start), panel.FormRow("Step", step)), a.said),
		nil, nil, nil, panel.Inset(a.list, 0, 6, 0, 0))
	var d *dialog.CustomDialog
	a.ok = widget.NewButton("", func() {
		d.Hide()
		if a.some {
			w.edit(a.edit)
		}
	})
	a.ok.Importance = widget.HighImportance
	a.update()
	d = dialog.NewCustomWithoutButtons("Give addresses", panel.Inset(body, 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { d.Hide() }), a.ok})
	d.Resize(fyne.NewSize(560, 520))
	d.Show()
}

// whole reads a whole number that a person types.
func whole(what, text string, low, high int) (int, error) {
	v, err := panel.ParseNumber(text)
	if err != nil || v != float64(int(v)) || int(v) < low || int(v) > high {
		return 0, fmt.Errorf("%s cannot be %s: it must be a whole number from %d to %d", what, strings.TrimSpace(text), low, high)
	}
	return int(v), nil
}

// update shows what would change.
func (a *addressing) update() {
	walk, err := address.Assign(scene.On(a.w.ed.Plan(), a.w.ed.Grid()), a.options)
	a.edit, a.some = address.Edit(walk)
	a.rows.RemoveAll()
	n := 0
	for _, d := range walk {
		if !d.Given {
			continue
		}
		n++
		was := "none"
		if d.Was != nil {
			was = strconv.Itoa(*d.Was)
		}
		where := "away from any boundary"
		if d.Boundary != "" {
			where = fmt.Sprintf("%.0f m along %s", d.Chainage, d.Boundary)
		}
		name := d.Feature.ID
		if d.Feature.Name != "" && d.Feature.Name != name {
			name += "  " + d.Feature.Name
		}
		a.rows.Add(container.New(columns{0.46, 0.26, 0.12, 0.16}, panel.NewLine(name, "", "").Cut(), panel.NewLine(where, panel.ColorSoft, "").Cut(),
			panel.NewLine(was, panel.ColorSoft, "").Right().Cut(), panel.NewLine("→  "+strconv.Itoa(d.Address), "", "").Right().Cut()))
	}
	switch {
	case err != nil:
		a.said.SetText(panel.Sentence(err.Error()))
	case len(walk) == 0:
		a.said.SetText("The plan has no sensor and no repeater.")
	case n == 0:
		a.said.SetText("Nothing changes: every device has an address.")
	default:
		a.said.SetText("This will change:")
	}
	switch {
	case n == 1:
		a.ok.SetText("Give 1 address")
	default:
		a.ok.SetText(fmt.Sprintf("Give %d addresses", n))
	}
	if a.some {
		a.ok.Enable()
	} else {
		a.ok.Disable()
	}
	a.rows.Refresh()
	if a.list != nil {
		a.list.ScrollToTop()
		a.list.Refresh()
	}
}

// columns lays objects side by side, each on its share of the width.
type columns []float32

func (c columns) Layout(os []fyne.CanvasObject, s fyne.Size) {
	x := float32(0)
	for i, o := range os {
		w, h := s.Width*c[i], o.MinSize().Height
		o.Move(fyne.NewPos(x, (s.Height-h)/2))
		o.Resize(fyne.NewSize(w-6, h))
		x += w
	}
}

func (c columns) MinSize(os []fyne.CanvasObject) fyne.Size {
	h := float32(0)
	for _, o := range os {
		h = max(h, o.MinSize().Height)
	}
	return fyne.NewSize(200, h+5)
}
