package paper

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/paulmach/orb"
)

// A pdfFile is what these tests read back from a PDF: enough of ISO 32000-1 for
// the files this package writes.
type pdfFile struct {
	raw   []byte
	box   orb.Bound // of the first page, millimetres
	pages []pdfPage
}

type pdfPage struct {
	dict    string
	box     orb.Bound // MediaBox, millimetres
	texts   []pdfText
	strokes []pdfPath
	fills   []pdfPath
	colours [][3]float64
}

// A pdfText is one text in millimetres from the upper left of the page.
type pdfText struct {
	at   orb.Point
	size float64
	font string
	s    string
	up   bool // it reads up the page
}

// A pdfPath is one painted path in millimetres from the upper left.
type pdfPath struct {
	points []orb.Point
	width  float64
}

var (
	mediaBox  = regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`)
	contentAt = regexp.MustCompile(`/Contents (\d+) 0 R`)
)

func readPDF(t testing.TB, raw []byte) pdfFile {
	t.Helper()
	f := pdfFile{raw: raw}
	all := mediaBox.FindAllSubmatch(raw, -1)
	if all == nil {
		t.Fatal("the PDF has no MediaBox")
	}
	for n, c := range contentAt.FindAllSubmatch(raw, -1) {
		head := bytes.Index(raw, append([]byte("\n"), append(c[1], " 0 obj\n"...)...))
		body := raw[head:]
		body = body[bytes.Index(body, []byte("stream\n"))+len("stream\n"):]
		z, err := zlib.NewReader(bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(z)
		if err != nil {
			t.Fatal(err)
		}
		// A page without a box of its own has that of all, which stands last.
		dict := raw[bytes.Index(raw, fmt.Appendf(nil, "\n%d 0 obj\n<</Type /Page\n", dictionaryOf(n+1)))+1:]
		dict = dict[:bytes.Index(dict, []byte("endobj"))]
		m := mediaBox.FindSubmatch(dict)
		if m == nil {
			m = all[len(all)-1]
		}
		w, _ := strconv.ParseFloat(string(m[1]), 64)
		h, _ := strconv.ParseFloat(string(m[2]), 64)
		p := readContent(t, content, h)
		p.dict, p.box = string(dict), orb.Bound{Max: orb.Point{w / perInch * 25.4, h / perInch * 25.4}}
		f.pages = append(f.pages, p)
	}
	f.box = f.pages[0].box
	return f
}

// perInch is the number of PDF units in an inch (ISO 32000-1, 8.3.2.3).
const perInch = 72.0

func readContent(t testing.TB, b []byte, height float64) (out pdfPage) {
	t.Helper()
	type state struct {
		width, size float64
		font        string
		m           [6]float64 // of cm (ISO 32000-1, 8.3.4)
	}
	var (
		now   state
		saved []state
		args  []string
		path  []orb.Point
		at    orb.Point
	)
	now.m = [6]float64{1, 0, 0, 1, 0, 0}
	num := func(i int) float64 {
		v, err := strconv.ParseFloat(args[len(args)-1-i], 64)
		if err != nil {
			t.Fatalf("content: %q is not a number", args)
		}
		return v
	}
	mm := func(x, y float64) orb.Point {
		x, y = now.m[0]*x+now.m[2]*y+now.m[4], now.m[1]*x+now.m[3]*y+now.m[5]
		return orb.Point{x / perInch * 25.4, (height - y) / perInch * 25.4}
	}
	for i := 0; i < len(b); {
		switch c := b[i]; {
		case c == ' ' || c == '\n' || c == '\r' || c == '[' || c == ']':
			i++
			continue
		case c == '(':
			var s []byte
			for i++; b[i] != ')'; i++ {
				if b[i] == '\\' {
					i++
					if b[i] == 'r' {
						s = append(s, '\r')
						continue
					}
				}
				s = append(s, b[i])
			}
			i++
			args = append(args, string(s))
			continue
		}
		j := i
		for j < len(b) && !strings.ContainsRune(" \n\r[](", rune(b[j])) {
			j++
		}
		op := string(b[i:j])
		i = j
		if c := op[0]; c == '/' || c == '-' || c == '.' || c >= '0' && c <= '9' {
			args = append(args, op)
			continue
		}
		switch op {
		case "q":
			saved = append(saved, now)
		case "Q":
			now, saved = saved[len(saved)-1], saved[:len(saved)-1]
		case "cm":
			a, m := [6]float64{num(5), num(4), num(3), num(2), num(1), num(0)}, now.m
			now.m = [6]float64{a[0]*m[0] + a[1]*m[2], a[0]*m[1] + a[1]*m[3], a[2]*m[0] + a[3]*m[2], a[2]*m[1] + a[3]*m[3],
				a[4]*m[0] + a[5]*m[2] + m[4], a[4]*m[1] + a[5]*m[3] + m[5]}
		case "w":
			now.width = num(0) / perInch * 25.4
		case "Tf":
			now.font, now.size = args[len(args)-2], num(0)/perInch*25.4
		case "Td":
			at = mm(num(1), num(0))
		case "Tj":
			raw := args[len(args)-1]
			var u []uint16
			for k := 0; k+1 < len(raw); k += 2 {
				u = append(u, uint16(raw[k])<<8|uint16(raw[k+1]))
			}
			out.texts = append(out.texts, pdfText{at, now.size, now.font, string(utf16.Decode(u)), now.m[1] > 0})
		case "rg", "RG":
			out.colours = append(out.colours, [3]float64{num(2), num(1), num(0)})
		case "m":
			path = append(path, mm(num(1), num(0)))
		case "l":
			path = append(path, mm(num(1), num(0)))
		case "h":
			path = append(path, path[0])
		case "S":
			out.strokes = append(out.strokes, pdfPath{path, now.width})
			path = nil
		case "f":
			out.fills = append(out.fills, pdfPath{path, 0})
			path = nil
		case "n":
			path = nil
		}
		args = args[:0]
	}
	return out
}

// text is all that stands on a page, a space between its parts.
func (p pdfPage) text() string {
	var s []string
	for _, t := range p.texts {
		s = append(s, t.s)
	}
	return strings.Join(s, " ")
}
