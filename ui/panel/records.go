package panel

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"pleach/model"
	"pleach/ui/editor"
)

// Records is what the printed sheets tell people: quotation, visit, contacts,
// duties of the customer, revisions.
type Records struct {
	Object  fyne.CanvasObject
	Resized func() // the height it would like changed

	ed       func() *editor.Editor
	settings *Settings
	form     form
	lists    *fyne.Container
	inside   *fyne.Container
	plan     *model.Plan // shown last
	counts   []int       // entries of each list for which there are rows
	shows    []func(*model.Plan)
}

// NewRecords makes the form.
func NewRecords(ed func() *editor.Editor) *Records {
	r := &Records{ed: ed, lists: VBox(0)}
	r.form.help = NewPara("", ColorSoft, SizeNameSmall)
	r.settings = newSettings(ed, model.ForSheets, &r.form)
	r.inside = VBox(0, r.settings.inside, r.lists)
	r.Object = pinned(r.inside, &r.form)
	return r
}

// Update shows the plan's records.
func (r *Records) Update() {
	r.settings.Update()
	p := r.ed().Plan()
	if p == r.plan {
		return
	}
	r.plan = p
	r.form.left()
	var counts []int
	same := r.counts != nil
	for i, l := range model.Lists {
		counts = append(counts, p.Entries(l.Path))
		same = same && counts[i] == r.counts[i]
	}
	if !same {
		r.counts = counts
		r.build()
	}
	for _, show := range r.shows {
		show(p)
	}
}

// build makes a row for every property of every entry, and one to begin another
// entry.
func (r *Records) build() {
	r.shows = nil
	r.lists.RemoveAll()
	for i, l := range model.Lists {
		r.lists.Add(Inset(NewLine(l.Label, "", "").Strong(), 0, 10, 0, 2))
		for n := range r.counts[i] {
			for k, q := range l.Properties {
				if q.Required = false; k == 0 && n > 0 {
					r.lists.Add(Inset(Rule(), 0, 2, 0, 2))
				}
				r.lists.Add(r.row(l, n, q, q.Label))
			}
		}
		first := l.Properties[0]
		first.Required = false
		r.lists.Add(r.row(l, r.counts[i], first, fmt.Sprintf("Another: %s", strings.ToLower(first.Label))))
	}
	r.inside.Refresh()
	if r.Resized != nil {
		r.Resized()
	}
}

func (r *Records) row(l model.ListInfo, n int, q model.Property, label string) fyne.CanvasObject {
	v := NewValue("")
	v.Commit = func(text string) error {
		val, err := Typed(q, text)
		if err != nil {
			return err
		}
		r.form.left()
		if _, stated := r.ed().Plan().Entry(l.Path, n, q.Name); val == nil && !stated {
			return nil
		}
		return r.ed().Do(model.SetEntry{List: l.Path, Index: n, Property: q.Name, Value: val})
	}
	r.form.serve(v, q)
	r.shows = append(r.shows, func(p *model.Plan) {
		text, ok := p.Entry(l.Path, n, q.Name)
		v.Set(text, !ok)
	})
	return FormRow(label, v)
}
