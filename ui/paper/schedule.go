package paper

import (
	"math"
	"strconv"
	"strings"

	"pleach/model"
	"pleach/model/analysis"
)

// column is one column of a schedule.
type column struct {
	head  string
	unit  string // in a lighter weight after the head
	right bool
	give  float64 // its share of room to spare; a column that gives may wrap
}

// row is one line of a schedule.
type row struct {
	cells  []string
	strong bool // stands out: a link that fails
}

// schedule is a table with thin rules. from and to are the rows that show.
type schedule struct {
	look
	heading string
	columns []column
	rows    []row // all of them: widths are the same on every sheet
	from    int
	to      int
	lines   int // of a cell at most, what is longer is cut; 0: four
	// known keeps how wide the columns would be, where a table is measured again
	// and again; nil for none.
	known *[]columnWidth
}

// columnWidth is how wide a column would be, and of one of figures the width of
// what comes after the whole number.
type columnWidth struct{ own, tail float64 }

const (
	cellGap   = 2.3 // between two columns
	rowPad    = 0.85
	smallRow  = sizeSchedule * 1.3
	leastFlex = 12.0
	mostFixed = 24.0
)

// least returns the width below which the table cannot be set.
func (s schedule) least() float64 {
	sum := 0.0
	for _, w := range s.widths(0) {
		sum += w + cellGap
	}
	return sum - cellGap
}

// own returns the columns as wide as what stands in them.
func (s schedule) own() []columnWidth {
	if s.known != nil && *s.known != nil {
		return *s.known
	}
	out := make([]columnWidth, len(s.columns))
	for i, c := range s.columns {
		head := width(c.head, sizeSchedule, true)
		if c.unit != "" {
			head += width(" "+c.unit, sizeSchedule, false)
		}
		own := head
		if c.right {
			var whole float64
			whole, out[i].tail = s.figures(i)
			own = math.Max(own, whole+out[i].tail)
		} else {
			for _, r := range s.rows {
				own = math.Max(own, width(r.cells[i], sizeSchedule, r.strong || i == 0))
			}
		}
		if c.give == 0 && !c.right {
			// Not even an odd long id may crowd out the rest: it is broken.
			own = math.Min(own, math.Max(head, mostFixed))
		}
		out[i].own = own
	}
	if s.known != nil {
		*s.known = out
	}
	return out
}

// widths returns the width of each column in a table w wide, or wider where it
// cannot be set in w.
func (s schedule) widths(w float64) []float64 {
	out := make([]float64, len(s.columns))
	sum, give := 0.0, 0.0
	for i, c := range s.own() {
		out[i] = c.own
		if s.columns[i].give > 0 {
			out[i] = math.Min(c.own, math.Max(w, leastFlex)) // a long word does not crowd out the rest
		}
		give += s.columns[i].give
		sum += out[i]
	}
	spare := w - sum - cellGap*float64(len(s.columns)-1)
	if spare >= 0 {
		for i, c := range s.columns {
			if give > 0 {
				out[i] += spare * c.give / give
			}
		}
		return out
	}
	// Too wide: those that may wrap shrink, the widest first.
	for step := 0; step < 4000 && spare < 0; step++ {
		widest := -1
		for i, c := range s.columns {
			if c.give > 0 && out[i] > leastFlex && (widest < 0 || out[i] > out[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			break
		}
		cut := math.Min(1, math.Min(-spare, out[widest]-leastFlex))
		out[widest] -= cut
		spare += cut
	}
	return out
}

// parts splits a cell of a column of figures into its whole number and what
// comes after: decimals, a remark. The two meet at one line down the column.
func parts(cell string) (whole, tail string) {
	n := -1
	runes := []rune(cell)
	digit := func(i int) bool { return i < len(runes) && runes[i] >= '0' && runes[i] <= '9' }
	for i, r := range runes {
		if !digit(i) && r != '−' && !(r == hardSpace && digit(i+1)) {
			n = len(string(runes[:i]))
			break
		}
	}
	if n < 0 || cell == none {
		return cell, ""
	}
	return cell[:n], cell[n:]
}

// figures returns the widths of the widest whole number and the widest tail in
// column i.
func (s schedule) figures(i int) (whole, tail float64) {
	for _, r := range s.rows {
		a, b := parts(r.cells[i])
		whole = math.Max(whole, width(a, sizeSchedule, r.strong))
		tail = math.Max(tail, width(b, sizeSchedule, r.strong))
	}
	return whole, tail
}

func (s schedule) cell(r row, i int, w float64) []string {
	most := s.lines
	if most == 0 {
		most = 4
	}
	return wrap(r.cells[i], w, sizeSchedule, r.strong, most)
}

func (s schedule) rowHeight(r row, ws []float64) float64 {
	most := 1
	for i := range r.cells {
		if s.columns[i].right {
			continue
		}
		most = max(most, len(s.cell(r, i, ws[i])))
	}
	return float64(most)*smallRow + 2*rowPad - 0.9
}

// fits returns how many rows from s.from on fit in h, heading and all.
func (s schedule) fits(w, h float64) int {
	ws := s.widths(w)
	at := s.headHeight()
	for i := s.from; i < len(s.rows); i++ {
		at += s.rowHeight(s.rows[i], ws)
		if at > h+1e-9 {
			return i - s.from
		}
	}
	return len(s.rows) - s.from
}

func (s schedule) headHeight() float64 {
	h := smallRow + 0.9
	if s.heading != "" {
		h += headRow
	}
	return h
}

func (s schedule) height(w float64) float64 {
	if s.from == s.to {
		return 0
	}
	ws := s.widths(w)
	h := s.headHeight()
	for _, r := range s.rows[s.from:s.to] {
		h += s.rowHeight(r, ws)
	}
	return h
}

func (s schedule) draw(d *document, x, y, w float64) {
	if s.heading != "" {
		d.left(x, y, headRow-1, s.heading, s.head, s.ink)
		y += headRow
	}
	ws, own := s.widths(w), s.own()
	at := x
	for i, c := range s.columns {
		cw := width(c.head, sizeSchedule, true)
		uw := 0.0
		if c.unit != "" {
			uw = width(" "+c.unit, sizeSchedule, false)
		}
		left := at
		if c.right {
			left = at + ws[i] - cw - uw
		}
		d.left(left, y, smallRow, c.head, s.smallStrong, s.ink)
		if c.unit != "" {
			d.left(left+cw, y, smallRow, " "+c.unit, s.small, s.soft)
		}
		at += ws[i] + cellGap
	}
	y += smallRow + 0.6
	d.line(x, y, x+w, y, 0.25, s.ink)
	y += 0.3
	for k, r := range s.rows[s.from:s.to] {
		h := s.rowHeight(r, ws)
		if k > 0 {
			d.line(x, y, x+w, y, 0.1, s.pale)
		}
		at := x
		for i, c := range s.columns {
			f := s.small
			if r.strong || i == 0 {
				f = s.smallStrong
			}
			top := y + rowPad - 0.45
			if c.right {
				whole, tail := parts(r.cells[i])
				d.right(at+ws[i]-own[i].tail, top, smallRow, whole, f, s.ink)
				d.left(at+ws[i]-own[i].tail, top, smallRow, tail, f, s.ink)
			} else {
				for n, l := range s.cell(r, i, ws[i]) {
					d.left(at, top+float64(n)*smallRow, smallRow, l, f, s.ink)
				}
			}
			at += ws[i] + cellGap
		}
		y += h
	}
}

// deviceColumns are the columns of the device schedule.
var deviceColumns = []column{
	{head: "Id"},
	{head: "Name", give: 3},
	{head: "Model", give: 1},
	{head: "Height", unit: "m", right: true},
	{head: "Bearing", unit: "°", right: true},
	{head: "Tilt", unit: "°", right: true},
	{head: "Address", right: true},
	{head: "Route", give: 1},
	{head: "Margin", unit: "dB", right: true},
}

// none stands in a cell that does not apply or was not stated.
const none = "–"

// devices returns the device schedule's rows: sensors, repeaters and receivers
// in file order.
func devices(p *model.Plan, res *analysis.Result) []row {
	results := map[string]*analysis.Sensor{}
	required := map[string]float64{} // by id of the transmitting end: the margin a link in use must have
	outgoing := map[string]*analysis.Link{}
	if res != nil {
		for i := range res.Sensors {
			results[res.Sensors[i].ID] = &res.Sensors[i]
		}
		for i := range res.Links {
			if l := &res.Links[i]; l.InUse {
				outgoing[l.From] = l
				required[l.From] = l.Required
			}
		}
	}
	holds := func(route []string) bool {
		for i := 0; i+1 < len(route); i++ {
			if l := outgoing[route[i]]; l != nil && l.To == route[i+1] && !l.Holds() {
				return false
			}
		}
		return true
	}
	address := func(a *int) string {
		if a == nil {
			return none
		}
		return strconv.Itoa(*a)
	}
	var out []row
	for _, f := range p.Of(model.KindSensor, model.KindRepeater, model.KindReceiver) {
		name := clean(f.Name)
		if name == "" {
			name = none
		}
		r := row{cells: []string{clean(f.ID), name, "", "", none, none, none, none, none}}
		switch v := f.Value.(type) {
		case *model.Sensor:
			r.cells[2] = clean(v.Model)
			r.cells[3] = figure(v.MountHeight, 2)
			r.cells[4] = figure(v.Bearing, 1)
			r.cells[5] = figure(v.Tilt, 1)
			r.cells[6] = address(v.Address)
			if s := results[f.ID]; s != nil {
				if len(s.Route) > 1 {
					r.cells[7] = clean("→ " + strings.Join(s.Route[1:], " → "))
				}
				if s.Margin != nil {
					r.cells[8] = figure(*s.Margin, 0)
					if !holds(s.Route) {
						r.cells[8] += " fails"
						r.strong = true
					}
				}
				if s.Route == nil {
					r.cells[7], r.strong = "no route", true
				}
			}
		case *model.Repeater:
			r.cells[2], r.cells[3], r.cells[6] = "repeater", figure(v.Antenna, 2), address(v.Address)
			if l := outgoing[f.ID]; l != nil {
				r.cells[7], r.cells[8] = clean("→ "+l.To), figure(l.Margin, 0)
				if !l.Holds() {
					r.cells[8] += " fails"
					r.strong = true
				}
			}
		case *model.Receiver:
			r.cells[2], r.cells[3] = "receiver", figure(v.Antenna, 2)
		}
		out = append(out, r)
	}
	for _, column := range []int{3, 4, 5} {
		even(out, column)
	}
	return out
}

// even gives the figures of a column as many decimals as the one with the most.
func even(rows []row, column int) {
	decimals := func(cell string) int {
		if _, after, ok := strings.Cut(cell, "."); ok {
			return len(after)
		}
		return 0
	}
	most := 0
	for _, r := range rows {
		most = max(most, decimals(r.cells[column]))
	}
	for _, r := range rows {
		cell := r.cells[column]
		n := decimals(cell)
		if n == most || cell == none {
			continue
		}
		if n == 0 {
			cell += "."
		}
		r.cells[column] = cell + strings.Repeat("0", most-n)
	}
}
