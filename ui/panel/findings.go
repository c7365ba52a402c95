package panel

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/drawing"
)

// Findings lists what is wrong with the file and what the analysis found. A
// severity is told by its word and its mark, not by a colour.
type Findings struct {
	Object fyne.CanvasObject
	Go     func(model.Finding) // a click
	Said   []model.Finding     // of files as they were read, listed before the result's
	ChosenBox

	list    *widget.List
	none    *Para
	entries []finding
	width   float32
	counts  [5]int          // flaws, faults, warnings, notes; accepted ones apart
	hide    bool            // notes are not shown
	open    map[string]bool // rules whose warnings are all shown
	notes   *Row
	note    *Line
	all     []finding
	begun   bool // there is a boundary

	find     *widget.Entry
	severity *Pick
	only     string // severity that is shown, "" for any
	filters  *fyne.Container
}

// RuleAsRead is the rule of what is said of a file as it was read: it is no
// finding of the analysis, so nobody accepts it.
const RuleAsRead = "as-read"

// finding is a line of the list.
type finding struct {
	word, mark   string
	text, remedy string
	of           model.Finding
	quiet        bool // accepted, or a note
	chosen       bool
	fold         string // in place of further warnings of this rule, or after all of them
}

// Warnings of one rule beyond this many are folded into a line, below the first of
// them. Chosen.
const foldFrom, foldShown = 6, 3

// NewFindings makes the list.
func NewFindings() *Findings {
	f := &Findings{hide: true, open: map[string]bool{}}
	f.list = widget.NewList(func() int { return len(f.entries) }, func() fyne.CanvasObject { return newFindingRow() }, func(i widget.ListItemID, o fyne.CanvasObject) {
		o.(*findingRow).set(f.entries[i])
	})
	f.list.HideSeparators = true
	f.list.OnSelected = func(i widget.ListItemID) {
		f.list.Unselect(i)
		if i >= len(f.entries) {
			return
		}
		if rule := f.entries[i].fold; rule != "" {
			f.open[rule] = !f.open[rule]
			f.filter()
			return
		}
		f.Choose(f.entries[i].of)
	}
	f.none = NewPara("", ColorSoft, "")
	f.note = NewLine("", ColorSoft, SizeNameSmall)
	f.notes = NewRow(Inset(f.note, 0, 4, 0, 6), func() { f.hide = !f.hide; f.filter() })
	f.notes.Pad = 12
	f.ChosenBox.make()
	f.find = widget.NewEntry()
	f.find.SetPlaceHolder("Find by text, rule, id")
	f.find.OnChanged = func(string) { f.filter() }
	f.severity = NewPick(Option{Value: "", Label: "all"}, Option{Value: string(model.Fault), Label: "faults"}, Option{Value: string(model.Warning), Label: "warnings"},
		Option{Value: string(model.Note), Label: "notes"}, Option{Value: accepted, Label: "accepted"})
	f.severity.Set("", "", false)
	f.severity.Commit = func(v any) error {
		f.only = v.(string)
		f.severity.Set(v, "", false)
		f.filter()
		return nil
	}
	f.filters = container.New(&padded{left: 12, top: 2, right: 12, bottom: 4}, container.New(filterRow{}, f.find, f.severity))
	f.filters.Hide()
	f.Object = container.NewBorder(f.filters, f.notes, nil, nil, container.New(&atFoot{}, container.New(&watched{f.resized}, f.list, Inset(f.none, 12, 4, 12, 0)), f.foot))
	return f
}

// Choose makes a finding the one that is chosen and shows what it is about.
func (f *Findings) Choose(x model.Finding) {
	f.choose(&x)
	f.filter()
	if f.Go != nil {
		f.Go(x)
	}
	f.Reveal()
}

// Reveal scrolls the list to the chosen finding.
func (f *Findings) Reveal() {
	for i, e := range f.entries {
		if e.chosen {
			f.list.ScrollTo(i)
		}
	}
}

// watched tells of its width.
type watched struct{ told func(width float32) }

func (w *watched) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for _, o := range os {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(s)
	}
	w.told(s.Width)
}
func (w *watched) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(80, 60) }

func (f *Findings) resized(width float32) {
	if width != f.width {
		f.width = width
		f.heights()
	}
}

// heights gives each line of the list the height its text needs.
func (f *Findings) heights() {
	if f.width <= 0 {
		return
	}
	for i, e := range f.entries {
		f.list.SetItemHeight(i, findingHeight(e, f.width))
	}
}

// Set shows flaws and findings. busy says that the analysis is still running.
func (f *Findings) Set(flaws []model.Flaw, r *analysis.Result) {
	f.all = nil
	f.begun = r != nil && len(r.Boundaries) > 0
	f.counts = [5]int{}
	for _, fl := range flaws {
		subject := []string{}
		if fl.ID != "" {
			subject = []string{fl.ID}
		}
		f.all = append(f.all, finding{word: "Flaw in the file", mark: "✕", text: Sentence(fl.Error()),
			remedy: "It is kept, and left out of the analysis until it is mended.", of: model.Finding{Rule: "flaw", Severity: model.Fault, Subject: subject, Text: fl.Error()}})
		f.counts[0]++
	}
	if r != nil {
		for _, x := range slices.Concat(f.Said, r.Findings) {
			e := finding{text: x.Text, remedy: x.Remedy, of: x}
			count := 3
			switch x.Severity {
			case model.Fault:
				e.word, e.mark, count = "Fault", "●", 1
			case model.Warning:
				e.word, e.mark, count = "Warning", "○", 2
			default:
				e.word, e.mark, e.quiet = "Note", "–", true
			}
			if a := x.Accepted; a != nil {
				count = 4
				e.word += ", accepted"
				if a.By != "" {
					e.word += " by " + a.By
				}
				e.mark, e.quiet = "√", true
				if a.Reason != "" {
					e.remedy = "Reason: " + a.Reason
				}
			}
			f.counts[count]++
			f.all = append(f.all, e)
		}
	}
	f.follow(r)
	f.filter()
}

// Floor is the height the list must have: for a whole finding, and for what can be
// done about the chosen one; 0 while nothing is found.
func (f *Findings) Floor() float32 {
	if len(f.all) == 0 {
		return 0
	}
	return max(f.ChosenBox.Floor(), listLeast+2*rowHeight()) + f.filters.MinSize().Height
}

// filterRow lays a field and a choice beside it.
type filterRow struct{}

const choiceShare = 0.36

func (filterRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	w := choiceShare * s.Width
	os[0].Move(fyne.NewPos(0, 0))
	os[0].Resize(fyne.NewSize(s.Width-w-8, s.Height))
	h := min(os[1].MinSize().Height, s.Height)
	os[1].Move(fyne.NewPos(s.Width-w, (s.Height-h)/2))
	os[1].Resize(fyne.NewSize(w, h))
}

func (filterRow) MinSize(os []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(160, max(os[0].MinSize().Height, os[1].MinSize().Height))
}

// accepted stands among the severities for what somebody has accepted.
const accepted = "accepted"

// fits reports whether a finding is of the severity that is asked for and holds all
// the words.
func (f *Findings) fits(e finding, words []string) bool {
	switch {
	case f.only == accepted:
		if e.of.Accepted == nil {
			return false
		}
	case f.only != "" && (string(e.of.Severity) != f.only || e.of.Accepted != nil):
		return false
	}
	in := strings.ToLower(strings.Join(append([]string{e.word, e.text, e.remedy, e.of.Rule}, e.of.Subject...), " "))
	for _, w := range words {
		if !strings.Contains(in, w) {
			return false
		}
	}
	return true
}

// filter shows what is asked for. Without a severity the notes are hidden, but for
// the chosen one; what is chosen stays so where the list leaves it out.
func (f *Findings) filter() {
	bare := f.filters.Hidden
	defer func() {
		if bare != f.filters.Hidden && f.Resized != nil {
			f.Resized()
		}
	}()
	f.entries = f.entries[:0]
	notes, words := 0, strings.Fields(strings.ToLower(f.find.Text))
	for _, e := range f.all {
		e.chosen = f.chosen != nil && sameFinding(*f.chosen, e.of)
		if !f.fits(e, words) {
			continue
		}
		if e.of.Severity == model.Note && f.only == "" {
			notes++
			if f.hide && !e.chosen {
				continue
			}
		}
		f.entries = append(f.entries, e)
	}
	if len(words) == 0 {
		f.entries = f.folded(f.entries)
	}
	f.notes.Hidden = notes == 0
	f.filters.Hidden = len(f.all) == 0
	verb := "Show"
	if !f.hide {
		verb = "Hide"
	}
	f.note.SetText(fmt.Sprintf("%s %s", verb, plural(notes, "note")))
	switch {
	case len(f.entries) == 0 && len(f.all) > 0 && (f.only != "" || len(words) > 0):
		f.none.SetText("None of the " + plural(len(f.all), "finding") + " is like that.")
	case len(f.entries) == 0 && !f.begun:
		f.none.SetText("Nothing to find yet: draw a boundary and place sensors.")
	case len(f.entries) == 0:
		f.none.SetText("No fault and no warning.")
	default:
		f.none.SetText("")
	}
	f.heights()
	f.list.Refresh()
	f.Object.Refresh()
}

// folded puts a line in place of warnings of a rule that are many, but for the first
// of them and the chosen one.
func (f *Findings) folded(all []finding) (out []finding) {
	of := func(e finding) string {
		if e.of.Severity != model.Warning || e.of.Accepted != nil {
			return ""
		}
		return e.of.Rule
	}
	many, seen, shown := map[string]int{}, map[string]int{}, map[string]int{}
	for _, e := range all {
		many[of(e)]++
	}
	for _, e := range all {
		rule := of(e)
		if rule == "" || many[rule] < foldFrom {
			out = append(out, e)
			continue
		}
		seen[rule]++
		if f.open[rule] || e.chosen || seen[rule] <= foldShown {
			out = append(out, e)
			shown[rule]++
		}
		if seen[rule] < many[rule] {
			continue
		}
		word := fmt.Sprintf("%d more of the kind %s: show them", many[rule]-shown[rule], rule)
		if f.open[rule] {
			word = fmt.Sprintf("Fold these %d of the kind %s", many[rule], rule)
		}
		out = append(out, finding{word: word, mark: "…", quiet: true, fold: rule})
	}
	return out
}

// Words counts what is listed: "1 fault, 3 warnings, 2 accepted".
func (f *Findings) Words() string {
	s := ""
	for i, w := range []string{"flaw", "fault", "warning"} {
		if n := f.counts[i]; n > 0 {
			if s != "" {
				s += ", "
			}
			s += plural(n, w)
		}
	}
	if n := f.counts[4]; n > 0 {
		if s != "" {
			s += ", "
		}
		s += fmt.Sprintf("%d accepted", n)
	}
	return s
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// findingRow is a line of the list: mark, words, remedy.
type findingRow struct {
	widget.BaseWidget
	e     finding
	lines []*canvas.Text
	bar   *canvas.Rectangle // at the left of the one that is chosen
}

func newFindingRow() *findingRow {
	r := &findingRow{bar: canvas.NewRectangle(nil)}
	r.ExtendBaseWidget(r)
	return r
}

func (r *findingRow) set(e finding) {
	r.e = e
	r.Refresh()
}

// Margins of a finding, units.
const (
	findingLeft, findingRight = 32, 16
	findingTop, findingBottom = 3, 7
)

func findingText(e finding, width float32) (head string, text, remedy []string) {
	size, small := theme.Size(theme.SizeNameText), theme.Size(SizeNameSmall)
	w := width - findingLeft - findingRight
	return e.word, wrap(e.text, size, false, w), wrap(e.remedy, small, false, w)
}

func findingHeight(e finding, width float32) float32 {
	_, text, remedy := findingText(e, width)
	return findingTop + findingBottom + lineHeight(theme.Size(SizeNameSmall))*float32(1+len(remedy)) + lineHeight(theme.Size(theme.SizeNameText))*float32(len(text)) + 1
}

// CreateRenderer is part of fyne.Widget.
func (r *findingRow) CreateRenderer() fyne.WidgetRenderer { return &findingRenderer{r} }

type findingRenderer struct{ r *findingRow }

func (f *findingRenderer) Layout(s fyne.Size) { f.lay(s.Width) }

func (f *findingRenderer) lay(width float32) {
	r := f.r
	r.lines = r.lines[:0]
	if width < 40 {
		return
	}
	size, small := theme.Size(theme.SizeNameText), theme.Size(SizeNameSmall)
	y := float32(findingTop)
	add := func(s string, x, size float32, bold bool, c fyne.ThemeColorName) {
		t := canvas.NewText(drawing.TrueMinus(s), theme.Color(c))
		t.TextSize = size
		t.TextStyle.Bold = bold
		t.Move(fyne.NewPos(x, y))
		t.Resize(fyne.NewSize(width-x, lineHeight(size)))
		r.lines = append(r.lines, t)
	}
	head, text, remedy := findingText(r.e, width)
	r.bar.FillColor = theme.Color(theme.ColorNameForeground)
	r.bar.Resize(fyne.NewSize(3, r.Size().Height))
	c := theme.ColorNameForeground
	if r.e.quiet {
		c = ColorSoft
	}
	add(r.e.mark, 13, small, true, c)
	add(head, findingLeft, small, !r.e.quiet, c)
	y += lineHeight(small)
	for _, l := range text {
		add(l, findingLeft, size, false, c)
		y += lineHeight(size)
	}
	y++
	for _, l := range remedy {
		add(l, findingLeft, small, false, ColorSoft)
		y += lineHeight(small)
	}
}

func (f *findingRenderer) MinSize() fyne.Size { return fyne.NewSize(80, 40) }
func (f *findingRenderer) Refresh() {
	f.lay(f.r.Size().Width)
	canvas.Refresh(f.r)
}
func (f *findingRenderer) Objects() []fyne.CanvasObject {
	out := make([]fyne.CanvasObject, 0, len(f.r.lines)+1)
	if f.r.e.chosen {
		out = append(out, f.r.bar)
	}
	for _, l := range f.r.lines {
		out = append(out, l)
	}
	return out
}
func (f *findingRenderer) Destroy() {}
