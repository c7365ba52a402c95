package paper

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/ui/drawing"
)

// leastPicture is the least share of the frame that the customer's picture takes
// where the words stand below it: longer ones run on to a page of their own.
// Chosen.
const leastPicture = 0.4

// The words beside the customer's picture are as narrow as the height allows, from
// the least width in millimetres up to a share of the frame: chosen.
const (
	leastWords = 76.0
	mostWords  = 0.42
)

// customerSheet is the picture with plain words: what is watched, the gaps, what
// the customer has to see to. It has no ids, addresses, margins or heights. The
// words stand beside the picture or below it, where the picture is the larger.
func (s *sheet) customerSheet(title string) ([]leaf, error) {
	f := s.flow(title, true)
	list := s.calm()
	key := across{s.look, s.theme, s.plainKey(list)}
	told := []block{section{"What is watched", prose{s.look, s.watched()}}}
	if gaps := s.plainGaps(); len(gaps) > mostPlain+1 {
		told = append(told, section{"Gaps", prose{s.look, gaps[:1]}}, columned{s.look, "Gap by gap", gaps[1:]})
	} else {
		told = append(told, section{"Gaps", prose{s.look, gaps}})
	}
	asked := []block{dutyList{s.look, s.duties()}, s.quotation()}
	l := &f.page().layout
	bottom := f.bottom() + pad
	side := append(append([]block{headline{s.look, s.headlines(), 2}}, told...), asked...)
	column := box{0, f.y, leastWords, bottom - f.y - pad}
	for column.w < mostWords*l.frame.w && stackHeight(column.w, side...) > column.h+1e-9 {
		column.w += 2
	}
	column.x = l.frame.x + l.frame.w - column.w - pad
	left := box{l.frame.x, l.frame.y, l.frame.w - column.w - 2*pad, bottom - l.frame.y}
	left.h -= key.height(left.w-2*pad) + pad
	under := []block{headline{s.look, s.headlines(), 4}, key, beside{told, asked, 0.5}}
	below := box{l.frame.x, l.frame.y, l.frame.w, bottom - l.frame.y - stackHeight(f.width(), under...) - 2*pad}
	together := below.h >= leastPicture*l.frame.h
	if !together {
		below.h = bottom - l.frame.y - stackHeight(f.width(), under[:2]...) - 2*pad
	}
	// As large as it fits: it is a picture, not to be measured on.
	place := func(b box) float64 {
		l.picture = b
		return math.Max(l.needs(s.ground), float64(Scales[0].Ratio))
	}
	ratio := place(below)
	aside := false
	if stackHeight(column.w, side...) <= column.h+1e-9 {
		if r := place(left); r < ratio || !together {
			ratio, aside = r, true
		} else {
			place(below)
		}
	}
	p := f.page()
	p.view = &drawing.View{Centre: s.ground.Center(), MetresPerUnit: ratio / 1000, Width: l.picture.w, Height: l.picture.h}
	p.list = list
	f.y = l.picture.y + l.picture.h + pad
	switch {
	case aside:
		p.blocks = append(p.blocks, placed{key, l.frame.x + pad, l.picture.y + l.picture.h + pad/2, left.w - 2*pad}, placed{upright{s.look}, column.x - pad, l.frame.y, bottom - l.frame.y})
		at := column.y
		for i, b := range side {
			if i == len(side)-1 { // to be signed at the foot
				at = column.y + column.h - b.height(column.w)
			}
			p.blocks = append(p.blocks, placed{b, column.x, at, column.w})
			if h := b.height(column.w); h > 0 {
				at += h + blockGap
			}
		}
	case together:
		f.add(under...)
	default:
		f.add(under[:2]...)
		f.turn()
		f.add(told...)
		f.add(asked...)
	}
	return f.leaves, nil
}

// upright is a thin line down a page, as long as it is given width.
type upright struct{ look }

func (upright) height(float64) float64 { return 0 }

func (u upright) draw(d *document, x, y, w float64) { d.line(x, y, x, y+w, rulePen, u.ink) }

// calm is the map without what is for those who build and check.
func (s *sheet) calm() *drawing.List {
	list := drawing.Compose(drawing.Input{Scene: s.in.Scene, Result: s.in.Result, Show: drawing.NoLinks | drawing.NoWays})
	technical := []drawing.Meaning{drawing.DeviceName, drawing.ChainageTick, drawing.HeadOn, drawing.Overlap, drawing.Shallow, drawing.FootprintLookDown, drawing.Hazard, drawing.CameraView,
		drawing.OverspillOpen, drawing.OverspillVehicle, drawing.Reading, drawing.Finding, drawing.FindingAccepted}
	dangers := map[string]bool{}
	for _, h := range s.in.Plan.Of(model.KindHazard, model.KindView) {
		dangers[h.ID] = true
	}
	list.Items = slices.DeleteFunc(list.Items, func(it drawing.Item) bool {
		return slices.Contains(technical, it.Meaning) || it.Meaning == drawing.FeatureName && (it.Text == it.ID || dangers[it.ID])
	})
	return list
}

// plainKey names what the picture shows, in plain words.
func (s *sheet) plainKey(list *drawing.List) (out []drawing.LegendLine) {
	shown := map[drawing.Meaning]bool{}
	for i := range list.Items {
		shown[list.Items[i].Meaning] = true
	}
	for _, k := range []drawing.LegendLine{
		{Meaning: drawing.Covered, Text: "Watched"}, {Meaning: drawing.Gap, Text: "Gap, numbered"}, {Meaning: drawing.GapAccepted, Text: "Gap, accepted"}, {Meaning: drawing.Excluded, Text: "Needs no detection"},
		{Meaning: drawing.Footprint, Text: "What a detector sees"}, {Meaning: drawing.Screened, Text: "Hidden by growth"}, {Meaning: drawing.OverspillRoad, Text: "Public road, seen too"},
		{Meaning: drawing.OverspillFootpath, Text: "Public footpath, seen too"}, {Meaning: drawing.OverspillNeighbour, Text: "Neighbour's land, seen too"},
		{Meaning: drawing.Sensor, Text: "Detector"}, {Meaning: drawing.SensorFlagged, Text: "Detector"}, {Meaning: drawing.Repeater, Text: "Radio relay"}, {Meaning: drawing.Receiver, Text: "Receiver"}, {Meaning: drawing.Gate, Text: "Gate"},
		{Meaning: drawing.Foliage, Text: "Trees and bushes"}, {Meaning: drawing.Neighbour, Text: "Neighbour's land"},
	} {
		if shown[k.Meaning] && !slices.ContainsFunc(out, func(o drawing.LegendLine) bool { return o.Text == k.Text }) {
			out = append(out, k)
		}
	}
	return out
}

// called is a feature's name, or in words what it is: never its id.
func called(p *model.Plan, id string) string {
	f := p.Feature(id)
	if f == nil {
		return "something"
	}
	if f.Name != "" && f.Name != id {
		return clean(f.Name)
	}
	switch f.Kind {
	case model.KindFoliage:
		return "trees and bushes"
	case model.KindBoundary:
		return "the boundary"
	case model.KindNeighbour:
		return "the neighbour's land"
	case model.KindRoad:
		return "the public road"
	case model.KindFootpath:
		return "the public footpath"
	}
	return "the " + string(f.Kind)
}

// calledAll lists what features are called, each once.
func calledAll(p *model.Plan, ids []string) string {
	var out []string
	for _, id := range ids {
		if n := called(p, id); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return enumerate(out)
}

// enumerate joins words as a sentence does: "a, b and c".
func enumerate(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// headlines are the figures of the whole.
func (s *sheet) headlines() (out []fact) {
	res := s.in.Result
	if res == nil || len(res.Boundaries) == 0 {
		return nil
	}
	length, free, sum, gaps := 0.0, 0.0, 0.0, 0
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		length, free = length+b.Length, free+b.Closed
		for _, g := range b.Target.Gaps {
			gaps, sum = gaps+1, sum+g.Length
		}
	}
	line := "the whole line"
	if len(res.Boundaries) > 1 {
		line = fmt.Sprintf("the whole of %d lines", len(res.Boundaries))
	}
	out = append(out, fact{metres(length), line})
	if free >= 0.5 {
		out = append(out, fact{metres(free), "of it need no detection"})
	}
	out = append(out, fact{fmt.Sprint(len(res.Sensors)), strings.TrimPrefix(count(len(res.Sensors), "detector"), fmt.Sprint(len(res.Sensors))+" ")})
	if gaps == 0 {
		return append(out, fact{"0", "gaps by this plan"})
	}
	return append(out, fact{metres(sum), "in " + count(gaps, "gap")})
}

// watched says in plain words what is watched.
func (s *sheet) watched() (out []string) {
	res := s.in.Result
	if res == nil || len(res.Boundaries) == 0 {
		return []string{"No line to be watched is drawn yet."}
	}
	var ids []string
	free, lying, upright := 0.0, map[string]float64{}, 0.0
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		ids = append(ids, b.ID)
		free += b.Closed
		for _, g := range b.Target.Gaps {
			upright += g.Length
		}
		for _, c := range b.Postures {
			for _, g := range c.Gaps {
				lying[c.Name] += g.Length
			}
		}
	}
	w := capital(calledAll(s.in.Plan, ids))
	switch n := len(res.Sensors); {
	case n == 0:
		w += ": no detector is placed yet."
	case n == 1:
		w += ": 1 detector reports whoever walks in across the line marked as watched."
	default:
		w += fmt.Sprintf(": %d detectors report whoever walks in across the line marked as watched.", n)
	}
	out = append(out, w)
	if free >= 0.5 {
		var why []string
		for _, f := range s.in.Plan.Of(model.KindExcluded) {
			if v, ok := f.Value.(*model.Excluded); ok && !slices.Contains(why, v.Reason) {
				why = append(why, v.Reason)
			}
		}
		w := metres(free) + " need no detection"
		if why != nil {
			w += ": " + strings.Join(why, "; ")
		}
		out = append(out, strings.TrimSuffix(w, ".")+".")
	}
	for _, q := range s.in.Plan.Settings.Postures {
		if more := lying[q.Name] - upright; more >= 0.5 {
			out = append(out, fmt.Sprintf("A person lower down (%s) is missed on %s more than one who walks upright.", q.Name, metres(more)))
		}
	}
	if beyond := s.beyond(); beyond != "" {
		out = append(out, beyond)
	}
	out = append(out, "The detectors sense the warmth of a body that moves. They take no pictures and record no sound.")
	for i := range out {
		out[i] = clean(out[i])
	}
	return out
}

// beyond says on what of others a person is seen too.
func (s *sheet) beyond() string {
	var ids []string
	for i := range s.in.Result.Sensors {
		for _, o := range s.in.Result.Sensors[i].Overspill {
			if o.For == "person" && o.On != "" && o.Area >= 1 && !slices.Contains(ids, o.On) {
				ids = append(ids, o.On)
			}
		}
	}
	if ids == nil {
		return ""
	}
	return "Beyond the line a person is seen too, as drawn, on " + calledAll(s.in.Plan, ids) + "."
}

// plainCause says in plain words why nobody is detected in a gap.
func plainCause(p *model.Plan, g *analysis.Gap) string {
	switch g.Cause {
	case coverage.Hidden:
		if len(g.By) > 0 {
			return "hidden by " + calledAll(p, g.By)
		}
		return "hidden from the detectors"
	case coverage.Screened:
		if len(g.By) > 0 {
			return "screened by " + calledAll(p, g.By)
		}
		return "screened by growth"
	case coverage.Thin:
		return "crossed too quickly to be sensed"
	case coverage.Under:
		return "too close beneath a detector"
	case coverage.Over:
		return "the detectors look over it"
	}
	return "no detector reaches it"
}

// mostPlain is how many gaps are told as prose on the sheet for the customer; more are
// a list in columns. Chosen.
const mostPlain = 8

// plainGaps says in plain words where nobody is detected, and what of that is
// accepted.
func (s *sheet) plainGaps() (out []string) {
	res := s.in.Result
	if res == nil || len(res.Boundaries) == 0 {
		return nil
	}
	several, n, sum := len(res.Boundaries) > 1, 0, 0.0
	for i := range res.Boundaries {
		n += len(res.Boundaries[i].Target.Gaps)
	}
	many := n > mostPlain
	var marks, each []string
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		on := ""
		if several {
			on = " on " + called(s.in.Plan, b.ID)
		}
		switch k := len(b.Target.Gaps); k {
		case 0:
			continue
		case 1:
			marks = append(marks, "1"+on)
		default:
			marks = append(marks, fmt.Sprintf("1 to %d%s", k, on))
		}
		var own []string
		for k := range b.Target.Gaps {
			g := &b.Target.Gaps[k]
			sum += g.Length
			w := fmt.Sprintf("%d: %s, %s", k+1, metres(g.Length), plainCause(s.in.Plan, g))
			if a := s.acceptance(b.ID, g.From); a != nil {
				w += "; accepted"
				if a.By != "" {
					w += " by " + a.By
				}
				if a.At != "" {
					w += " on " + longDay(a.At)
				}
				if a.Reason != "" {
					w += ": " + a.Reason
				}
			}
			if several && many {
				w = capital(called(s.in.Plan, b.ID)) + ", gap " + w
			}
			own = append(own, clean(strings.TrimSuffix(w, ".")+"."))
		}
		if several && !many {
			own = []string{clean(capital(called(s.in.Plan, b.ID)) + ". " + strings.Join(own, " "))}
		}
		each = append(each, own...)
	}
	if n == 0 {
		return []string{"Gaps: none by this plan."}
	}
	out = append(out, clean(fmt.Sprintf("Gaps: %d, %s in all, marked %s. There nobody is detected who walks in.", n, metres(sum), enumerate(marks))))
	return append(out, each...)
}

// columned is a list in as many columns as find room, read downwards.
type columned struct {
	look
	heading string
	texts   []string
}

// leastColumned is the least width of a column, millimetres: chosen.
const leastColumned = 76.0

// columns returns how many texts a column has, and how wide one is.
func (c columned) columns(w float64) (each int, wide float64) {
	n := max(1, int((w+2*pad)/(leastColumned+2*pad)))
	return (len(c.texts) + n - 1) / n, (w - float64(n-1)*2*pad) / float64(n)
}

func (c columned) height(w float64) float64 {
	each, wide := c.columns(w)
	most, h := 0.0, 0.0
	for i, t := range c.texts {
		if i%each == 0 {
			h = 0
		}
		h += float64(len(wrap(t, wide, sizeBody, false, 0)))*bodyRow + findingGap
		most = math.Max(most, h)
	}
	return headRow + most
}

func (c columned) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, c.heading, c.head, c.ink)
	each, wide := c.columns(w)
	at := y
	for i, t := range c.texts {
		if i%each == 0 {
			at = y + headRow
		}
		for _, l := range wrap(t, wide, sizeBody, false, 0) {
			d.left(x+float64(i/each)*(wide+2*pad), at, bodyRow, l, c.body, c.ink)
			at += bodyRow
		}
		at += findingGap
	}
}

// split implements splitter, between texts.
func (c columned) split(w, h float64) (first, rest block) {
	tall := func(n int) bool { return (columned{c.look, c.heading, c.texts[:n]}).height(w) > h+1e-9 }
	n := sort.Search(len(c.texts), func(n int) bool { return tall(n + 1) })
	for n > 0 && tall(n) { // columns part anew with each text, so that one more may take less
		n--
	}
	switch n {
	case 0:
		return nil, c
	case len(c.texts):
		return c, nil
	}
	return columned{c.look, c.heading, c.texts[:n]}, columned{c.look, goesOn(c.heading), c.texts[n:]}
}

// acceptance is who accepted a gap and why, nil for nobody.
func (s *sheet) acceptance(boundary string, from float64) *model.Accepted {
	for i := range s.in.Result.Findings {
		f := &s.in.Result.Findings[i]
		if f.Rule == "gap" && f.Posture == "" && f.From != nil && *f.From == from && slices.Contains(f.Subject, boundary) {
			return f.Accepted
		}
	}
	return nil
}

// longDay is a day as one says it: "30 April 2027"; what is no day is left as it
// is.
func longDay(s string) string {
	for _, form := range []string{time.DateOnly, time.RFC3339} {
		if t, err := time.Parse(form, s); err == nil {
			return t.Format("2") + string(hardSpace) + t.Format("January 2006")
		}
	}
	return s
}

// duties are what the customer has to see to: what the plan states, with its
// days, then what follows from the drawing.
func (s *sheet) duties() (out []model.Duty) {
	p := s.in.Plan
	for _, d := range p.Settings.Duties {
		out = append(out, model.Duty{What: strings.TrimSuffix(clean(d.What), ".") + ".", From: longDay(d.From)})
	}
	var trees, gates []string
	if s.in.Result != nil {
		for i := range s.in.Result.Sensors {
			trees = append(trees, s.in.Result.Sensors[i].FoliageOn...)
		}
	}
	for _, f := range p.Of(model.KindGate) {
		gates = append(gates, f.ID)
	}
	if trees != nil {
		out = append(out, model.Duty{What: "Cut back what grows in view of the detectors, each spring before the leaf and once in summer: " + calledAll(p, trees) + "."})
	} else {
		out = append(out, model.Duty{What: "Keep the ground along the line free of growth, in spring and in summer."})
	}
	out = append(out, model.Duty{What: "Park and stack nothing where a detector looks: it hides what is behind it."})
	if gates != nil {
		out = append(out, model.Duty{What: "Keep shut while the system is set: " + calledAll(p, gates) + "."})
	}
	for i := range out {
		out[i].What = capital(clean(out[i].What))
	}
	return out
}

// quotation is what the sheet belongs to, and room to agree to it.
func (s *sheet) quotation() block {
	set := s.in.Plan.Settings
	number := set.Quotation.Reference
	if number == "" {
		number = set.Reference
	}
	return agreement{s.look, []fact{{"Quotation", clean(number)}, {"Valid until", clean(longDay(set.Quotation.ValidUntil))}}}
}

// agreement is a few facts, each with a line to write on where it is not stated,
// and room for day and signature.
type agreement struct {
	look
	facts []fact
}

const (
	agreementRow   = bodyRow + 0.9
	agreementLabel = 24.0
	signatureRow   = 9.0
)

func (a agreement) height(float64) float64 {
	return float64(len(a.facts))*agreementRow + signatureRow + bodyRow
}

func (a agreement) draw(d *document, x, y, w float64) {
	for _, f := range a.facts {
		d.left(x, y, bodyRow, f.label, a.body, a.soft)
		if f.value != "" {
			for _, l := range wrap(f.value, w-agreementLabel, sizeBody, true, 1) {
				d.left(x+agreementLabel, y, bodyRow, l, a.strong, a.ink)
			}
		} else {
			d.line(x+agreementLabel, y+bodyRow*0.86, x+math.Min(w, agreementLabel+40), y+bodyRow*0.86, 0.13, a.soft)
		}
		y += agreementRow
	}
	y += signatureRow
	for _, part := range []struct {
		label    string
		from, to float64
	}{{"Agreed on", 0, 0.32}, {"by", 0.38, 1}} {
		d.line(x+part.from*w, y, x+part.to*w, y, 0.13, a.soft)
		d.left(x+part.from*w, y+0.3, bodyRow, part.label, a.body, a.soft)
	}
}

// headline is large figures, each with what it is, a few to a row.
type headline struct {
	look
	facts  []fact
	across int
}

const headlineRow = sizeTitle*1.3 + bodyRow

func (h headline) height(float64) float64 {
	rows := (len(h.facts) + h.across - 1) / h.across
	return float64(rows)*(headlineRow+1.5) - math.Min(float64(rows), 1)*1.5
}

func (h headline) draw(d *document, x, y, w float64) {
	cw := w / float64(h.across)
	for i, f := range h.facts {
		at, top := x+float64(i%h.across)*cw, y+float64(i/h.across)*(headlineRow+1.5)
		if i%h.across > 0 {
			d.line(at-0.5*pad, top+0.8, at-0.5*pad, top+headlineRow-0.6, 0.13, h.soft)
			at += 0.5 * pad
		}
		d.left(at, top, sizeTitle*1.3, clean(f.label), drawing.Font{Size: sizeTitle, Medium: true}, h.ink)
		d.left(at, top+sizeTitle*1.3, bodyRow, clean(f.value), h.body, h.soft)
	}
}

// across is a key in as many columns as find room, read across.
type across struct {
	look
	theme *drawing.Theme
	lines []drawing.LegendLine
}

const acrossRow = legendRow + 0.5

// columns returns how many columns find room, and how wide one is.
func (k across) columns(w float64) (n int, wide float64) {
	for _, e := range k.lines {
		wide = math.Max(wide, sampleWidth+sampleGap+width(e.Text, sizeBody, false)+columnGap)
	}
	return max(1, int((w+columnGap)/math.Max(wide, 1))), wide
}

func (k across) height(w float64) float64 {
	n, _ := k.columns(w)
	return float64((len(k.lines)+n-1)/n) * acrossRow
}

func (k across) draw(d *document, x, y, w float64) {
	n, wide := k.columns(w)
	for i, e := range k.lines {
		at, top := x+float64(i%n)*wide, y+float64(i/n)*acrossRow
		list, view := k.theme.Sample(e.Meaning, sampleWidth, legendRow)
		d.clip(rings(rect(at-0.4, top, sampleWidth+0.8, legendRow)))
		drawing.Render(shifted{d, at, top}, list, view, k.theme, &drawing.Placement{}, drawing.AllLayers)
		d.restore()
		d.left(at+sampleWidth+sampleGap, top, legendRow, e.Text, k.body, k.ink)
	}
}

// dutyList is what the customer sees to, each with the day from which, or a line
// to write it on.
type dutyList struct {
	look
	duties []model.Duty
}

const (
	dutyHeading = "What we ask of you"
	dutyDay     = 32.0 // room for the day
	dutyGap     = 1.0
)

func (l dutyList) lines(i int, w float64) []string {
	return wrap(l.duties[i].What, w-dutyDay-3, sizeBody, false, 0)
}

func (l dutyList) entry(i int, w float64) float64 {
	return float64(len(l.lines(i, w)))*bodyRow + dutyGap
}

func (l dutyList) height(w float64) float64 {
	if len(l.duties) == 0 {
		return 0
	}
	h := headRow
	for i := range l.duties {
		h += l.entry(i, w)
	}
	return h
}

func (l dutyList) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, dutyHeading, l.head, l.ink)
	d.left(x+w-dutyDay, y, headRow-1, "from", l.body, l.soft)
	y += headRow
	for i, duty := range l.duties {
		ls := l.lines(i, w)
		for k, t := range ls {
			d.left(x, y+float64(k)*bodyRow, bodyRow, t, l.body, l.ink)
		}
		if duty.From != "" {
			d.left(x+w-dutyDay, y, bodyRow, clean(duty.From), l.strong, l.ink)
		} else {
			d.line(x+w-dutyDay, y+bodyRow*0.86, x+w, y+bodyRow*0.86, 0.13, l.soft)
		}
		y += l.entry(i, w)
	}
}

// split implements splitter, between duties.
func (l dutyList) split(w, h float64) (first, rest block) {
	n := 0
	for n < len(l.duties) && (dutyList{l.look, l.duties[:n+1]}).height(w) <= h+1e-9 {
		n++
	}
	switch n {
	case 0:
		return nil, l
	case len(l.duties):
		return l, nil
	}
	return dutyList{l.look, l.duties[:n]}, dutyList{l.look, l.duties[n:]}
}
