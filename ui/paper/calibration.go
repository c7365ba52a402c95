package paper

import (
	"strings"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/drawing"
)

// levelsSide is the side of the plot of levels, millimetres: chosen, so that it
// stands beside its figures on an A4 page.
const levelsSide = 92.0

var readingColumns = []column{
	{head: "Reading"},
	{head: "Sent by → read by", give: 2},
	{head: "Link"},
	{head: "Predicted", unit: "dBm", right: true},
	{head: "Read", unit: "dBm", right: true},
	{head: "Difference", unit: "dB", right: true},
	{head: "Day"},
	{head: "By", give: 1},
	{head: "Remark", give: 5},
}

// levels are what the readings of signal say of the predictions: the plot, the
// figures by class of link, and every reading; nothing for a plan without any.
func (s *sheet) levels(width float64) []block {
	r := s.in.Result
	if r == nil || r.Calibration == nil {
		return nil
	}
	c := r.Calibration
	words := "The links are rated as predicted: the plan does not ask for correction by the readings."
	if c.InUse {
		words = "The links of a class with enough readings are corrected by them; the required margin is that of Student’s t for so few."
	}
	if n := c.Fit.AtLimit; n > 0 {
		words += " " + count(n, "reading") + " at the sensitivity limit: weaker ones beside them were never heard, so that what is left flatters the prediction."
	}
	said := section{"Signal read on site against the predictions", prose{s.look, []string{words}}}
	list := schedule{look: s.look, heading: "Readings of signal", columns: readingColumns, rows: s.readingRows(c)}
	list.to = len(list.rows)
	v := drawing.DrawLevels(drawing.LevelsInput{Calibration: c, Width: levelsSide, Height: levelsSide}, s.theme)
	if v == nil {
		return []block{said, list}
	}
	right := []block{said}
	if len(c.Fit.Points) > 0 {
		t := drawing.TellLevels(c, s.in.Plan.Settings.Reliability)
		columns := []column{{head: "By class of link", give: 1}}
		for _, h := range t.Heads {
			columns = append(columns, column{head: h, right: true, give: 0.5})
		}
		var rows []row
		for _, l := range t.Rows {
			label := l.Label
			if l.Unit != "" {
				label += ", " + l.Unit
			}
			rows = append(rows, row{cells: append([]string{label}, l.Cells...)})
		}
		right = append(right, schedule{look: s.look, columns: columns, rows: rows, to: len(rows)}, prose{s.look, []string{drawing.LevelNotes}})
	}
	right = append(right, legend{look: s.look, theme: s.theme, lines: v.Legend(), columns: 2})
	plot := figureBlock{s.look, "", s.theme, v.List, v.View}
	return []block{beside{left: []block{plot}, right: right, share: levelsSide / (width - 2*pad)}, list}
}

// readingRows has a row for each reading of signal, in file order, and why it was
// set aside or that it lies apart from its class.
func (s *sheet) readingRows(c *analysis.Calibration) (rows []row) {
	of, aside := c.ByReading()
	remark := func(id string) string {
		r, held := of[id]
		switch why, out := aside[id]; {
		case out:
			return "set aside: " + why
		case held && c.Fit.Apart(r):
			return "more than two standard deviations from the mean of its class"
		}
		return ""
	}
	for _, f := range s.in.Plan.Of(model.KindReading) {
		m := f.Value.(*model.Reading)
		if m.What != "signal" {
			continue
		}
		day, _, _ := strings.Cut(m.At, "T")
		cells := []string{clean(f.ID), clean(strings.Join(m.Of, " → ")), none, none, none, none, clean(day), clean(m.By), clean(remark(f.ID))}
		if g, ok := of[f.ID]; ok {
			cells[2], cells[3], cells[4], cells[5] = g.Class, figure(g.PredictedDBm, 0), figure(g.MeasuredDBm, 0), figure(g.Error(), 0)
		}
		for i, c := range cells {
			if c == "" {
				cells[i] = none
			}
		}
		rows = append(rows, row{cells: cells})
	}
	return rows
}
