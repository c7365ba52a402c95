package app

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
	"pleach/ui/editor"
	"pleach/ui/panel"
)

// setVeil lays more or less paper over the picture.
func (w *window) setVeil(v float64) {
	w.chart.SetVeil(v)
	w.prefs.SetFloat(prefVeil, w.chart.Layers.Veil)
	w.veil.Set(w.chart.Layers.Veil)
}

// toggle shows or hides a part of the window.
func (w *window) toggle(pref string) {
	on := !w.prefs.BoolWithFallback(pref, true)
	w.prefs.SetBool(pref, on)
	switch pref {
	case prefTools:
		w.docked.Objects[0].(*fyne.Container).Hidden = !on
	case prefPanels:
		hide(!on, w.docked.Objects[2], w.docked.Objects[3])
	case prefStrip:
		w.showStrip()
	}
	w.commands.update()
	w.win.Content().Refresh()
}

func hide(hidden bool, os ...fyne.CanvasObject) {
	for _, o := range os {
		if hidden {
			o.Hide()
		} else {
			o.Show()
		}
	}
}

// showSelected brings what is selected into view.
func (w *window) showSelected() {
	var b orb.Bound
	some := false
	for _, id := range w.ed.Selected() {
		f := w.ed.Plan().Feature(id)
		if f == nil || f.Geometry == nil {
			continue
		}
		g := w.ed.Grid().Geometry(f.Geometry).Bound()
		if some {
			g = b.Union(g)
		}
		b, some = g, true
	}
	if some {
		const round = 15 // metres about a single mark
		if b.Max[0]-b.Min[0] < round && b.Max[1]-b.Min[1] < round {
			b = b.Pad(round)
		}
		w.chart.Unfit()
		w.chart.Fit(b)
	}
}

// showChoices are the items that draw more or less on the map.
func (w *window) showChoices() []*command {
	choice := func(label string, flag drawing.Show, when bool) *command {
		return &command{label: label, on: func() bool { return w.show.Has(flag) == when }, do: func() {
			w.show ^= flag
			w.compose()
			w.commands.update()
		}}
	}
	return []*command{
		choice("Detection patterns", drawing.NoPatterns, false),
		choice("Overspill", drawing.NoOverspill, false),
		choice("Overspill onto open land, and of vehicles", drawing.AllOverspill, true),
		choice("Radio links", drawing.NoLinks, false),
		choice("Links that are not in use", drawing.AllLinks, true),
		choice("Margins", drawing.NoMargins, false),
		choice("Coverage along the boundary", drawing.NoCoverage, false),
		choice("Ways in to assets", drawing.NoWays, false),
		choice("Names", drawing.NoNames, false),
		choice("Site", drawing.NoSite, false),
	}
}

// mostPostures is how many further targets the menu offers: chosen.
const mostPostures = 6

// postureChoices are the targets whose coverage can be drawn.
func (w *window) postureChoices() []*command {
	var out []*command
	for k := range mostPostures + 1 {
		out = append(out, &command{label: "of the target", do: func() {
			w.posture = k
			w.compose()
			w.commands.update()
		}, on: func() bool { return w.posture == k }, can: func() bool { return k <= len(w.ed.Plan().Settings.Postures) }, words: func() string {
			if k == 0 {
				return fmt.Sprintf("of the target, %s tall", panel.Metres(w.ed.Plan().Settings.Target.Height))
			}
			if ps := w.ed.Plan().Settings.Postures; k <= len(ps) {
				return fmt.Sprintf("of %s, %.2g m tall", ps[k-1].Name, ps[k-1].Height)
			}
			return "–"
		}})
	}
	return out
}

// lookChoices are light, dark and as the system has it.
func (w *window) lookChoices() []*command {
	choice := func(label, name string) *command {
		return &command{label: label, do: func() {
			w.prefs.SetString(prefTheme, name)
			setVariant(w.look, name)
			w.relook()
		}, on: func() bool {
			now := ""
			if v := w.look.Variant; v != nil && *v == theme.VariantDark {
				now = "dark"
			} else if v != nil {
				now = "light"
			}
			return now == name
		}}
	}
	return []*command{choice("Light", "light"), choice("Dark", "dark"), choice("As the system", "")}
}

// textChoices are the sizes of text.
func (w *window) textChoices() []*command {
	choice := func(label string, size float32) *command {
		return &command{label: label, do: func() {
			w.prefs.SetFloat(prefText, float64(size))
			w.look.Text = size
			w.relook()
		}, on: func() bool { return w.look.Text == size }}
	}
	return []*command{choice("Small", 0.9), choice("Normal", 1), choice("Large", 1.2), choice("Largest", 1.45)}
}

// relook shows the window in another look.
func (w *window) relook() {
	w.app.Settings().SetTheme(w.look)
	w.dock.Tools, w.where.Least = 188*w.look.Scale(), 420*w.look.Scale()
	w.chart.SetTheme(w.theme())
	w.commands.update()
	w.details.Rebuild()
	w.tell()
	w.win.Content().Refresh()
}

// teaches reports whether the plan is so empty that the map says how to begin.
func (w *window) teaches() bool {
	p := w.ed.Plan()
	return w.ed.Tool() == editor.SelectTool && p.Settings.BaseMap == nil && len(p.Features) == 0
}

// emptyCard says the three things to do first.
func (w *window) emptyCard() fyne.CanvasObject {
	step := func(n, title, text, button string, do func()) fyne.CanvasObject {
		no := panel.NewLine(n, "", theme.SizeNameHeadingText).Strong()
		no.Least = 28
		number := container.New(&panel.Top{}, no)
		b := widget.NewButton(button, do)
		b.Alignment = widget.ButtonAlignCenter
		words := panel.VBox(2, panel.NewLine(title, "", "").Strong(), panel.NewPara(text, panel.ColorSoft, panel.SizeNameSmall))
		b.Importance = widget.MediumImportance
		wide := panel.NewLine("", "", "")
		wide.Least = 150
		return container.NewBorder(nil, nil, number, container.NewVBox(container.NewStack(wide, b)), panel.Inset(words, 4, 0, 16, 0))
	}
	body := panel.VBox(18,
		panel.NewLine("An empty plan", "", theme.SizeNameHeadingText).Strong(),
		step("1", "Lay the site under it", "An aerial picture, if there is one: a GeoTIFF, or a JPEG that is placed by two points. Boundary and buildings can come from files too.", "Aerial picture…", w.choosePicture),
		step("2", "Draw the line to be watched", "Click its corners, the double click closes it. Then its gates, the buildings, and the roads and neighbours that no pattern may reach.", "Draw the boundary", func() { w.ed.Take(editor.Tool{Kind: model.KindBoundary, Shape: model.Area}) }),
		step("3", "Stand sensors along it", "Press where a sensor stands and drag to where it looks. A receiver makes the radio links. What is not covered is numbered as you go.", "Place a sensor", func() { w.ed.Take(editor.SensorTool) }),
		container.NewHBox(widget.NewButton("From files…", w.newPlan), widget.NewButton("Open the demo", func() { w.ifSaved(w.openDemo) })),
	)
	back := canvas.NewRectangle(theme.Color(theme.ColorNameBackground))
	wide := panel.NewLine("", "", "")
	wide.Least = 640
	return container.NewCenter(container.NewStack(back, panel.Inset(panel.VBox(0, wide, body), 28, 8, 28, 24)))
}

// contextMenu is what the secondary button opens on the map.
func (w *window) contextMenu(at fyne.Position) {
	var items []*fyne.MenuItem
	if len(w.ed.Selected()) > 0 {
		items = append(items,
			fyne.NewMenuItem(w.deleteWords(), w.remove),
			fyne.NewMenuItem("Duplicate", func() { w.try(w.ed.Duplicate) }),
			fyne.NewMenuItem("Show what is selected", w.showSelected))
		if w.readingOf() != nil || len(w.chosenDevices()) > 0 {
			items = append(items, fyne.NewMenuItem(w.readingWords(), w.readings))
		}
		items = append(items, fyne.NewMenuItemSeparator())
	}
	if len(w.ed.Outline()) > 0 {
		items = append(items,
			fyne.NewMenuItem("Finish the outline", func() { w.ed.Finish() }),
			fyne.NewMenuItem("Take the last point back", func() { w.ed.Back() }),
			fyne.NewMenuItem("Forget the outline", w.ed.Cancel),
			fyne.NewMenuItemSeparator())
	}
	here := editor.Pointer{At: w.ed.At(), Unit: w.chart.Unit()}
	for _, t := range []editor.Tool{editor.SensorTool, editor.RepeaterTool, editor.ReceiverTool} {
		items = append(items, fyne.NewMenuItem("Place a "+string(t.Kind)+" here", func() {
			w.ed.Take(t)
			w.ed.Press(here)
			w.ed.Drop(here)
		}))
	}
	items = append(items, fyne.NewMenuItemSeparator(), fyne.NewMenuItem("Show the whole plan", w.showAll))
	widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", items...), w.win.Canvas(), at)
}
