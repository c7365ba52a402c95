package app

import (
	"fmt"
	"strings"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"pleach/assets/help"
	"pleach/model"
	"pleach/ui/editor"
	"pleach/ui/panel"
)

// command is something a menu item or a key does.
type command struct {
	label string
	key   fyne.KeyName
	mod   fyne.KeyModifier
	do    func()
	can   func() bool   // nil: always
	words func() string // the label where it changes
	on    func() bool   // ticked
	quit  bool          // the item that ends the program
	item  *fyne.MenuItem

	// always: not greyed although it cannot be done: its key is for a text field
	// too, and the key of a greyed item goes nowhere.
	always bool
}

// commands is the one table of what can be done by menu and key.
type commands struct {
	w    *window
	all  []*command
	menu *fyne.MainMenu
}

const (
	ctrl  = fyne.KeyModifierShortcutDefault
	shift = fyne.KeyModifierShift
)

func newCommands(w *window) *commands {
	c := &commands{w: w}
	file := c.add("File",
		&command{label: "New…", key: fyne.KeyN, mod: ctrl, do: w.newPlan},
		&command{label: "Open…", key: fyne.KeyO, mod: ctrl, do: func() {
			w.ifSaved(func() { w.chooseFile("Open a plan", jsonFiles, w.open) })
		}},
		&command{label: "Open the demo", do: func() { w.ifSaved(w.openDemo) }},
		nil,
		&command{label: "Save", key: fyne.KeyS, mod: ctrl, do: func() { w.save(nil) }},
		&command{label: "Save as…", key: fyne.KeyS, mod: ctrl | shift, do: func() { w.saveAs(nil) }},
		nil,
		&command{label: "Aerial picture…", do: w.choosePicture},
		&command{label: "Take the picture away", do: func() {
			w.try(func() error {
				return w.ed.Do(model.Change{Path: "base_map", Name: "take the picture away"})
			})
		}, can: func() bool { return w.ed.Settled().Settings.BaseMap != nil }},
		&command{label: "Ground heights…", do: w.chooseHeights},
		&command{label: "Take the ground heights away", do: func() {
			w.try(func() error {
				return w.ed.Do(model.Change{Path: "terrain", Name: "take the ground heights away"})
			})
		}, can: func() bool { return w.ed.Settled().Settings.Terrain != nil }},
		nil,
		&command{label: "Print…", key: fyne.KeyP, mod: ctrl, do: w.print},
		&command{label: "Export…", do: w.export},
		nil,
		&command{label: "Quit", key: fyne.KeyQ, mod: ctrl, do: w.close, quit: true},
	)
	edit := c.add("Edit",
		&command{label: "Undo", key: fyne.KeyZ, mod: ctrl, do: func() { w.text(&fyne.ShortcutUndo{}, func() { w.ed.Undo() }) },
			words: func() string { return withStep("Undo", w.ed.UndoLabel()) }, can: func() bool { return w.ed.UndoLabel() != "" }, always: true},
		&command{label: "Redo", key: fyne.KeyZ, mod: ctrl | shift, do: func() { w.text(&fyne.ShortcutRedo{}, func() { w.ed.Redo() }) },
			words: func() string { return withStep("Redo", w.ed.RedoLabel()) }, can: func() bool { return w.ed.RedoLabel() != "" }, always: true},
		nil,
		&command{label: "Duplicate", key: fyne.KeyD, mod: ctrl, do: func() { w.try(w.ed.Duplicate) }, can: w.hasSelection},
		&command{label: "Delete", words: w.deleteWords, do: w.remove, can: w.hasSelection},
		nil,
		&command{label: "Give addresses…", do: w.giveAddresses, can: func() bool {
			return len(w.ed.Settled().Of(model.KindSensor, model.KindRepeater)) > 0
		}},
		&command{label: "Find a place for a repeater", do: func() { w.findSites(panel.Wanted{}) }, can: w.canFindSites},
		&command{label: "Add a reading…", key: fyne.KeyM, mod: ctrl, words: w.readingWords, do: w.readings, can: w.hasDevices},
		nil,
		&command{label: "Next device", key: fyne.KeyJ, mod: ctrl, do: func() { w.nextDevice(1) }},
		&command{label: "Device before", key: fyne.KeyK, mod: ctrl, do: func() { w.nextDevice(-1) }},
		&command{label: "Next radio link of the device", key: fyne.KeyR, mod: ctrl, do: w.nextLink, can: func() bool { return len(w.linksHere()) > 0 }},
		&command{label: "Select everything", key: fyne.KeyA, mod: ctrl, do: func() { w.text(&fyne.ShortcutSelectAll{}, w.selectAll) }, always: true},
	)
	view := c.add("View",
		&command{label: "Show the whole plan", key: fyne.Key0, mod: ctrl, do: w.showAll},
		&command{label: "Show what is selected", key: fyne.KeyE, mod: ctrl, do: w.showSelected, can: w.hasSelection},
		&command{label: "Nearer", key: fyne.KeyEqual, mod: ctrl, do: func() { w.chart.Zoom(1.5) }},
		&command{label: "Farther", key: fyne.KeyMinus, mod: ctrl, do: func() { w.chart.Zoom(1 / 1.5) }},
		nil,
		&command{label: "Tools", key: fyne.KeyT, mod: ctrl, do: func() { w.toggle(prefTools) }, on: func() bool { return w.prefs.BoolWithFallback(prefTools, true) }},
		&command{label: "Panels", key: fyne.KeyL, mod: ctrl, do: func() { w.toggle(prefPanels) }, on: func() bool { return w.prefs.BoolWithFallback(prefPanels, true) }},
		&command{label: "Section on the axis", key: fyne.KeyI, mod: ctrl, do: w.toggleAxis, on: func() bool { return w.axisPart.Open() }},
		&command{label: "Straight-line diagram", key: fyne.KeyB, mod: ctrl, do: func() { w.toggle(prefStrip) }, on: func() bool { return w.prefs.BoolWithFallback(prefStrip, true) }},
		nil,
		&command{label: "More of the picture", key: fyne.KeyUp, mod: ctrl, do: func() { w.setVeil(w.chart.Layers.Veil - 0.1) }},
		&command{label: "More paper", key: fyne.KeyDown, mod: ctrl, do: func() { w.setVeil(w.chart.Layers.Veil + 0.1) }},
	)
	view.Items = append(view.Items, fyne.NewMenuItemSeparator(),
		c.sub("Drawn on the map", w.showChoices()...),
		c.sub("Coverage along the boundary", w.postureChoices()...),
		c.sub("Margin contours", w.marginChoices()...),
		c.sub("Look", w.lookChoices()...),
		c.sub("Size of text", w.textChoices()...))
	helpMenu := fyne.NewMenu("Help")
	for _, page := range help.Pages() {
		helpMenu.Items = append(helpMenu.Items, fyne.NewMenuItem(page.Title, func() { w.openHelp(page.Name) }))
	}
	c.menu = fyne.NewMainMenu(file, edit, view, helpMenu)
	return c
}

// sub makes a submenu.
func (c *commands) sub(title string, cs ...*command) *fyne.MenuItem {
	it := fyne.NewMenuItem(title, nil)
	it.ChildMenu = c.add(title, cs...)
	return it
}

func withStep(verb, step string) string {
	if step == "" {
		return verb
	}
	return verb + " " + step
}

func (c *commands) add(title string, cs ...*command) *fyne.Menu {
	m := fyne.NewMenu(title)
	for _, k := range cs {
		if k == nil {
			m.Items = append(m.Items, fyne.NewMenuItemSeparator())
			continue
		}
		k.item = fyne.NewMenuItem(k.label, func() {
			if k.always || !c.w.modal() {
				k.do()
			}
		})
		if k.key != "" {
			k.item.Shortcut = shortcut(k.key, k.mod)
		}
		k.item.IsQuit = k.quit
		c.all = append(c.all, k)
		m.Items = append(m.Items, k.item)
	}
	return m
}

// shortcut is a key as the toolkit reports it: some have names of their own.
func shortcut(key fyne.KeyName, mod fyne.KeyModifier) fyne.Shortcut {
	if mod == fyne.KeyModifierShortcutDefault {
		switch key {
		case fyne.KeyZ:
			return &fyne.ShortcutUndo{}
		case fyne.KeyA:
			return &fyne.ShortcutSelectAll{}
		}
	}
	return &desktop.CustomShortcut{KeyName: key, Modifier: mod}
}

// install puts the menus and keys into the window. The main menu is asked for a
// shortcut before the widget that has the focus, so all of them reach us while
// the map has it.
func (c *commands) install() {
	c.update()
	c.w.win.SetMainMenu(c.menu)
	cv := c.w.win.Canvas()
	cv.AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { c.w.ed.Redo() }) // Ctrl+Y
	cv.SetOnTypedKey(func(ev *fyne.KeyEvent) {
		if !c.w.typed(ev) && c.w.place == nil {
			c.w.chart.TypedKey(ev)
		}
	})
	cv.SetOnTypedRune(func(r rune) {
		if !c.w.modal() && c.w.place == nil {
			c.w.chart.TypedRune(r)
		}
	})
	c.w.chart.OnKey = c.w.typed
	c.w.chart.OnRune = c.w.letter
}

// update brings labels, ticks and greyed items into line.
func (c *commands) update() {
	if c == nil || c.menu == nil {
		return
	}
	changed := false
	for _, k := range c.all {
		label, off, on := k.label, false, false
		if k.words != nil {
			label = k.words()
		}
		if k.can != nil && !k.always {
			off = !k.can()
		}
		if k.on != nil {
			on = k.on()
		}
		if label != k.item.Label || off != k.item.Disabled || on != k.item.Checked {
			k.item.Label, k.item.Disabled, k.item.Checked = label, off, on
			changed = true
		}
	}
	if changed {
		c.menu.Refresh()
	}
}

// text gives a shortcut to the text field that has the focus, else does f.
func (w *window) text(s fyne.Shortcut, f func()) {
	if t, ok := w.win.Canvas().Focused().(fyne.Shortcutable); ok {
		t.TypedShortcut(s)
		return
	}
	if !w.modal() {
		f()
	}
}

// modal reports whether a dialog is open: the main menu's keys would go past it.
func (w *window) modal() bool { return w.win.Canvas().Overlays().Top() != nil }

// typed handles keys of the map and of the window where no field has the focus.
func (w *window) typed(ev *fyne.KeyEvent) bool {
	if top := w.win.Canvas().Overlays().Top(); top != nil {
		if ev.Name == fyne.KeyEscape {
			top.Hide()
			w.win.Canvas().Overlays().Remove(top)
		}
		return true
	}
	if w.place != nil { // the plan is out of sight: its keys are off
		if ev.Name == fyne.KeyEscape {
			w.endPlacing()
			return true
		}
		return ev.Name == fyne.KeyDelete || ev.Name == fyne.KeyBackspace
	}
	switch ev.Name {
	case fyne.KeyDelete:
		w.remove()
	case fyne.KeyBackspace:
		if !w.ed.Back() {
			w.remove()
		}
	default:
		return false
	}
	return true
}

// letter takes a tool in hand by its key.
func (w *window) letter(r rune) bool {
	for _, t := range editor.Tools {
		if k := t.Key(); k != 0 && (k == r || unicode.ToLower(r) == k) {
			w.ed.Take(t)
			return true
		}
	}
	return false
}

// deleteWords says what Delete would take away.
func (w *window) deleteWords() string {
	if i, ok := w.ed.Vertex(); ok {
		return fmt.Sprintf("Delete vertex %d of %s", i+1, strings.Join(w.ed.Selected(), ", "))
	}
	switch ids := w.ed.Selected(); len(ids) {
	case 0:
		return "Delete"
	case 1, 2, 3:
		return "Delete " + strings.Join(ids, ", ")
	default:
		return fmt.Sprintf("Delete %d features", len(ids))
	}
}

func (w *window) hasSelection() bool { return len(w.ed.Selected()) > 0 }

func (w *window) remove() { w.try(w.ed.Delete) }

// try does something and says what is wrong with it.
func (w *window) try(f func() error) {
	if err := f(); err != nil {
		w.say(err.Error())
	}
}

// nextDevice selects the device after or before the selected one, in file order.
func (w *window) nextDevice(step int) {
	devices := w.ed.Settled().Of(model.KindSensor, model.KindRepeater, model.KindReceiver)
	if len(devices) == 0 {
		return
	}
	k := -1
	if step < 0 {
		k = len(devices)
	}
	for i, f := range devices {
		if w.ed.IsSelected(f.ID) {
			k = i
		}
	}
	w.goToFeature(devices[(k+step+len(devices))%len(devices)].ID)
}

func (w *window) selectAll() {
	var ids []string
	for _, f := range w.ed.Settled().Features {
		if f.Kind != "" && f.ID != "" && f.Geometry != nil {
			ids = append(ids, f.ID)
		}
	}
	w.ed.Select(ids...)
}

func (w *window) showAll() {
	if b, ok := w.extent(); ok {
		w.chart.Fit(b)
	}
}
