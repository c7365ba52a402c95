package panel

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/siting"
)

// Siting finds places for repeaters: what is looked for, how far the search is, and
// what it found, each with a button that places it.
type Siting struct {
	Object  fyne.CanvasObject
	Start   func(siting.Options) // looks for places, and calls Progress and Show or Clear
	Stop    func()               // breaks the search off
	Go      func(at orb.Point)   // shows a place on the map
	Apply   func(model.Edit)
	Resized func() // Need has changed

	options siting.Options
	need    float32
	busy    bool
	look    *widget.Button
	goal    *Pick
	said    *Para
	rows    *fyne.Container
	words   string // for the heading
}

// NewSiting makes the panel.
func NewSiting() *Siting {
	s := &Siting{said: NewPara("", "", ""), rows: VBox(0)}
	height := NewValue("m")
	fallback := fmt.Sprint(siting.DefaultHeight)
	height.Set(fallback, true)
	height.Commit = func(text string) error {
		s.options.Height = 0
		if text == "" {
			height.Set(fallback, true)
			return nil
		}
		v, err := ParseNumber(text)
		if err != nil || v <= 0 || v > 60 {
			return fmt.Errorf("the antenna cannot be %s m up: it must be above 0 and at most 60", text)
		}
		s.options.Height = v
		height.Set(fmt.Sprint(v), false)
		return nil
	}
	height.Failed = func(err error) { s.said.SetText(Sentence(err.Error())); s.again() }
	s.goal = NewPick(Option{Value: Wanted{}, Label: "have no route"}, Option{Value: Wanted{Reserve: analysis.ThinMargin}, Label: "have a thin route"},
		Option{Value: Wanted{Goal: analysis.Survives}, Label: "are lost with one device"}, Option{Value: Wanted{Goal: analysis.SecondRoute}, Label: "have no second route"})
	s.goal.Set(Wanted{}, "", false)
	s.goal.Commit = func(v any) error {
		w := v.(Wanted)
		s.options.Goal, s.options.Reserve = w.Goal, w.Reserve
		s.goal.Set(v, "", false)
		return nil
	}
	s.look = widget.NewButton("Find places", s.Look)
	s.Object = container.NewVScroll(Inset(VBox(6,
		VBox(0, FormRow("Antenna", height), FormRow("Sensors that", s.goal)),
		container.NewHBox(s.look), s.said, s.rows), 12, 2, 14, 10))
	return s
}

// Look starts the search or, where one runs, breaks it off.
func (s *Siting) Look() {
	switch {
	case s.busy:
		s.Stop()
	default:
		s.Start(s.options)
	}
}

// Wanted is what a repeater is wanted for.
type Wanted struct {
	Goal    analysis.Goal
	Reserve float64 // dB above the required margin
}

// For looks for places for what a repeater is wanted for.
func (s *Siting) For(w Wanted) {
	if s.busy {
		s.Stop()
	}
	s.goal.Commit(w)
	s.Start(s.options)
}

// Need is the height that shows everything.
func (s *Siting) Need() float32 { return s.Object.(*container.Scroll).Content.MinSize().Height }

// Words are for the heading.
func (s *Siting) Words() string { return s.words }

// Progress tells how far the search is: how many repeaters are proposed so far, and
// how many places for the next have been looked at.
func (s *Siting) Progress(proposed, done, of int) {
	s.set(true, "")
	s.said.SetText(fmt.Sprintf("Looking for repeater %d: %d of %d places. An edit breaks it off.", proposed+1, done, of))
	s.again()
}

// Clear takes what was found away and says why.
func (s *Siting) Clear(why string) {
	s.set(false, "")
	s.said.SetText(why)
	s.again()
}

func (s *Siting) set(busy bool, words string) {
	s.busy, s.words = busy, words
	label := "Find places"
	if busy {
		label = "Stop"
	}
	if s.look.Text != label {
		s.look.SetText(label)
	}
	s.rows.RemoveAll()
}

// Show lists what was found in a plan.
func (s *Siting) Show(f *siting.Found, plan *model.Plan) {
	n := len(f.Proposals)
	words := "none"
	if n > 0 {
		words = plural(n, "place")
	}
	s.set(false, words)
	head := f.Head()
	if o := f.Outcome(plan); o != "" {
		head += " " + o
	}
	s.said.SetText(head)
	for i, p := range f.Proposals {
		s.rows.Add(Inset(Rule(), 0, 6, 0, 2))
		s.rows.Add(s.row(p, f, i, plan))
	}
	s.again()
}

// row is one proposal: a click shows it, its button places it with those before it,
// on which it rests.
func (s *Siting) row(p siting.Proposal, f *siting.Found, i int, plan *model.Plan) fyne.CanvasObject {
	label := "Place " + p.ID
	if i > 0 {
		label = fmt.Sprintf("Place all %d", i+1)
	}
	lines := []fyne.CanvasObject{doing(NewPara(p.ID+": "+p.Place.Words(plan), "", ""), label, func() {
		part := siting.Found{Proposals: slices.Clone(f.Proposals[:i+1])}
		s.Apply(part.Edit())
	})}
	for _, w := range p.Words(f.Result) {
		lines = append(lines, NewPara(w, ColorSoft, SizeNameSmall))
	}
	row := NewRow(VBox(2, lines...), func() { s.Go(p.Place.At) })
	row.Pad = 0
	return row
}

// again has the panels laid anew.
func (s *Siting) again() {
	s.Object.Refresh()
	if n := s.Need(); n != s.need {
		s.need = n
		if s.Resized != nil {
			s.Resized()
		}
	}
}
