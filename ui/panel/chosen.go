package panel

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/analysis"
)

// ChosenBox stands under the list of findings and says what can be done about the
// one that is chosen: what would end it, and that it may be accepted.
type ChosenBox struct {
	// Seek looks for what would end a finding and calls then, perhaps later; it may
	// be asked only of one that HasRemedies.
	Seek     func(f model.Finding, then func(analysis.Remedies))
	Apply    func(model.Edit)
	Accept   func(model.Finding) // asks for the reason
	Withdraw func(model.Accepted)
	Repeater func(Wanted) // looks for a place for a repeater

	foot   *container.Scroll
	inside *fyne.Container
	chosen *model.Finding
	result *analysis.Result // the chosen one is of
	asked  int              // how often was sought, so that a late answer is dropped

	Resized func() // Floor has changed
}

// listLeast is what is left of the list above the box, units. Chosen: a finding.
const listLeast = 96

// Floor is the height the list of findings must have for what can be done about the
// chosen one to show, 0 for none.
func (b *ChosenBox) Floor() float32 {
	if !b.foot.Visible() {
		return 0
	}
	return b.foot.Content.MinSize().Height + listLeast + 2*rowHeight()
}

func (b *ChosenBox) make() {
	b.inside = VBox(0)
	b.foot = container.NewVScroll(VBox(0, Rule(), Inset(b.inside, 12, 4, 14, 6)))
	b.foot.Hide()
}

// atFoot lays the second object under the first, as high as it needs but at most
// footShare of the height.
type atFoot struct{}

const footShare = 0.7

func (atFoot) Layout(os []fyne.CanvasObject, s fyne.Size) {
	h := float32(0)
	if foot := os[1].(*container.Scroll); foot.Visible() {
		// The text breaks at the width it is given: that first.
		foot.Resize(fyne.NewSize(s.Width, 10))
		h = min(foot.Content.MinSize().Height, footShare*s.Height)
		foot.Move(fyne.NewPos(0, s.Height-h))
		foot.Resize(fyne.NewSize(s.Width, h))
	}
	os[0].Move(fyne.NewPos(0, 0))
	os[0].Resize(fyne.NewSize(s.Width, s.Height-h))
}

func (atFoot) MinSize(os []fyne.CanvasObject) fyne.Size { return os[0].MinSize() }

// HasRemedies reports whether what would end a finding can be looked for.
func HasRemedies(f model.Finding) bool {
	return (f.Rule == "overspill" && f.Severity != model.Note || f.Rule == "foliage") && len(f.Subject) > 0
}

// sameFinding reports whether two findings tell of the same thing.
func sameFinding(a, b model.Finding) bool {
	at := func(f model.Finding) float64 {
		if f.From == nil {
			return 0
		}
		return *f.From
	}
	// Without a stretch a person and a vehicle are told apart by the severity.
	return a.Rule == b.Rule && a.Posture == b.Posture && slices.Equal(a.Subject, b.Subject) && at(a) == at(b) &&
		(a.From != nil || a.Severity == b.Severity)
}

// choose makes a finding the chosen one; nil for none.
func (b *ChosenBox) choose(f *model.Finding) {
	b.chosen = f
	b.tell()
}

// follow finds the chosen one again in another result: of a stretch the one that
// begins nearest, within a few metres, as it moves with what is dragged.
func (b *ChosenBox) follow(r *analysis.Result) {
	if b.chosen == nil || r == b.result {
		b.result = r
		return
	}
	b.result = r
	if r == nil {
		b.choose(nil)
		return
	}
	const near = 5 // metres, chosen
	best, off := (*model.Finding)(nil), math.Inf(1)
	for i := range r.Findings {
		f := r.Findings[i]
		if f.From == nil && sameFinding(*b.chosen, f) {
			best, off = &f, 0
		}
		if f.From == nil || b.chosen.From == nil {
			continue
		}
		d := math.Abs(*f.From - *b.chosen.From)
		f.From = b.chosen.From
		if d < off && d < near && sameFinding(*b.chosen, f) {
			best, off = &r.Findings[i], d
		}
	}
	b.choose(best)
}

// tell shows what can be done about the chosen one.
func (b *ChosenBox) tell() {
	b.asked++
	b.inside.RemoveAll()
	if b.chosen == nil {
		b.foot.Hide()
		b.again()
		return
	}
	b.foot.Show()
	defer b.foot.ScrollToTop()
	defer b.again()
	f := *b.chosen
	if a := f.Accepted; a != nil {
		b.inside.Add(doing(NewPara(acceptedWords(*a), "", ""), "Withdraw", func() { b.Withdraw(*a) }))
		return
	}
	if HasRemedies(f) && b.Seek != nil {
		ways := VBox(0, NewPara("Looking for a turn, a tilt or a mask that would end it…", ColorSoft, SizeNameSmall))
		b.inside.Add(ways)
		n := b.asked
		b.Seek(f, func(m analysis.Remedies) {
			if n != b.asked {
				return
			}
			ways.RemoveAll()
			words := "No single turn, tilt or mask of " + f.Subject[0] + " would end it and keep covered what it alone covers."
			if len(m.Ways) > 0 {
				words = "Each of these alone " + strings.TrimPrefix(m.Says, "that ") + "."
			}
			ways.Add(NewPara(words, ColorSoft, SizeNameSmall))
			for _, w := range m.Ways {
				ways.Add(doing(NewPara(Sentence(w.Text), "", ""), "Apply", func() { b.Apply(w.Edit) }))
			}
			b.again()
		})
	}
	b.links(f)
	if f.Rule != "flaw" && f.Rule != RuleAsRead && b.Accept != nil {
		b.inside.Add(doing(NewLine(f.Text, ColorSoft, SizeNameSmall).Cut(), "Accept…", func() { b.Accept(f) }))
	}
}

// links says what would mend a route: another height of an antenna, a repeater.
func (b *ChosenBox) links(f model.Finding) {
	if m := b.mend(f); m != nil && b.Apply != nil {
		words := fmt.Sprintf("Raise the antenna of %s from %s to %s: %.0f dB to spare.", m.ID, Metres(m.From), Metres(m.To), math.Floor(m.Spare))
		b.inside.Add(doing(NewPara(words, "", ""), "Apply", func() {
			b.Apply(model.Together{Name: "raise the antenna of " + m.ID, Edits: []model.Edit{model.Set{ID: m.ID, Values: []model.Value{{Property: "antenna_height_m", Value: m.To}}}}})
		}))
	}
	if w, ok := repeaterWanted(f, b.result); ok && b.Repeater != nil {
		words := "A repeater may mend it, and others with it."
		if w.Goal == analysis.Survives {
			words = "A second repeater may serve them too."
		}
		b.inside.Add(doing(NewPara(words, "", ""), "Find a place", func() { b.Repeater(w) }))
	}
}

// mend is the antenna that would end a finding of a route that fails, nil for none.
func (b *ChosenBox) mend(f model.Finding) *analysis.Mend {
	if f.Rule != "link" || b.result == nil || len(f.Subject) == 0 {
		return nil
	}
	i := slices.IndexFunc(b.result.Sensors, func(s analysis.Sensor) bool { return s.ID == f.Subject[0] })
	if i < 0 {
		return nil
	}
	if m := b.result.MendOf(i); m != nil && m.ID != "" {
		return m
	}
	return nil
}

// repeaterWanted is what a repeater would be wanted for to end a finding; ok is false
// where none could.
func repeaterWanted(f model.Finding, r *analysis.Result) (w Wanted, ok bool) {
	if r == nil {
		return w, false
	}
	receivers := len(r.Plan.Of(model.KindReceiver))
	switch {
	case f.Rule == "link" && receivers > 0:
		if f.Severity != model.Fault {
			w.Reserve = analysis.ThinMargin
		}
		return w, true
	case f.Rule == "repeater-loss" && receivers > 0, f.Rule == "receiver-loss" && receivers > 1:
		return Wanted{Goal: analysis.Survives}, true
	}
	return w, false
}

// again has the panels laid anew after the box's height has changed.
func (b *ChosenBox) again() {
	b.foot.Refresh()
	if b.Resized != nil {
		b.Resized()
	}
}

// doing is a line with a button at its right.
func doing(words fyne.CanvasObject, label string, do func()) fyne.CanvasObject {
	button := widget.NewButton(label, do)
	return Inset(container.NewBorder(nil, nil, nil, container.NewCenter(button), container.New(&middle{}, Inset(words, 0, 0, 8, 0))), 0, 3, 0, 3)
}

// middle centres what it holds by height.
type middle struct{}

func (middle) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for _, o := range os {
		o.Resize(fyne.NewSize(s.Width, s.Height))
		h := o.MinSize().Height
		o.Resize(fyne.NewSize(s.Width, h))
		o.Move(fyne.NewPos(0, max(0, (s.Height-h)/2)))
	}
}

func (middle) MinSize(os []fyne.CanvasObject) (m fyne.Size) {
	for _, o := range os {
		m = m.Max(o.MinSize())
	}
	return m
}

func acceptedWords(a model.Accepted) string {
	s := "Accepted"
	if a.By != "" {
		s += " by " + a.By
	}
	if a.At != "" {
		day, _, _ := strings.Cut(a.At, "T")
		s += fmt.Sprintf(" on %s", day)
	}
	if a.Reason != "" {
		s += ": " + a.Reason
	}
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}
