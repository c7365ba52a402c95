package app

import (
	"fmt"
	"os"

	"fyne.io/fyne/v2"
	fyneapp "fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/theme"

	"pleach/ui/panel"
)

// ID is the application's name to the desktop and in the folder of its
// preferences.
const ID = "site.pleach.planner"

// Run opens the window, with the plan at path or, for "", the plan worked on
// last, and returns when it is closed. A plan that cannot be opened is said in
// the window.
func Run(path string) error {
	w, err := openDisplay()
	if err != nil {
		return err
	}
	w.start(path)
	w.win.ShowAndRun()
	return nil
}

// openDisplay makes the window. The toolkit panics where it cannot open the
// display; that is an error like any other.
func openDisplay() (w *window, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the window cannot be opened on this display: %v", r)
		}
	}()
	a := fyneapp.NewWithID(ID)
	w = newWindow(a, inBackground)
	w.keepUnsaved()
	a.Lifecycle().SetOnEnteredForeground(w.lookAtFile)
	return w, nil
}

// newLook reads the look from the preferences; FYNE_THEME overrides them.
func newLook(p fyne.Preferences) *panel.Look {
	l := &panel.Look{Text: float32(p.FloatWithFallback(prefText, 1))}
	name := p.String(prefTheme)
	if env := os.Getenv("FYNE_THEME"); env != "" {
		name = env
	}
	setVariant(l, name)
	return l
}

func setVariant(l *panel.Look, name string) {
	v := theme.VariantLight
	switch name {
	case "light":
	case "dark":
		v = theme.VariantDark
	default:
		l.Variant = nil
		return
	}
	l.Variant = &v
}

// Preferences: what the window remembers. Project data is none of it.
const (
	prefTheme    = "theme" // "light", "dark" or "" for the system's
	prefText     = "text-size"
	prefVeil     = "veil"
	prefLast     = "last-plan"
	prefTools    = "show-tools"
	prefPanels   = "show-panels"
	prefStrip    = "show-strip"
	prefAxis     = "open-axis" // the section on the axis
	prefAxisTall = "axis-height"
	prefSection  = "open-" // and the section's name
	prefLeaf     = "leaf"
	prefWidth    = "panel-width"
)
