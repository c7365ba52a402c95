package panel

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// Features lists everything in the plan, devices first.
type Features struct {
	Object fyne.CanvasObject
	Go     func(id string) // a click

	ed     func() *editor.Editor
	result func() *analysis.Result
	list   *widget.List
	find   *widget.Entry
	rows   []featureRow
	count  int
}

type featureRow struct {
	id, title, right string
	mark             drawing.Meaning
	chosen           bool
}

// featureOrder is the order of the list.
var featureOrder = []model.Kind{model.KindSensor, model.KindRepeater, model.KindReceiver, model.KindBoundary, model.KindGate, model.KindExcluded,
	model.KindPremises, model.KindNeighbour, model.KindRoad, model.KindFootpath, model.KindBuilding, model.KindObstacle, model.KindFoliage, model.KindAsset,
	model.KindHazard, model.KindView, model.KindReading, ""}

// NewFeatures makes the list.
func NewFeatures(look *Look, ed func() *editor.Editor, result func() *analysis.Result) *Features {
	f := &Features{ed: ed, result: result}
	f.list = widget.NewList(func() int { return len(f.rows) }, func() fyne.CanvasObject {
		return newFeatureLine(look)
	}, func(i widget.ListItemID, o fyne.CanvasObject) {
		l := o.(*featureLine)
		l.set(f.rows[i], func(id string) {
			if f.Go != nil {
				f.Go(id)
			}
		})
	})
	f.list.HideSeparators = true
	f.find = widget.NewEntry()
	f.find.SetPlaceHolder("Find by id, name, model, zone")
	f.find.OnChanged = func(string) { f.Update() }
	f.Object = container.NewBorder(Inset(f.find, 12, 2, 12, 6), nil, nil, nil, f.list)
	return f
}

// Update brings the list into line with plan, selection and result.
func (f *Features) Update() {
	p := f.ed().Plan()
	words := strings.Fields(strings.ToLower(f.find.Text))
	f.rows = f.rows[:0]
	f.count = 0
	scroll := -1
	for _, k := range featureOrder {
		for _, x := range p.Features {
			if x.Kind != k || x.ID == "" && x.Kind == "" {
				continue
			}
			r := featureRow{id: x.ID, title: titleOf(x), right: f.right(x), mark: markOf(x), chosen: f.ed().IsSelected(x.ID)}
			if !matches(x, r, words) {
				continue
			}
			if r.chosen && scroll < 0 {
				scroll = len(f.rows)
			}
			f.rows = append(f.rows, r)
			f.count++
		}
	}
	f.list.Refresh()
	if scroll >= 0 {
		f.list.ScrollTo(scroll)
	}
}

// Words counts what is listed.
func (f *Features) Words() string { return fmt.Sprint(f.count) }

func titleOf(f *model.Feature) string {
	t := f.ID
	if t == "" {
		t = "without an id"
	}
	switch v := f.Value.(type) {
	case *model.Hazard:
		return t + "  " + v.What
	case *model.Excluded:
		return t + "  " + v.Reason
	}
	if f.Name != "" && f.Name != f.ID {
		t += "  " + f.Name
	}
	return t
}

// right is what stands at the right of a line: the one figure that tells.
func (f *Features) right(x *model.Feature) string {
	if len(x.Flaws) > 0 {
		return "flawed"
	}
	r := f.result()
	switch v := x.Value.(type) {
	case *model.Sensor:
		if r == nil {
			return v.Model
		}
		for _, s := range r.Sensors {
			if s.ID == x.ID {
				if s.Margin == nil {
					return "no route"
				}
				return Decibels(*s.Margin)
			}
		}
	case *model.Boundary:
		if r == nil {
			return ""
		}
		for _, b := range r.Boundaries {
			if b.ID == x.ID {
				return Metres(b.Length)
			}
		}
	case *model.Building:
		return Metres(v.Height)
	case *model.Foliage:
		return Metres(v.Height)
	case *model.Obstacle:
		return Metres(v.Height)
	}
	return ""
}

func matches(x *model.Feature, r featureRow, words []string) bool {
	if len(words) == 0 {
		return true
	}
	hay := strings.ToLower(string(x.Kind) + " " + r.title)
	if s, ok := x.Value.(*model.Sensor); ok {
		hay += " " + strings.ToLower(s.Model+" "+s.Zone+" "+s.Note)
		if s.Address != nil {
			hay += fmt.Sprintf(" %d", *s.Address)
		}
	}
	for _, w := range words {
		if !strings.Contains(hay, w) {
			return false
		}
	}
	return true
}

// featureLine is a line of the list.
type featureLine struct {
	Row
	mark  *Swatch
	title *Line
	right *Line
}

func newFeatureLine(look *Look) *featureLine {
	l := &featureLine{mark: NewSwatch(look, drawing.None, fyne.NewSize(26, 18)), title: NewLine("", "", "").Cut(), right: NewLine("", ColorSoft, SizeNameSmall).Right()}
	l.Row = *NewRow(container.New(&padded{top: 2, bottom: 2}, container.NewBorder(nil, nil, container.NewCenter(l.mark), Inset(l.right, 8, 1, 4, 0), Inset(l.title, 8, 1, 0, 0))), nil)
	l.Pad = 12
	l.ExtendBaseWidget(l)
	return l
}

func (l *featureLine) set(r featureRow, tap func(string)) {
	l.mark.Set(r.mark)
	l.title.SetText(r.title)
	l.right.SetText(r.right)
	l.OnTap = func() { tap(r.id) }
	l.SetChosen(r.chosen)
}
