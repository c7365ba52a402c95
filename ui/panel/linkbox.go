package panel

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// most links of one device that are listed: chosen, what can be looked through.
const mostLinks = 12

// linkBox lists the radio links of the one device that is selected, to be chosen
// with a click; with no device selected it says what the chosen link comes to.
type linkBox struct {
	object *fyne.Container
	ed     func() *editor.Editor
	form   *form
	key    string
}

func newLinkBox(ed func() *editor.Editor, f *form) *linkBox {
	return &linkBox{object: VBox(0), ed: ed, form: f}
}

// isDevice reports whether a feature has an antenna.
func isDevice(f *model.Feature) bool {
	return f.Kind == model.KindSensor || f.Kind == model.KindRepeater || f.Kind == model.KindReceiver
}

// LinksOf are the links of a device, those in use first, the best first.
func LinksOf(r *analysis.Result, id string) []analysis.Link {
	var out []analysis.Link
	for _, l := range r.Links {
		if l.From == id || l.To == id {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b analysis.Link) int {
		if a.InUse != b.InUse {
			if a.InUse {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.Margin, a.Margin)
	})
	return out
}

// show brings the box into line; it reports whether it is another.
func (b *linkBox) show(r *analysis.Result, fs []*model.Feature) bool {
	from, to, chosen := b.ed().Link()
	var rows []fyne.CanvasObject
	key := ""
	switch {
	case r == nil:
	case len(fs) == 1 && isDevice(fs[0]):
		id := fs[0].ID
		ls := LinksOf(r, id)
		for i, l := range ls {
			if i == mostLinks {
				key += fmt.Sprint("more ", len(ls))
				rows = append(rows, Inset(NewPara(fmt.Sprintf("And %d more: View, \"Links that are not in use\" draws them all; a click on one chooses it.", len(ls)-i), ColorSoft, SizeNameSmall), 0, 4, 0, 0))
				break
			}
			other := l.From
			if other == id {
				other = l.To
			}
			name, words := other, drawing.MarginText(l)
			if f := r.Plan.Feature(other); f != nil && f.Name != "" && f.Name != other {
				name += ", " + f.Name
			}
			if m, _ := drawing.LinkMeaning(l); m == drawing.LinkFails {
				words += ", fails"
			}
			on := chosen && l.From == from && l.To == to
			key += fmt.Sprintln(name, words, on, l.InUse)
			rows = append(rows, b.row(l, name, words, on))
		}
	case len(fs) == 0 && chosen:
		for _, l := range r.Links {
			if l.From != from || l.To != to {
				continue
			}
			for _, f := range linkFacts(l) {
				key += fmt.Sprintln(f)
				row, _ := b.form.figure(f.label, f.value)
				rows = append(rows, row)
			}
		}
		key += from + " " + to
		for _, id := range []string{from, to} {
			rows = append(rows, NewRow(Inset(NewLine("Select "+id, "", "").Cut(), 0, 4, 0, 4), func() { b.ed().Select(id) }))
		}
	}
	if key == b.key {
		return false
	}
	b.key = key
	b.object.RemoveAll()
	if len(rows) > 0 {
		head := "Radio links"
		if len(fs) == 0 {
			head = "Radio link " + from + " to " + to
		}
		b.object.Add(Inset(NewLine(head, ColorSoft, SizeNameSmall), 0, 6, 0, 2))
		for _, o := range rows {
			b.object.Add(o)
		}
	}
	b.object.Refresh()
	return true
}

// row is one link in the list.
func (b *linkBox) row(l analysis.Link, name, words string, on bool) fyne.CanvasObject {
	colour := fyne.ThemeColorName("")
	if !l.InUse {
		colour = ColorSoft
	}
	right := NewLine(words, colour, "").Right()
	left := NewLine(name, colour, "").Cut()
	left.Bold, right.Bold = on, on
	r := NewRow(Inset(container.NewBorder(nil, nil, nil, right, left), 0, 4, 0, 4), func() { b.ed().SelectLink(l.From, l.To) })
	r.Pad = 4
	return r
}

// linkFacts lists what the analysis says of a link.
func linkFacts(l analysis.Link) []fact {
	out := []fact{{"Margin", drawing.MarginText(l)}, {"Required", Decibels(l.Required)}, {"Distance", Metres(l.Distance)}, {"Free space", Decibels(l.FreeSpace)}}
	for _, p := range []struct {
		name string
		db   float64
	}{{"Ground and obstacles", l.Diffraction}, {"Foliage", l.Vegetation}, {"Building", l.Building}, {"Installation", l.Installation}} {
		if math.Round(p.db) != 0 {
			out = append(out, fact{p.name, Decibels(p.db)})
		}
	}
	use := "no"
	if l.InUse {
		use = "yes"
	}
	for _, d := range l.Directions() {
		out = append(out, fact{d.From + " to " + d.To, strings.Replace(Decibels(d.Received), "dB", "dBm", 1) + ", margin " + Decibels(d.Margin)})
	}
	return append(out, fact{"In use", use})
}
