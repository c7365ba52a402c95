package paper

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/compare"
	"pleach/model/order"
	"pleach/model/picture"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

// Input is what is printed.
type Input struct {
	Plan    *model.Plan
	Scene   *scene.Scene     // nil: it is made of Plan
	Result  *analysis.Result // nil: nothing was analysed
	Picture *picture.Picture // nil: no aerial picture
	// Original is the JPEG file that Picture was read from, nil where there is
	// none: it goes into the PDF as it stands where that serves.
	Original *picture.File
	// HeightsUnit follows the name of the file of ground heights: ", unit not stated, taken
	// as metres"; "" where there is nothing to say.
	HeightsUnit string
	National    NationalGrid // in which places are also given; nil for none
	// Before is the plan that this one is a revision of: what changed is clouded
	// on the maps and listed; nil for none.
	Before *analysis.Result
	// Prices go on the bill alone, nil for none; PricesFrom names where they are from.
	Prices     *order.Prices
	PricesFrom string
}

// Options say how it is printed. The zero value prints in colour, at the
// largest usual scale.
type Options struct {
	Paper Format
	Scale int // 1 to this; 0: the largest usual scale that fits
	// Tile spreads the layout over as many sheets as its scale needs, with a key plan
	// before them. Without a scale that is 1:500, or the largest usual one that takes
	// at most 24 sheets. Where one sheet will do there is one.
	Tile bool
	Mono bool
	// Sheets names the sheets of the set, see Sheets; none is the layout alone.
	Sheets []string
	Veil   float64 // how far the picture recedes, 0 to 1; 0 stands for DefaultVeil, negative for none
}

// DefaultVeil is how far the aerial picture recedes on paper: chosen, so that
// thin lines and small type stay legible over dark trees.
const DefaultVeil = 0.42

// monoVeil is how far it recedes more without colour, where only darkness tells
// the drawing from the ground: chosen.
const monoVeil = 0.16

// Info says what was printed.
type Info struct {
	Paper     Format
	Landscape bool
	Scale     int // 1 to this
	Sheets    int
	Map       orb.Bound    // the map on the first sheet, millimetres from the upper left, y down
	View      drawing.View // of the map: ToUnit carries a place on the site grid to millimetres from Map.Min
	Bar       Bar
	LeftOut   []string     // labels that found no room on the map
	Tiles     []TileInfo   // the sheets of a layout that is spread over several, of which Scale is the key plan's
	TileScale int          // 1 to this; 0 where it is on one sheet
	Details   []DetailInfo // of the sheet of details
	Unneeded  []string     // sheets that were asked for along with others and have nothing to show
}

// Words says in a line what was printed: "9 sheets, A3, 1:500 on 7 of them, key plan
// 1:2000".
func (i Info) Words() string {
	said := count(i.Sheets, "sheet") + ", " + i.Paper.String()
	switch {
	case len(i.Tiles) > 0:
		said += fmt.Sprintf(", %s on %d of them, key plan %s", ratioText(i.TileScale), len(i.Tiles), ratioText(i.Scale))
	case i.Scale > 0:
		said += ", " + ratioText(i.Scale)
	}
	for _, name := range i.Unneeded {
		said += fmt.Sprintf("; no sheet %s: there is nothing to show on it", name)
	}
	return said
}

// Print writes the plan as a PDF: one sheet with the map, and further ones with
// what found no room beside it. It returns an error for a scale that does not
// fit, naming the largest that does; nothing is written then.
func Print(w io.Writer, in Input, opt Options) (Info, error) {
	if in.Plan == nil {
		return Info{}, errors.New("print: there is no plan")
	}
	if opt.Scale != 0 && (opt.Scale < nearest || opt.Scale > farthest) {
		return Info{}, fmt.Errorf("print: scale 1:%d is not between 1:%d and 1:%d", opt.Scale, nearest, farthest)
	}
	if in.Scene == nil && in.Result != nil {
		in.Scene = in.Result.Scene
	}
	if in.Scene == nil {
		in.Scene = scene.New(in.Plan)
	}
	names, err := ParseSheets(strings.Join(opt.Sheets, " "))
	if err != nil {
		return Info{}, fmt.Errorf("print: %w", err)
	}
	if in.Prices != nil && !slices.Contains(names, billName) {
		return Info{}, errors.New("print: prices go on the bill of materials alone: choose that sheet too, or no prices")
	}
	s := newSheet(in, opt)
	if s.differs != nil {
		return Info{}, fmt.Errorf("print: %w", s.differs)
	}
	s.listed, s.laid = slices.Contains(names, notesName), slices.Contains(names, layoutName)
	if detailed := slices.Contains(names, detailName); detailed || s.laid {
		if err := s.settle(); err != nil {
			return Info{}, fmt.Errorf("print: %w", err)
		}
		if detailed {
			if err := s.enlargeCrowds(); err != nil {
				return Info{}, fmt.Errorf("print: %w", err)
			}
		}
	}
	return s.printSet(w, names)
}

func newSheet(in Input, opt Options) *sheet {
	s := &sheet{in: in, asked: opt, opt: opt, theme: drawing.NewTheme(drawing.Medium{Paper: true, Mono: opt.Mono})}
	s.look = newLook(s.theme)
	s.list = compose(in)
	s.differs = s.compareWith()
	s.findGhosts()
	s.history, s.changeList = s.revisionTable(), s.changeTable()
	s.ground = s.extent()
	s.devices = schedule{look: s.look, heading: "Devices", columns: deviceColumns, rows: devices(in.Plan, in.Result), known: new([]columnWidth)}
	s.stretches = schedule{look: s.look, heading: stretchHeading, columns: stretchColumns, rows: stretchRows(in.Result), known: new([]columnWidth)}
	return s
}

// settle settles paper, arrangement and scale; where it is asked for, the sheets
// over which the layout is spread too.
func (s *sheet) settle() error {
	err := s.fit()
	if !s.opt.Tile || err == nil && (s.opt.Scale > 0 || s.ratio <= tileRatio) || err != nil && !errors.Is(err, errTooLarge) {
		return err
	}
	return s.tile()
}

// enlargeCrowds finds the details of the layout as it is settled. Their line in the
// legend takes room: the layout is settled anew with it.
func (s *sheet) enlargeCrowds() error {
	if s.details = s.findDetails(); s.details == nil {
		return nil
	}
	was := s.layoutRatio()
	s.opt, s.tiled, s.ratio, s.unnamed = s.asked, nil, 0, 0
	if err := s.settle(); err != nil {
		return err
	}
	if s.layoutRatio() != was {
		s.details = s.findDetails()
	}
	return nil
}

// layoutPages is how many sheets the layout takes, with so many further ones.
func (s *sheet) layoutPages(more []furtherPage) int {
	n := 1 + len(more)
	if s.tiled != nil {
		n += len(s.tiled.views)
	}
	return n
}

// fit settles a layout on one sheet.
func (s *sheet) fit() error {
	if err := s.choose(); err != nil {
		return err
	}
	if s.unnamed = s.countUnnamed(); s.unnamed == 0 {
		return nil
	}
	// The note about names that find no room takes room itself.
	s.ratio = 0
	if err := s.choose(); err != nil {
		return err
	}
	s.unnamed = s.countUnnamed()
	return nil
}

// sheet is one printing.
type sheet struct {
	look
	in         Input
	asked, opt Options // opt is what holds for the key plan of several sheets
	theme      *drawing.Theme
	list       *drawing.List
	ground     orb.Bound        // what must be on the map
	empty      bool             // there is nothing to show
	terse      bool             // long texts are cut
	aside      bool             // the legend stands on a further sheet
	unnamed    int              // device names that find no room on the map
	changes    *compare.Result  // since the plan before; nil where none is compared with
	differs    error            // the plan before cannot be compared with
	listed     bool             // the notes are printed too, with what changed
	laid       bool             // the layout is printed too
	history    []model.Revision // the revision table, oldest first
	changeList schedule         // what changed, one by one
	ghosts     []ghost          // devices that stood elsewhere, or stand no more

	devices, stretches schedule           // of the layout
	labelled           drawing.View       // for which list was labelled last,
	labels             *drawing.Placement // and how; nil for not yet

	tiled   *tiling  // the sheets over which the layout is spread; nil for one sheet
	details []detail // what is drawn larger
	drawn   []DetailInfo

	national map[orb.Point]orb.Point // places on the site grid in the national grid

	layout layout
	ratio  int
	bar    Bar
	doc    *document
}

// extent is the ground that must be on the map: what is watched and what
// watches it. Surroundings are cut off by the map's edge. Where there is neither
// boundary nor device it is all that is drawn, else the picture.
func (s *sheet) extent() orb.Bound {
	var b orb.Bound
	some := false
	add := func(o orb.Bound) {
		if some {
			o = b.Union(o)
		}
		b, some = o, true
	}
	for i := range s.list.Items {
		it := &s.list.Items[i]
		if asksForRoom(it) {
			add(extentOf(it))
		}
	}
	if !some {
		if g, ok := s.list.Bound(); ok {
			add(g)
		} else if s.in.Picture != nil {
			add(s.in.Picture.Bound())
		}
	}
	s.empty = !some
	return b
}

// choose picks the best layout and its scale. Where the texts leave no room for a
// map the legend moves to a further sheet, and then long ones are cut.
func (s *sheet) choose() error {
	err := s.pick()
	for _, spare := range []*bool{&s.aside, &s.terse} {
		if errors.Is(err, errNoRoom) && !*spare {
			*spare = true
			err = s.pick()
		}
	}
	return err
}

var errNoRoom = errors.New("the texts leave no room for the map")

// tooLarge is an error of a map that takes more than one sheet.
type tooLarge string

var errTooLarge = errors.New("too large for one sheet")

func (e tooLarge) Error() string   { return string(e) }
func (e tooLarge) Is(t error) bool { return t == errTooLarge }

func (s *sheet) pick() error {
	formats := []Format{s.opt.Paper}
	if s.opt.Paper == Auto {
		formats = []Format{A4, A3}
	}
	var best *layout
	bestPages, largest := 0, math.Inf(1)
	type rest struct { // what the further sheets hang on
		format             Format
		landscape, devices bool
		findings           int
	}
	pages := map[rest]int{}
	count := func(l layout) int {
		r := rest{l.format, l.landscape, l.devices, l.findings}
		if pages[r] == 0 {
			pages[r] = len(s.further(l)) + 1
		}
		return pages[r]
	}
	for _, f := range formats {
		for _, l := range s.contents(f).arrangements(f) {
			need := l.needs(s.ground)
			largest = math.Min(largest, need)
			ratio := s.opt.Scale
			if ratio == 0 {
				ratio = usualFrom(math.Max(need, float64(Scales[0].Ratio)))
			} else if need > float64(ratio)*(1+1e-9) {
				continue
			}
			if best != nil && ratio > s.ratio {
				continue
			}
			pages := count(l)
			if best == nil || s.better(l, ratio, pages, *best, bestPages) {
				best, bestPages, s.ratio = &l, pages, ratio
			}
		}
	}
	size := fmt.Sprintf("%s by %s", metres(s.ground.Max[0]-s.ground.Min[0]), metres(s.ground.Max[1]-s.ground.Min[1]))
	name := s.opt.Paper.String()
	if s.opt.Paper == Auto {
		name = "A3"
	}
	if best == nil {
		if math.IsInf(largest, 1) {
			return fmt.Errorf("%w on %s: shorten them or choose A3", errNoRoom, name)
		}
		return tooLarge(fmt.Sprintf("scale %s does not fit on %s: what is drawn takes %s; the largest usual scale that fits is %s, or spread the layout over several sheets (--tile)",
			ratioText(s.opt.Scale), name, size, ratioText(usualFrom(math.Max(largest, float64(Scales[0].Ratio))))))
	}
	if last := Scales[len(Scales)-1].Ratio; s.opt.Scale == 0 && s.tiled == nil && s.ratio > last {
		return tooLarge(fmt.Sprintf("no usual scale down to %s fits on %s: what is drawn takes %s, and %s lies farthest out; move it, ask for scale %s, or spread the layout over several sheets (--tile)",
			ratioText(last), name, size, s.outermost(), ratioText(s.ratio)))
	}
	s.layout = *best
	return nil
}

// better says whether a layout is to be preferred to the best so far: for its
// larger scale, then for fewer sheets, then for the smaller paper, then for the
// schedule beside the map, then for more findings there, then for the larger map.
func (s *sheet) better(l layout, ratio, pages int, best layout, bestPages int) bool {
	switch {
	case ratio != s.ratio:
		return ratio < s.ratio
	case pages != bestPages:
		return pages < bestPages
	case l.format != best.format:
		return false // the smaller paper comes first
	case l.devices != best.devices:
		return l.devices
	case l.findings != best.findings:
		return l.findings > best.findings
	}
	return l.picture.w*l.picture.h > 1.02*best.picture.w*best.picture.h
}

// outermost names what lies farthest from the middle of all that is drawn.
func (s *sheet) outermost() string {
	id, far := "something", -1.0
	var c orb.Point
	n := 0.0
	for _, d := range s.in.Scene.Devices {
		c[0], c[1], n = c[0]+d.At[0], c[1]+d.At[1], n+1
	}
	for _, b := range s.in.Scene.Boundaries {
		m := b.Line.Bound().Center()
		c[0], c[1], n = c[0]+m[0], c[1]+m[1], n+1
	}
	c[0], c[1] = c[0]/n, c[1]/n
	for i := range s.list.Items {
		it := &s.list.Items[i]
		if it.ID == "" || it.Layer == drawing.SiteLayer {
			continue
		}
		b := extentOf(it)
		for _, p := range []orb.Point{b.Min, b.Max} {
			if d := math.Hypot(p[0]-c[0], p[1]-c[1]); d > far {
				id, far = it.ID, d
				if f := s.in.Plan.Feature(id); f != nil {
					id = f.Who()
				}
			}
		}
	}
	return id
}

// contents fills the panel for a format. The legend is that of all that is
// drawn, which is at least what shows on the map.
func (s *sheet) contents(f Format) contents {
	set := s.in.Plan.Settings
	c := contents{
		look:      s.look,
		title:     func(w float64) titleBlock { return s.longTitle(w, f) },
		scale:     scaleBlock{look: s.look, ratio: s.ratio, format: f, placed: !s.empty, middle: s.in.Scene.Grid.ToLonLat(s.ground.Center()), declination: set.Declination, declinationOn: set.DeclinationOn, national: s.middleNational(), drawn: &s.bar},
		summary:   summary{look: s.look, facts: facts(s.in.Result)},
		findings:  findingList{look: s.look, all: answerable(s.in.Result, s.listed)},
		noted:     s.listed,
		legend:    legend{look: s.look, theme: s.theme, lines: s.withMarks(s.theme.Legend(s.list, nil)), letter: s.revisionLetter()},
		devices:   s.devices,
		changes:   s.changesHere(),
		stretches: s.stretches,
		notes:     prose{s.look, s.notes()},
	}
	if s.aside {
		c.aside, c.legend.lines = c.legend, nil
		c.summary.facts = append(c.summary.facts, fact{"Legend", "on the next sheet"})
	}
	return c
}

// notes says what the prediction rests on and what it is worth.
func (s *sheet) notes() []string {
	var out []string
	if s.tiled != nil {
		out = append(out, fmt.Sprintf("This is the key plan: the map is drawn at %s on the sheets that are outlined here, each with its number.", ratioText(s.tiled.ratio)))
	} else if s.unnamed > 0 {
		out = append(out, fmt.Sprintf("%d device names find no room on the map at this scale; the schedule has every device.", s.unnamed))
	}
	if s.in.Result != nil {
		out = append(out, s.assumptions())
	}
	if said := ways(s.in.Result); said != "" {
		out = append(out, said)
	}
	return append(out, Caution)
}

// assumptions names the settings that decide what is drawn. One that was left at
// its default, where that is judgement, bears a star.
func (s *sheet) assumptions() string {
	set := s.in.Plan.Settings
	stars := false
	v := func(path string, value float64, text string) string {
		if d := model.SettingInfo(path); d.Chosen && d.Default == value {
			stars = true
			return text + "*"
		}
		return text
	}
	percent := func(share float64) string { return unit(share*100, 2, "%") }
	ground := ""
	if set.Terrain == nil {
		ground = " on level ground"
	}
	out := fmt.Sprintf("Predicted%s for a target %s tall with %s of it seen, on at least %s of its way within %s of the line. Overspill is counted from %s of a target. Radio reliability %s.",
		ground, v("target.height_m", set.Target.Height, unit(set.Target.Height, 2, "m")),
		v("target.min_visible", set.Target.MinVisible, percent(set.Target.MinVisible)),
		v("crossing.min_path_m", set.MinPath, metres(set.MinPath)), v("crossing.depth_m", set.CrossingDepth, metres(set.CrossingDepth)),
		v("overspill.min_visible", set.OverspillMinVisible, percent(set.OverspillMinVisible)), v("radio.reliability", set.Reliability, percent(set.Reliability)))
	if stars {
		out += " Figures with a star are defaults by judgement, not from a standard."
	}
	return out
}

// planTitle is what the plan is called: its title, else its first boundary's name.
func (s *sheet) planTitle() string {
	if t := clean(s.in.Plan.Settings.Title); t != "" {
		return t
	}
	if b := s.in.Plan.Of(model.KindBoundary); len(b) > 0 && b[0].Name != "" {
		return clean(b[0].Name)
	}
	return "Untitled plan"
}

// longTitle is the title block as high as it may become: its scale is not settled
// yet.
func (s *sheet) longTitle(w float64, f Format) titleBlock {
	c := *s
	c.ratio = max(s.ratio, Scales[len(Scales)-1].Ratio)
	return c.title(w, f, 88, 88)
}

// title is the title block of sheet n of total.
func (s *sheet) title(w float64, f Format, n, total int) titleBlock {
	set := s.in.Plan.Settings
	t := titleBlock{look: s.look, title: s.planTitle(), kind: layoutTitle, terse: s.terse, revisions: s.history}
	sheetOf := fmt.Sprintf("%d of %d", n, total)
	scale := "none"
	if s.ratio > 0 {
		scale = ratioText(s.ratio) + " at " + f.String()
	}
	cell := func(label, value string, share float64) field { return field{label, clean(value), share} }
	if w >= 110 {
		t.rows = [][]field{
			{cell("Customer", set.Customer, 0.42), cell("Reference", set.Reference, 0.32), cell("Revision", set.Revision, 0.26)},
			{cell("Designer", set.Designer, 0.36), cell("Date", set.Date, 0.23), cell("Scale", scale, 0.24), cell("Sheet", sheetOf, 0.17)},
		}
		return t
	}
	t.rows = [][]field{
		{cell("Customer", set.Customer, 1)},
		{cell("Reference", set.Reference, 0.62), cell("Revision", set.Revision, 0.38)},
		{cell("Designer", set.Designer, 0.62), cell("Date", set.Date, 0.38)},
		{cell("Scale", scale, 0.62), cell("Sheet", sheetOf, 0.38)},
	}
	return t
}

// stamp is the date of the PDF's metadata: the plan's where it is a calendar
// date, else the first day of the century. The clock is not read, so that the
// same plan gives the same bytes.
func stamp(date string) time.Time {
	for _, form := range []string{time.DateOnly, time.RFC3339, "2 January 2006", "2.1.2006", "02/01/2006"} {
		if t, err := time.Parse(form, strings.TrimSpace(date)); err == nil {
			return t.UTC()
		}
	}
	return time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC)
}

// printLayout draws the layout and what found no room beside it: sheets n and
// after of total.
func (s *sheet) printLayout(info *Info, more []furtherPage, n, total int) error {
	l, d := s.layout, s.doc
	d.pageOf(l.sheet.w, l.sheet.h)
	d.mark(layoutTitle, 0)
	view := s.view()
	if s.tiled != nil {
		s.tiled.first = n + 1 + len(more)
	}
	leftOut, err := s.drawMap(s.keyMap(mapping{list: s.list, view: view, at: l.picture, name: layoutName}))
	if err != nil {
		return err
	}
	for _, p := range l.blocks {
		switch b := p.block.(type) {
		case titleBlock:
			p.block = s.title(p.w, l.format, n, total)
			p.y += b.height(p.w) - p.height(p.w) // it stands in the corner
		case summary:
			b.elsewhere = l.findings == 0 && s.contents(l.format).goesOn(0, l.devices)
			p.block = b
		case scaleBlock:
			b.ratio = s.ratio
			p.block = b
		case legend:
			window := view.Bound()
			b.lines = s.withMarks(s.theme.Legend(s.list, &window))
			p.block = b
		}
		p.draw(d, p.x, p.y, p.w)
	}
	for _, r := range l.rules {
		d.line(r[0], r[1], r[2], r[3], rulePen, s.ink)
	}
	d.stroke(rect(l.picture.x, l.picture.y, l.picture.w, l.picture.h), drawing.Pen{Width: framePen, Colour: s.ink})
	d.stroke(rect(l.frame.x, l.frame.y, l.frame.w, l.frame.h), drawing.Pen{Width: framePen, Colour: s.ink})

	for i, page := range more {
		d.pageOf(l.sheet.w, l.sheet.h)
		s.drawFurther(page, n+i+1, total)
	}
	info.Paper, info.Landscape, info.Scale, info.Map, info.View, info.Bar, info.LeftOut = l.format, l.landscape, s.ratio, mapBound(l.picture), view, s.bar, leftOut
	if s.tiled == nil {
		return nil
	}
	info.TileScale = s.tiled.ratio
	for i := range s.tiled.views {
		tile, err := s.drawTile(i, n, s.tiled.number(i), total)
		if err != nil {
			return err
		}
		info.Tiles = append(info.Tiles, tile)
	}
	return nil
}

// view is the map of the chosen layout.
func (s *sheet) view() drawing.View {
	return drawing.View{Centre: s.ground.Center(), MetresPerUnit: float64(s.ratio) / 1000, Width: s.layout.picture.w, Height: s.layout.picture.h}
}

// A mapping is a map on a page: a list in a view, within the edge at.
type mapping struct {
	list *drawing.List
	view drawing.View
	at   box
	name string // of the sheet it is on
	// keep are the places where no name may stand, millimetres from the map's upper
	// left. under draws what lies under the devices, over what lies under the names,
	// top what stands in those places; nil for nothing.
	keep             []orb.Bound
	under, over, top func(d *document)
}

// placeLabels finds the labels' places on a map.
func (s *sheet) placeLabels(m mapping) *drawing.Placement {
	if m.list != s.list || m.keep != nil {
		return drawing.PlaceLabels(m.list, m.view, s.theme, m.keep...)
	}
	if s.labels == nil || m.view != s.labelled {
		s.labelled, s.labels = m.view, drawing.PlaceLabels(m.list, m.view, s.theme)
	}
	return s.labels
}

// countUnnamed returns how many devices' names find no room on the map.
func (s *sheet) countUnnamed() int {
	n := 0
	for _, i := range s.placeLabels(mapping{list: s.list, view: s.view()}).LeftOut {
		if s.list.Items[i].Meaning == drawing.DeviceName {
			n++
		}
	}
	return n
}

// hideable are the layers a reader of the PDF can hide, from the ground up.
var hideable = []struct {
	name   string
	layers drawing.LayerSet
}{
	{"Site", drawing.Layers(drawing.SiteLayer)},
	{"Detection patterns", drawing.Layers(drawing.PatternLayer, drawing.LiveLayer)},
	{"Boundary", drawing.Layers(drawing.BoundaryLayer)},
	{"Radio links", drawing.Layers(drawing.LinkLayer)},
	{"Devices", drawing.Layers(drawing.DeviceLayer)},
	{"Names and figures", drawing.Layers(drawing.LabelLayer)},
}

// drawMap draws the picture under its veil and the list over it, and returns the
// labels that found no room.
func (s *sheet) drawMap(m mapping) ([]string, error) {
	d, view, p := s.doc, m.view, m.at
	if !s.empty {
		d.register(m.name, p, view, s.in.Scene.Grid)
	}
	d.clip([]orb.Ring{rect(p.x, p.y, p.w, p.h)})
	if err := s.drawPicture(view, p); err != nil {
		return nil, err
	}
	labels := s.placeLabels(m)
	var changes *revisions
	if m.name != customerTitle && m.name != walkTitle {
		changes = s.revised(m.list, view, labels, p)
	}
	for _, part := range hideable {
		if part.layers == drawing.Layers(drawing.DeviceLayer) && m.under != nil {
			d.layer(outlineLayer)
			m.under(d)
		}
		if part.layers == drawing.Layers(drawing.LabelLayer) {
			if m.over != nil {
				d.layer(outlineLayer)
				m.over(d)
			}
			if changes != nil {
				changes.under()
			}
		}
		d.layer(part.name)
		drawing.Render(shifted{d, p.x, p.y}, m.list, view, s.theme, labels, part.layers)
	}
	if changes != nil {
		changes.over()
	}
	if m.top != nil {
		d.layer(outlineLayer)
		m.top(d)
	}
	d.pdf.EndLayer()
	d.restore()
	if s.empty {
		d.centre(p.x+p.w/2, p.y+p.h/2-4, bodyRow, "Nothing is drawn yet: the plan has no boundary, no device and no picture.", s.body, s.soft)
	}
	var out []string
	for _, i := range labels.LeftOut {
		if p := view.ToUnit(m.list.Items[i].At); p[0] >= 0 && p[1] >= 0 && p[0] <= view.Width && p[1] <= view.Height {
			out = append(out, m.list.Items[i].Text)
		}
	}
	return out, nil
}

// outlineLayer holds the outlines of other sheets and of details.
const outlineLayer = "Sheet outlines"
