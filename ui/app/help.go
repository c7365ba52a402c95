package app

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/assets/help"
	"pleach/ui/panel"
)

// help opens a page of help in a window of its own, beside the plan.
func (w *window) openHelp(name string) {
	if w.helpWin == nil {
		w.helpWin = w.app.NewWindow("pleach help")
		w.helpWin.Resize(fyne.NewSize(980, 760))
		w.helpWin.SetPadded(false)
		w.helpWin.SetOnClosed(func() { w.helpWin = nil })
	}
	text := panel.NewPage()
	scroll := container.NewVScroll(panel.Inset(text, 28, 24, 28, 24))
	list := panel.VBox(0)
	rows := map[string]*panel.Row{}
	show := func(name string) {
		for n, r := range rows {
			r.SetChosen(n == name)
		}
		text.SetText(help.Text(name))
		scroll.ScrollToTop()
	}
	for _, p := range help.Pages() {
		row := panel.NewRow(panel.Inset(panel.NewLine(p.Title, "", ""), 0, 5, 0, 5), func() { show(p.Name) })
		row.Pad = 16
		rows[p.Name] = row
		list.Add(row)
	}
	left := container.NewBorder(nil, nil, nil, panel.Rule(), panel.Inset(list, 0, 12, 0, 12))
	w.helpWin.SetContent(container.NewBorder(nil, nil, left, nil, scroll))
	show(name)
	w.helpWin.Show()
	w.helpWin.RequestFocus()
}
