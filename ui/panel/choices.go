package panel

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// How much of the window a list of options takes at most, in rows and units of width:
// chosen. What is more scrolls, what is longer ends in an ellipsis.
const (
	mostChoices = 12
	widestPick  = 380
)

// choices is a list of options that scrolls: for more than a menu has room for. The
// arrow keys go through it, Enter takes one, Escape none.
type choices struct {
	widget.BaseWidget
	popup  *widget.PopUp
	scroll *container.Scroll
	rows   []*Row
	at     int // the row that Enter takes
}

// showChoices opens the list at a place of a canvas, with the option on whose label is
// now.
func showChoices(options []Option, now string, take func(Option), c fyne.Canvas, at fyne.Position) *choices {
	l := &choices{at: -1}
	l.ExtendBaseWidget(l)
	box := VBox(0)
	wide := float32(0)
	for i, o := range options {
		wide = max(wide, textWidth(o.Label, theme.Size(theme.SizeNameText), false))
		r := NewRow(Inset(NewLine(o.Label, "", "").Cut(), 0, 3, 0, 3), func() {
			l.popup.Hide()
			take(o)
		})
		if o.Label == now {
			l.at = i
			r.SetChosen(true)
		}
		l.rows = append(l.rows, r)
		box.Add(r)
	}
	l.scroll = container.NewVScroll(box)
	l.popup = widget.NewPopUp(l, c)
	size := theme.Size(theme.SizeNameText) / 13
	l.popup.Resize(fyne.NewSize(min(wide+40, widestPick*size), mostChoices*l.rowHeight()+2*theme.InnerPadding()))
	l.popup.ShowAtPosition(at)
	c.Focus(l)
	l.see()
	return l
}

func (l *choices) rowHeight() float32 { return l.rows[0].MinSize().Height }

// see scrolls to the row that Enter takes, which is tinted.
func (l *choices) see() {
	for i, r := range l.rows {
		r.SetChosen(i == l.at)
	}
	h := l.rowHeight()
	top := float32(max(l.at, 0)) * h
	if y := l.scroll.Offset.Y; top < y || top+h > y+l.scroll.Size().Height {
		l.scroll.ScrollToOffset(fyne.NewPos(0, max(0, top-l.scroll.Size().Height/2)))
	}
}

// CreateRenderer is part of fyne.Widget.
func (l *choices) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(l.scroll) }

// FocusGained is part of fyne.Focusable.
func (l *choices) FocusGained() {}

// FocusLost is part of fyne.Focusable.
func (l *choices) FocusLost() {}

// TypedRune is part of fyne.Focusable.
func (l *choices) TypedRune(rune) {}

// TypedKey is part of fyne.Focusable.
func (l *choices) TypedKey(ev *fyne.KeyEvent) {
	last := len(l.rows) - 1
	switch ev.Name {
	case fyne.KeyDown:
		l.at = min(l.at+1, last)
	case fyne.KeyUp:
		l.at = max(l.at-1, 0)
	case fyne.KeyPageDown:
		l.at = min(l.at+mostChoices, last)
	case fyne.KeyPageUp:
		l.at = max(l.at-mostChoices, 0)
	case fyne.KeyEscape:
		l.popup.Hide()
		return
	case fyne.KeyReturn, fyne.KeyEnter, fyne.KeySpace:
		if l.at >= 0 {
			l.rows[l.at].OnTap()
		}
		return
	}
	l.see()
}
