package paper

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// sheetKind is one sort of sheet of the drawing set.
type sheetKind struct {
	name  string
	title string // in the title block and the bookmarks
	// leaves lays it out; nil for the layout, which settles its own scale.
	leaves func(s *sheet, title string) ([]leaf, error)
}

// kinds are the sheets that can be printed, in the order of the set.
var kinds = []sheetKind{
	{"customer", customerTitle, (*sheet).customerSheet},
	{"van", "For the van", (*sheet).vanSheets},
	{"layout", layoutTitle, nil},
	{detailName, detailTitle, (*sheet).detailSheets},
	{"posts", "Post sheet", (*sheet).postSheets},
	{"signals", "Signal sheet", (*sheet).signalSheets},
	{"radio", "Radio schedule", (*sheet).radioSheets},
	{"addresses", "Addresses, zones and outputs", (*sheet).addressSheets},
	{billName, "Bill of materials and batteries", (*sheet).billSheets},
	{"boundary", "Boundary schedule", (*sheet).boundarySheets},
	{"walk", walkTitle, (*sheet).walkSheets},
	{notesName, "Notes", (*sheet).noteSheets},
}

const (
	layoutName    = "layout"
	layoutTitle   = "Detection and radio plan"
	customerTitle = "What is watched"
	walkTitle     = "Survey and walk-test sheet"
	notesName     = "notes"
)

// Sheets names the sheets that can be printed, in the order they stand in a set.
func Sheets() (names []string) {
	for _, k := range kinds {
		names = append(names, k.name)
	}
	return names
}

// SheetTitle is what a sheet is called on paper: "Boundary schedule"; "" where
// there is no sheet of that name.
func SheetTitle(name string) string {
	for _, k := range kinds {
		if k.name == name {
			return k.title
		}
	}
	return ""
}

// ParseSheets reads a list of sheets by name, parted by commas or spaces, and
// returns them in the order of the set, each once; an empty list is the layout
// alone. The error names the sheets there are.
func ParseSheets(list string) ([]string, error) {
	asked := strings.FieldsFunc(list, func(r rune) bool { return r == ',' || r == ' ' })
	for _, name := range asked {
		if SheetTitle(name) == "" {
			return nil, fmt.Errorf("%s is not a drawing of this version, which prints: %s", name, strings.Join(Sheets(), " "))
		}
	}
	return inOrder(asked), nil
}

// inOrder brings names of sheets into the order of the set, each once.
func inOrder(asked []string) (out []string) {
	for _, k := range kinds {
		if slices.Contains(asked, k.name) {
			out = append(out, k.name)
		}
	}
	if out == nil {
		return []string{layoutName}
	}
	return out
}

// leaf is one page of a sheet.
type leaf struct {
	title  string // of its sheet
	mark   string // bookmark of its own below that of the sheet, "" for none
	layout layout
	blocks []placed
	view   *drawing.View // of a map in layout.picture, nil for none
	list   *drawing.List // what that map shows
	insets []inset       // maps at scales of their own
}

// splitter is a block that may be cut in two: first takes at most h of height,
// rest is what is left over. first is nil where nothing fits, rest where nothing
// is left.
type splitter interface {
	split(w, h float64) (first, rest block)
}

// flow sets blocks one below the other on as many pages as they take.
type flow struct {
	s      *sheet
	bare   leaf
	leaves []leaf
	y      float64
}

// flow begins a sheet of running blocks. Where the paper is left to the program
// it is A4.
func (s *sheet) flow(title string, landscape bool) *flow {
	format := s.opt.Paper
	if format == Auto {
		format = A4
	}
	f := &flow{s: s, bare: leaf{title: title, layout: newLayout(format, landscape)}}
	f.turn()
	return f
}

// turn begins a page.
func (f *flow) turn() {
	f.leaves = append(f.leaves, f.bare)
	f.y = f.bare.layout.frame.y + pad
}

func (f *flow) page() *leaf    { return &f.leaves[len(f.leaves)-1] }
func (f *flow) x() float64     { return f.bare.layout.frame.x + pad }
func (f *flow) width() float64 { return f.bare.layout.frame.w - 2*pad }
func (f *flow) bottom() float64 {
	l := f.bare.layout
	return l.frame.y + l.frame.h - f.s.footHeight(l) - pad
}
func (f *flow) room() float64 { return f.bottom() - f.y }
func (f *flow) atTop() bool   { return f.y <= f.bare.layout.frame.y+pad+1e-9 }
func (f *flow) put(b block) {
	f.page().blocks = append(f.page().blocks, placed{b, f.x(), f.y, f.width()})
}
func (f *flow) place(b block)      { f.put(b); f.y += b.height(f.width()) + blockGap }
func (f *flow) holds(b block) bool { return b.height(f.width()) <= f.room()+1e-9 }

// add sets blocks below what is there, on further pages where they find no room.
func (f *flow) add(blocks ...block) {
	for _, b := range blocks {
		if b.height(f.width()) == 0 {
			continue
		}
		for b != nil && !f.holds(b) {
			var first block
			rest := b
			if sp, ok := b.(splitter); ok {
				first, rest = sp.split(f.width(), f.room())
			}
			if first == nil && f.atTop() {
				break // taller than a page: what runs over is seen on it
			}
			if first != nil {
				f.place(first)
			}
			if b = rest; b != nil {
				f.turn()
			}
		}
		if b != nil {
			f.place(b)
		}
	}
}

// split implements splitter. At least one row is taken.
func (s schedule) split(w, h float64) (first, rest block) {
	n := s.fits(w, h)
	if n <= 0 {
		return nil, s
	}
	a, b := s, s
	a.to = s.from + n
	if b.from = a.to; b.from >= s.to {
		return a, nil
	}
	b.heading = goesOn(s.heading)
	return a, b
}

const continued = ", continued"

// goesOn is the heading of what is left over for the next page.
func goesOn(heading string) string {
	if heading == "" || strings.HasSuffix(heading, continued) {
		return heading
	}
	return heading + continued
}

// section is prose under a heading.
type section struct {
	heading string
	prose
}

func (t section) height(w float64) float64 {
	if len(t.text) == 0 {
		return 0
	}
	return headRow + t.prose.height(w)
}

func (t section) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, t.heading, t.head, t.ink)
	t.prose.draw(d, x, y+headRow, w)
}

// split implements splitter, between paragraphs.
func (t section) split(w, h float64) (first, rest block) {
	n := 0
	for n < len(t.text) && (section{t.heading, prose{t.look, t.text[:n+1]}}).height(w) <= h+1e-9 {
		n++
	}
	switch n {
	case 0:
		return nil, t
	case len(t.text):
		return t, nil
	}
	a, b := t, t
	a.text, b.text = t.text[:n], t.text[n:]
	if !strings.HasSuffix(t.heading, continued) {
		b.heading += continued
	}
	return a, b
}

// printSet prints the sheets asked for as one document.
func (s *sheet) printSet(w io.Writer, names []string) (Info, error) {
	type part struct {
		kind   sheetKind
		leaves []leaf
		more   []furtherPage
	}
	var parts []part
	total := 0
	var info Info
	for _, k := range kinds {
		if !slices.Contains(names, k.name) {
			continue
		}
		if k.name == detailName && len(s.details) == 0 && len(names) > 1 {
			info.Unneeded = append(info.Unneeded, k.name)
			continue
		}
		p := part{kind: k}
		if k.leaves == nil {
			p.more = s.further(s.layout)
			total += s.layoutPages(p.more)
		} else {
			var err error
			if p.leaves, err = k.leaves(s, k.title); err != nil {
				return Info{}, fmt.Errorf("print: sheet %s: %w", k.name, err)
			}
			total += len(p.leaves)
		}
		parts = append(parts, p)
	}
	first := s.layout
	if parts[0].leaves != nil {
		first = parts[0].leaves[0].layout
	}
	set := s.in.Plan.Settings
	s.doc = newDocument(first.sheet.w, first.sheet.h, stamp(set.Date))
	d := s.doc
	d.pdf.SetTitle(s.planTitle(), true)
	d.pdf.SetAuthor(clean(set.Designer), true)
	d.pdf.SetSubject(parts[0].kind.title, true)
	info.Paper, info.Landscape = first.format, first.landscape
	n := 1
	for _, p := range parts {
		if p.leaves == nil {
			if err := s.printLayout(&info, p.more, n, total); err != nil {
				return Info{}, err
			}
			n += s.layoutPages(p.more)
			continue
		}
		for i, l := range p.leaves {
			d.pageOf(l.layout.sheet.w, l.layout.sheet.h)
			if i == 0 {
				d.mark(p.kind.title, 0)
			}
			if l.mark != "" {
				d.mark(l.mark, 1)
			}
			if err := s.drawLeaf(l, n, total); err != nil {
				return Info{}, err
			}
			n++
		}
	}
	info.Sheets, info.Details = total, s.drawn
	return info, d.write(w)
}

// drawLeaf draws a page with its foot: the title block, the caution and the frame.
func (s *sheet) drawLeaf(l leaf, n, total int) error {
	if l.view != nil {
		p := l.layout.picture
		if _, err := s.drawMap(mapping{list: l.list, view: *l.view, at: p, name: l.title}); err != nil {
			return err
		}
		s.doc.line(p.x, p.y+p.h, p.x+p.w, p.y+p.h, rulePen, s.ink)
	}
	for _, b := range l.blocks {
		b.draw(s.doc, b.x, b.y, b.w)
	}
	for _, in := range l.insets {
		if err := s.drawInset(in, n); err != nil {
			return err
		}
	}
	s.foot(l.layout, l.title, 0, n, total)
	return nil
}

// mapBound is the map of a layout on its page, millimetres.
func mapBound(b box) orb.Bound {
	return orb.Bound{Min: orb.Point{b.x, b.y}, Max: orb.Point{b.x + b.w, b.y + b.h}}
}
