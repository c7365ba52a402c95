package paper

import (
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/compare"
	"pleach/ui/drawing"
)

// mostLetters is how many characters of a revision stand in a triangle.
const mostLetters = 2

// revisionLetter is what clouds bear: the plan's revision, or a delta where that is
// too long or not stated.
func (s *sheet) revisionLetter() string {
	r := strings.TrimSpace(clean(s.in.Plan.Settings.Revision))
	if n := len([]rune(r)); n == 0 || n > mostLetters {
		return "Δ"
	}
	return r
}

// compareWith finds what changed since the plan before.
func (s *sheet) compareWith() error {
	in := s.in
	if in.Before == nil || in.Result == nil {
		return nil
	}
	if err := compare.SameSite(in.Before, in.Result); err != nil {
		return err
	}
	c := compare.Plans(in.Before, in.Result)
	s.changes = &c
	return nil
}

// sinceWords names the revision before.
func (s *sheet) sinceWords() string {
	if r := clean(s.in.Before.Plan.Settings.Revision); strings.TrimSpace(r) != "" {
		return "revision " + r
	}
	if d := clean(s.in.Before.Plan.Settings.Date); strings.TrimSpace(d) != "" {
		return "the plan of " + d
	}
	return "the plan before"
}

// revisionTable is the revisions, oldest first: those the plan states and, where a plan before
// is compared with, one for what changed.
func (s *sheet) revisionTable() []model.Revision {
	set := s.in.Plan.Settings
	out := append([]model.Revision(nil), set.Revisions...)
	if s.changes == nil {
		return out
	}
	what := capital("against " + s.sinceWords() + ": " + s.changes.Summary())
	if n := len(out) - 1; n >= 0 && out[n].Revision == set.Revision {
		if out[n].What != "" {
			what = strings.TrimSuffix(out[n].What, ".") + ". " + what
		}
		out[n].What = what
		return out
	}
	letter := set.Revision
	if strings.TrimSpace(letter) == "" {
		letter = s.revisionLetter()
	}
	return append(out, model.Revision{Revision: letter, Date: set.Date, By: set.Designer, What: what})
}

// revisionColumns are the columns of the revision table.
var revisionColumns = []column{
	{head: "Revision"},
	{head: "Date"},
	{head: "By", give: 1},
	{head: "What changed", give: 6},
}

func revisionRow(r model.Revision, what string) row {
	return row{cells: []string{stated(r.Revision), stated(r.Date), stated(r.By), stated(what)}}
}

// revisionRows are the rows of the revision table.
func (s *sheet) revisionRows() (out []row) {
	for _, r := range s.history {
		out = append(out, revisionRow(r, r.What))
	}
	return out
}

// changeRows are the changes since the plan before, one by one.
func (s *sheet) changeRows() (out []row) {
	if s.changes == nil {
		return nil
	}
	table := s.revisionTable()
	last := table[len(table)-1]
	for _, p := range s.changes.Parts() {
		var lines []string
		for _, l := range p.Lines {
			if n := len(lines) - 1; n >= 0 && strings.HasPrefix(l, "  ") {
				lines[n] += "; " + strings.TrimSpace(l)
				continue
			}
			lines = append(lines, l)
		}
		for _, l := range lines {
			out = append(out, revisionRow(last, capital(l)))
		}
	}
	return out
}

// changeTable lists the changes since the plan before; empty where none is
// compared with.
func (s *sheet) changeTable() schedule {
	rows := s.changeRows()
	t := schedule{look: s.look, columns: revisionColumns, rows: rows, to: len(rows), lines: 12}
	if rows != nil {
		t.heading = capital("changed since " + s.sinceWords())
	}
	return t
}

// changesHere is the list of changes on the layout's further sheets: where the
// notes are printed too they have it.
func (s *sheet) changesHere() schedule {
	if s.listed {
		return schedule{}
	}
	return s.changeList
}

// These stand in the legend for what is drawn on paper alone: clouds, and the
// outlines of other sheets and of details.
const (
	changedMeaning drawing.Meaning = 255 - iota
	outlineMeaning
	detailMeaning
)

// withMarks adds the lines of the legend that say what these are.
func (s *sheet) withMarks(lines []drawing.LegendLine) []drawing.LegendLine {
	lines = slices.Clip(lines)
	add := func(m drawing.Meaning, text string) {
		lines = append(lines, drawing.LegendLine{Meaning: m, Text: text})
	}
	if s.changes != nil && !s.empty {
		add(changedMeaning, capital("changed since "+s.sinceWords()))
	}
	if s.tiled != nil {
		add(outlineMeaning, "Sheet at "+ratioText(s.tiled.ratio)+", with its number")
	}
	if s.details != nil {
		add(detailMeaning, "Detail, drawn larger")
	}
	return lines
}

// cloud draws the sample of a cloud with its letter in a line of the legend.
func (l look) cloud(d *document, x, y float64, letter string) {
	h := legendRow / 2
	ring := orb.Ring{{x + 0.8, y + h - 1.1}, {x + 5.6, y + h - 1.1}, {x + 5.6, y + h + 1.1}, {x + 0.8, y + h + 1.1}, {x + 0.8, y + h - 1.1}}
	d.stroke(scallops(ring, 1.6), drawing.Pen{Width: 0.3, Colour: l.ink, Cap: drawing.Round})
	l.letter(d, x+8.9, y+h, 4, letter)
}

// The title block shows so many revisions, each on so many lines at most: chosen.
const (
	shownRevisions = 3
	revisionLines  = 3
)

// shown are the revisions in the title block, the newest first.
func (t titleBlock) shown() []model.Revision {
	out := slices.Clone(t.revisions[max(0, len(t.revisions)-shownRevisions):])
	slices.Reverse(out)
	return out
}

// revisionCells are the columns of a revision in the title block: where from the
// left edge each begins, and how wide it is.
func (t titleBlock) revisionCells(w float64) (at, wide [4]float64) {
	wide = [4]float64{9, 18, 0, 24} // revision, date, what, by
	if w < 110 {
		wide[3] = 0
	}
	wide[2] = w - 2*pad - wide[0] - wide[1] - wide[3]
	x := pad
	for i := range at {
		at[i] = x
		x += wide[i]
	}
	return at, wide
}

func (t titleBlock) revisionTexts(r model.Revision, w float64) (out [4][]string) {
	_, wide := t.revisionCells(w)
	most := revisionLines
	if t.terse {
		most = 1
	}
	for i, s := range []string{r.Revision, r.Date, r.What, r.By} {
		if wide[i] > 0 {
			out[i] = wrap(clean(s), wide[i]-1.5, sizeSchedule, i == 0, most)
		}
	}
	return out
}

func (t titleBlock) revisionHeight(r model.Revision, w float64) float64 {
	most := 1
	for _, c := range t.revisionTexts(r, w) {
		most = max(most, len(c))
	}
	return float64(most)*smallRow + 1.2
}

func (t titleBlock) revisionsHeight(w float64) (h float64) {
	for _, r := range t.shown() {
		h += t.revisionHeight(r, w)
	}
	return h
}

// drawRevisions draws the last revisions and returns their height.
func (t titleBlock) drawRevisions(d *document, x, y, w float64) (h float64) {
	at, _ := t.revisionCells(w)
	for _, r := range t.shown() {
		rh := t.revisionHeight(r, w)
		for i, c := range t.revisionTexts(r, w) {
			font, ink := t.small, t.ink
			switch i {
			case 0:
				font = t.smallStrong
			case 1, 3:
				ink = t.soft
			}
			for k, l := range c {
				d.left(x+at[i], y+h+0.6+float64(k)*smallRow, smallRow, l, font, ink)
			}
		}
		h += rh
		d.line(x, y+h, x+w, y+h, rulePen, t.ink)
	}
	return h
}
