package app

import (
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"pleach/ui/panel"
)

// sourceForm asks for files and for what they do not say themselves.
type sourceForm struct {
	w      *window
	rows   *fyne.Container
	help   *panel.Para // the advice, or what is wrong
	advice string
}

func (w *window) newSourceForm(advice string) *sourceForm {
	return &sourceForm{w: w, rows: panel.VBox(0), help: panel.NewPara(advice, panel.ColorSoft, panel.SizeNameSmall), advice: advice}
}

// fail says what is wrong in place of the advice.
func (f *sourceForm) fail(err error) {
	f.help.Bold, f.help.Color = true, ""
	f.help.SetText(panel.Sentence(err.Error()))
}

// well gives the advice again.
func (f *sourceForm) well() {
	f.help.Bold, f.help.Color = false, panel.ColorSoft
	f.help.SetText(f.advice)
}

// text asks for words.
func (f *sourceForm) text(label string, to *string) {
	v := panel.NewValue("")
	v.Sheet = theme.ColorNameOverlayBackground
	v.Set(*to, false)
	v.Commit = func(s string) error { *to = s; v.Set(s, false); return nil }
	f.rows.Add(panel.FormRow(label, v))
}

// file asks for a file; a click on one that is chosen takes it away again.
func (f *sourceForm) file(label string, ext []string, to *string) {
	p := panel.NewPick()
	show := func() {
		f.well()
		if *to == "" {
			p.Set(nil, "choose a file", true)
			return
		}
		p.Set(nil, filepath.Base(*to), false)
	}
	show()
	p.Open = func() {
		if *to != "" {
			*to = ""
			show()
			return
		}
		f.w.chooseFile(label, ext, func(path string) {
			*to = path
			show()
		})
	}
	f.rows.Add(panel.FormRow(label, p))
}

// system asks for a coordinate reference system.
func (f *sourceForm) system(label string, to *string) {
	v := panel.NewValue("")
	v.Sheet = theme.ColorNameOverlayBackground
	show := func() {
		if *to == "" {
			v.Set("where the file names none", true)
		} else {
			v.Set(*to, false)
		}
	}
	show()
	v.Commit = func(s string) error {
		// What is refused stays, to be mended.
		*to = s
		name, err := systemName(s)
		if err == nil {
			f.well()
			*to = name
		}
		show()
		return err
	}
	v.Failed = f.fail
	f.rows.Add(panel.FormRow(label, v))
}

// unit asks in what heights are, as terrain.unit says it.
func (f *sourceForm) unit(label string, to *string) {
	p := panel.NewPick(panel.Option{Value: "", Label: "as the file says, else metres"}, panel.Option{Value: "m", Label: "metres"}, panel.Option{Value: "ft", Label: "feet"})
	p.Set(*to, *to, false)
	p.Commit = func(v any) error {
		*to = v.(string)
		p.Set(v, "", false)
		return nil
	}
	f.rows.Add(panel.FormRow(label, p))
}
