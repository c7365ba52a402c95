package panel

import (
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/ui/drawing"
)

// Page shows a page of help, written in as much of Markdown as our pages use:
// headings, paragraphs, lists, tables, blocks of code, **strong** and `code`
// words, links (their text).
type Page struct {
	widget.BaseWidget
	blocks []block
	width  float32
	tall   float32
	texts  []fyne.CanvasObject
}

type blockKind uint8

const (
	blockText blockKind = iota
	blockHeading
	blockItem
	blockCode
	blockTable
)

// block is a part of a page.
type block struct {
	kind  blockKind
	level int // of a heading, from 1
	mark  string
	runs  []run
	lines []string // of code
	rows  [][][]run
}

// run is words in one style.
type run struct {
	text   string
	strong bool
	code   bool
}

// NewPage makes an empty page.
func NewPage() *Page {
	p := &Page{width: 400}
	p.ExtendBaseWidget(p)
	return p
}

// SetText shows a page.
func (p *Page) SetText(markdown string) {
	p.blocks = parsePage(markdown)
	p.Refresh()
}

// parsePage reads the blocks of a page.
func parsePage(s string) []block {
	var out []block
	var para []string
	flush := func() {
		if len(para) > 0 {
			out = append(out, block{kind: blockText, runs: parseRuns(strings.Join(para, " "))})
			para = nil
		}
	}
	code := false
	for _, line := range strings.Split(s, "\n") {
		trimmed := strings.TrimSpace(line)
		last := len(out) - 1
		switch {
		case strings.HasPrefix(trimmed, "```"):
			flush()
			if code = !code; code {
				out = append(out, block{kind: blockCode})
			}
		case code:
			out[last].lines = append(out[last].lines, line)
		case trimmed == "":
			flush()
		case strings.HasPrefix(line, "    ") && len(para) == 0 && (last < 0 || out[last].kind != blockItem):
			if last < 0 || out[last].kind != blockCode {
				out = append(out, block{kind: blockCode})
				last++
			}
			out[last].lines = append(out[last].lines, line[4:])
		case strings.HasPrefix(trimmed, "#"):
			flush()
			text := strings.TrimLeft(trimmed, "#")
			out = append(out, block{kind: blockHeading, level: len(trimmed) - len(text), runs: parseRuns(strings.TrimSpace(text))})
		case strings.HasPrefix(trimmed, "|"):
			flush()
			if last = len(out) - 1; last < 0 || out[last].kind != blockTable {
				out = append(out, block{kind: blockTable})
				last++
			}
			if row := tableRow(trimmed); row != nil {
				out[last].rows = append(out[last].rows, row)
			}
		case itemMark(trimmed) != "":
			flush()
			m := itemMark(trimmed)
			out = append(out, block{kind: blockItem, mark: m, runs: parseRuns(strings.TrimSpace(trimmed[len(m):]))})
			if m == "-" || m == "*" {
				out[len(out)-1].mark = "–"
			}
		case len(para) == 0 && last >= 0 && out[last].kind == blockItem && strings.HasPrefix(line, "  "):
			out[last].runs = append(out[last].runs, parseRuns(" "+trimmed)...)
		default:
			para = append(para, trimmed)
		}
	}
	flush()
	return out
}

// itemMark returns the mark of a list item, "" for a line that is none.
func itemMark(line string) string {
	if strings.HasPrefix(line, "- ") || strings.HasPrefix(line, "* ") {
		return line[:1]
	}
	n := 0
	for n < len(line) && line[n] >= '0' && line[n] <= '9' {
		n++
	}
	if n > 0 && strings.HasPrefix(line[n:], ". ") {
		return line[:n+1]
	}
	return ""
}

// tableRow splits a line of a table; the line under the heads is nil.
func tableRow(line string) [][]run {
	if strings.Trim(line, "|-: ") == "" {
		return nil
	}
	var row [][]run
	for _, c := range strings.Split(strings.ReplaceAll(strings.Trim(line, "|"), `\|`, "\x00"), "|") {
		row = append(row, parseRuns(strings.ReplaceAll(strings.TrimSpace(c), "\x00", "|")))
	}
	return row
}

// parseRuns finds strong and code words, and takes links for their text.
func parseRuns(s string) []run {
	var out []run
	strong := false
	plain := func(t string) {
		if t != "" {
			out = append(out, run{text: unlinked(t), strong: strong})
		}
	}
	for s != "" {
		i := strings.IndexAny(s, "`*")
		switch {
		case i < 0:
			plain(s)
			return out
		case s[i] == '`':
			plain(s[:i])
			s = s[i+1:]
			end := strings.IndexByte(s, '`')
			if end < 0 {
				end = len(s)
			}
			out = append(out, run{text: s[:end], strong: strong, code: true})
			s = s[min(end+1, len(s)):]
		case strings.HasPrefix(s[i:], "**"):
			plain(s[:i])
			strong = !strong
			s = s[i+2:]
		default:
			plain(s[:i+1])
			s = s[i+1:]
		}
	}
	return out
}

// unlinked replaces [words](address) by the words.
func unlinked(s string) string {
	for {
		i := strings.Index(s, "](")
		if i < 0 {
			return s
		}
		start, end := strings.LastIndexByte(s[:i], '['), strings.IndexByte(s[i:], ')')
		if start < 0 || end < 0 {
			return s
		}
		s = s[:start] + s[start+1:i] + s[i+end+1:]
	}
}

// Resize is part of fyne.CanvasObject.
func (p *Page) Resize(s fyne.Size) {
	if s.Width != p.width && s.Width > 0 {
		p.width = s.Width
		p.Refresh()
	}
	p.BaseWidget.Resize(s)
}

// CreateRenderer is part of fyne.Widget.
func (p *Page) CreateRenderer() fyne.WidgetRenderer { r := &pageRenderer{p}; r.lay(); return r }

type pageRenderer struct{ p *Page }

func (r *pageRenderer) Layout(fyne.Size)             {}
func (r *pageRenderer) MinSize() fyne.Size           { return fyne.NewSize(200, r.p.tall) }
func (r *pageRenderer) Objects() []fyne.CanvasObject { return r.p.texts }
func (r *pageRenderer) Destroy()                     {}
func (r *pageRenderer) Refresh()                     { r.lay(); canvas.Refresh(r.p) }

// measure is how wide text of the page may be: longer lines are hard to read.
const measure = 640

// word is a piece of text that is not broken.
type word struct {
	text  string
	run   run
	space bool // before it
}

func (r *pageRenderer) lay() {
	p := r.p
	p.texts = nil
	size := theme.Size(theme.SizeNameText)
	wide := min(p.width, measure*size/13)
	y := float32(0)
	for i, b := range p.blocks {
		switch b.kind {
		case blockHeading:
			big := theme.Size(theme.SizeNameSubHeadingText)
			if b.level == 1 {
				big = theme.Size(theme.SizeNameHeadingText)
			}
			if i > 0 {
				y += size * 1.1
			}
			y = r.flow(b.runs, 0, y, wide, big, true) + size*0.4
		case blockText:
			y = r.flow(b.runs, 0, y, wide, size, false) + size*0.75
		case blockItem:
			in := size * 1.6
			r.put(b.mark, 0, y, size, run{})
			y = r.flow(b.runs, in, y, wide, size, false) + size*0.35
		case blockCode:
			y += size * 0.1
			for _, l := range b.lines {
				in := size
				for _, part := range codeLines(strings.TrimRight(l, " "), size, p.width-3*size) {
					r.put(part, in, y, size, run{code: true})
					y += size * 1.45
					in = 3 * size
				}
			}
			y += size * 0.75
		case blockTable:
			y = r.table(b.rows, y, p.width, size) + size*0.75
		}
	}
	p.tall = y + size
}

// codeLines breaks a line of code that is too wide at its last space.
func codeLines(l string, size, width float32) []string {
	var out []string
	for textWidth(l, size, false) > width {
		cut := 0
		for i, c := range l {
			if textWidth(l[:i], size, false) > width {
				break
			}
			if c == ' ' && strings.TrimSpace(l[:i]) != "" {
				cut = i
			}
		}
		if cut == 0 {
			break
		}
		out = append(out, l[:cut])
		l = strings.TrimLeft(l[cut:], " ")
	}
	return append(out, l)
}

// codeColour sets code apart.
const codeColour = ColorSoft

func (r *pageRenderer) put(s string, x, y, size float32, style run) {
	c := theme.ColorNameForeground
	if style.code {
		c = codeColour
	} else {
		s = drawing.TrueMinus(s)
	}
	t := canvas.NewText(s, theme.Color(c))
	t.TextSize = size
	t.TextStyle.Bold = style.strong
	t.Move(fyne.NewPos(float32(math.Round(float64(x))), float32(math.Round(float64(y)))))
	t.Resize(fyne.NewSize(textWidth(s, size, style.strong), size*1.4))
	r.p.texts = append(r.p.texts, t)
}

// wordsOf breaks runs into words.
func wordsOf(runs []run) []word {
	var out []word
	space := false
	for _, rn := range runs {
		for i, w := range strings.Split(rn.text, " ") {
			if i > 0 {
				space = true
			}
			if w != "" {
				out = append(out, word{w, rn, space})
				space = false
			}
		}
	}
	return out
}

// flow sets runs in lines from x to right and returns the y below them. Words of
// one style on a line are one text, which begins on a whole unit: so type is
// sharp and evenly spaced.
func (r *pageRenderer) flow(runs []run, x, y, right, size float32, strong bool) float32 {
	left := x
	var line string
	var style run
	from := x
	flush := func() {
		if line != "" {
			r.put(line, from, y, size, style)
			line = ""
		}
	}
	words := wordsOf(runs)
	for i, w := range words {
		st := run{strong: w.run.strong || strong, code: w.run.code}
		right := right
		for _, tail := range words[i+1:] { // what no space parts from it stays on its line
			if tail.space {
				break
			}
			right -= textWidth(tail.text, size, tail.run.strong || strong)
		}
		next := w.text
		if w.space && x > left {
			next = " " + next
		}
		if end := x + textWidth(next, size, st.strong); line != "" && st == style {
			end = from + textWidth(line+next, size, st.strong)
			if end <= right || !w.space {
				line += next
				x = end - 1
				continue
			}
		} else if end <= right || !w.space || x == left {
			flush()
			if strings.HasPrefix(next, " ") {
				next, x = next[1:], x+size*0.28
			}
			from, style, line = float32(math.Round(float64(x))), st, next
			x = from + textWidth(line, size, st.strong) - 1
			continue
		}
		flush()
		y += size * 1.45
		from, style, line = left, st, w.text
		x = from + textWidth(line, size, st.strong) - 1
	}
	flush()
	return y + size*1.45
}

// table sets rows in columns: as wide as their text where there is room, else
// the last takes what is left.
func (r *pageRenderer) table(rows [][][]run, y, wide, size float32) float32 {
	n := 0
	for _, row := range rows {
		n = max(n, len(row))
	}
	if n == 0 {
		return y
	}
	cols := make([]float32, n)
	for _, row := range rows {
		for i, c := range row {
			w := float32(0)
			for _, rn := range c {
				w += textWidth(rn.text, size, true)
			}
			cols[i] = max(cols[i], w+2)
		}
	}
	gap := size * 1.4
	room := min(wide, 1.3*measure*size/13) - gap*float32(n-1)
	// The widest give way first.
	for range 64 {
		sum, widest := float32(0), 0
		for i, c := range cols {
			sum += c
			if c > cols[widest] {
				widest = i
			}
		}
		if sum <= room {
			break
		}
		cols[widest] = max(cols[widest]-max(sum-room, 4)/2, size*4)
	}
	for k, row := range rows {
		x, bottom := float32(0), y
		for i, c := range row {
			bottom = max(bottom, r.flow(c, x, y, x+cols[i], size, k == 0))
			x += cols[i] + gap
		}
		y = bottom + size*0.1
		line := canvas.NewLine(theme.Color(ColorRule))
		line.Position1, line.Position2 = fyne.NewPos(0, y), fyne.NewPos(min(x-gap, wide), y)
		r.p.texts = append(r.p.texts, line)
		y += size * 0.3
	}
	return y
}
