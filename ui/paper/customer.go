package paper

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pleach/model"
	"pleach/ui/drawing"
)

// customerSheet is the picture with plain words beneath it: what is watched, the
// gaps, what the customer has to see to. It has no device names, addresses,
// margins or heights.
func (s *sheet) customerSheet(title string) ([]leaf, error) {
	f := s.flow(title, true)
	words := beside{
		left: []block{section{"What is watched", prose{s.look, s.watched()}}},
		right: []block{section{"What we ask of you", prose{s.look, s.duties()}},
			table{s.look, "", 34, []fact{{"Quotation", stated(s.in.Plan.Settings.Reference)}, {"Valid until", "______________________"}}}},
		share: 0.48,
	}
	l := &f.page().layout
	h := words.height(f.width()) + pad
	l.picture = box{l.frame.x, l.frame.y, l.frame.w, f.bottom() - l.frame.y - h}
	if least := 0.3 * l.frame.h; l.picture.h < least {
		l.picture.h = least // a long text runs on to a page of its own
	}
	// As large as it fits: it is a picture, not to be measured on.
	ratio := math.Max(l.needs(s.ground), float64(Scales[0].Ratio))
	list := drawing.Compose(drawing.Input{Scene: s.in.Scene, Result: s.in.Result, Show: drawing.NoLinks | drawing.NoWays})
	list.Items = slices.DeleteFunc(list.Items, func(it drawing.Item) bool { return it.Meaning == drawing.DeviceName })
	view := drawing.View{Centre: s.ground.Center(), MetresPerUnit: ratio / 1000, Width: l.picture.w, Height: l.picture.h}
	p := f.page()
	p.view, p.list = &view, list
	f.y = l.picture.y + l.picture.h + pad
	if f.holds(words) {
		f.place(words)
		return f.leaves, nil
	}
	f.turn()
	f.add(words.left...)
	f.add(words.right...)
	return f.leaves, nil
}

// watched says in plain words what is watched and what is not.
func (s *sheet) watched() (out []string) {
	res := s.in.Result
	if res == nil || len(res.Boundaries) == 0 {
		return []string{"No line to be watched is drawn yet."}
	}
	var names, closed []string
	length, free, gap := 0.0, 0.0, 0.0
	gaps := 0
	marks := []string{}
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		names = append(names, plainName(s.in.Plan, b.ID))
		length, free = length+b.Length, free+b.Closed
		n := len(b.Target.Gaps)
		for _, g := range b.Target.Gaps {
			gap += g.Length
		}
		gaps += n
		if n > 0 {
			m := "marked 1 to " + fmt.Sprint(n)
			if n == 1 {
				m = "marked 1"
			}
			if len(res.Boundaries) > 1 {
				m += " on " + plainName(s.in.Plan, b.ID)
			}
			marks = append(marks, m)
		}
	}
	for _, f := range s.in.Plan.Of(model.KindExcluded) {
		if r := f.Value; r != nil && f.Sound() {
			closed = append(closed, f.Value.(*model.Excluded).Reason)
		}
	}
	w := fmt.Sprintf("%s, %s long, watched by %s for a person walking in.", strings.Join(names, ", "), unit(length, 0, "m"), count(len(res.Sensors), "detector"))
	if free >= 0.5 {
		w += " " + unit(free, 0, "m") + " of it need no detection"
		if closed != nil {
			w += ": " + strings.Join(closed, "; ")
		}
		w += "."
	}
	out = append(out, capital(w))
	switch {
	case gaps == 0:
		out = append(out, "Gaps: none by this plan.")
	default:
		out = append(out, fmt.Sprintf("Gaps: %d, %s in all, %s. There nobody is detected who walks in.", gaps, metres(gap), strings.Join(marks, ", ")))
	}
	for _, f := range res.Findings {
		if f.Rule == "gap" && f.Accepted != nil && f.Posture == "" {
			by := ""
			if f.Accepted.By != "" {
				by = ", accepted by " + f.Accepted.By
			}
			if f.From != nil && f.To != nil {
				out = append(out, fmt.Sprintf("Accepted: the gap from %s to %s%s: %s", figure(*f.From, 0), unit(*f.To, 0, "m"), by, stated(f.Accepted.Reason)))
			}
		}
	}
	out = append(out, "The detectors sense the warmth of a body that moves. They take no pictures and record no sound.")
	for i := range out {
		out[i] = clean(out[i])
	}
	return out
}

// plainName is a feature's name without its id.
func plainName(p *model.Plan, id string) string {
	if f := p.Feature(id); f != nil && f.Name != "" {
		return f.Name
	}
	return id
}

// duties are what the customer has to see to, each with room for a date.
func (s *sheet) duties() (out []string) {
	const date = " Agreed from: ____________"
	var trees []string
	if s.in.Result != nil {
		for i := range s.in.Result.Sensors {
			for _, id := range s.in.Result.Sensors[i].FoliageOn {
				if n := plainName(s.in.Plan, id); !slices.Contains(trees, n) {
					trees = append(trees, n)
				}
			}
		}
	}
	if trees != nil {
		out = append(out, "Cut back what grows in view of the detectors before the leaf comes each spring and once in summer: "+strings.Join(trees, ", ")+"."+date)
	} else {
		out = append(out, "Keep the ground along the line free of growth, in spring and in summer."+date)
	}
	out = append(out, "Park and stack nothing in the tinted areas: it hides what is behind it."+date)
	var gates []string
	for _, f := range s.in.Plan.Of(model.KindGate) {
		gates = append(gates, plainName(s.in.Plan, f.ID))
	}
	if gates != nil {
		out = append(out, "Keep the gates shut while the system is set: "+strings.Join(gates, ", ")+"."+date)
	}
	for i := range out {
		out[i] = clean(out[i])
	}
	return out
}
