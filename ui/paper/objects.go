package paper

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"io"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
)

// objects are the numbered objects of a finished PDF, to be added to before it is
// written: its table of objects is made anew (ISO 32000-1, 7.5).
type objects struct {
	head    []byte         // what stands before the first object
	part    map[int][]byte // by number, "1 0 obj" to "endobj"
	order   []int          // numbers as they stand in the file
	trailer []byte         // members of the trailer but Size
	root    int            // number of the catalogue
}

// readObjects takes apart a PDF as the writer makes it: one table of objects,
// none of them free but the first.
func readObjects(out []byte) (*objects, error) {
	fail := func(what string) (*objects, error) { return nil, fmt.Errorf("write the PDF: %s", what) }
	const start, table, trailer = "startxref\n", "xref\n0 ", "trailer\n<<\n/Size "
	tail := bytes.LastIndex(out, []byte(start))
	if tail < 0 {
		return fail("it has no end")
	}
	at, err := strconv.Atoi(string(firstLine(out[tail+len(start):])))
	if err != nil || at > tail || !bytes.HasPrefix(out[at:], []byte(table)) {
		return fail("it has no table of objects")
	}
	rest := out[at+len(table):]
	count := firstLine(rest)
	n, err := strconv.Atoi(string(count))
	const line = len("0000000000 65535 f \n")
	if rest = rest[len(count)+1:]; err != nil || len(rest) < n*line {
		return fail("its table of objects is cut short")
	}
	type place struct{ at, number int }
	var places []place
	for i := 1; i < n; i++ {
		v, err := strconv.Atoi(string(rest[i*line:][:10]))
		if err != nil || v >= at {
			return fail(fmt.Sprintf("object %d has no place", i))
		}
		places = append(places, place{v, i})
	}
	slices.SortFunc(places, func(a, b place) int { return a.at - b.at })
	if len(places) == 0 || !bytes.HasPrefix(rest[n*line:], []byte(trailer)) {
		return fail("it has no trailer")
	}
	o := &objects{head: out[:places[0].at], part: map[int][]byte{}}
	for i, p := range places {
		end := at
		if i+1 < len(places) {
			end = places[i+1].at
		}
		o.part[p.number] = out[p.at:end:end]
		o.order = append(o.order, p.number)
	}
	members := rest[n*line+len(trailer) : len(rest)-(len(out)-tail)]
	o.trailer = bytes.TrimSuffix(members[len(firstLine(members))+1:], []byte(">>\n"))
	if _, err := fmt.Sscanf(string(o.trailer), "/Root %d", &o.root); err != nil {
		return fail("it has no catalogue")
	}
	return o, nil
}

// firstLine is what stands before the first line feed.
func firstLine(b []byte) []byte {
	line, _, _ := bytes.Cut(b, []byte("\n"))
	return line
}

// enter puts text into object n, behind the first place where after stands in it.
func (o *objects) enter(n int, after, text string) error {
	was := o.part[n]
	at := bytes.Index(was, []byte(after))
	if at < 0 {
		return fmt.Errorf("write the PDF: object %d has no %q", n, after)
	}
	at += len(after)
	o.part[n] = slices.Concat(was[:at], []byte(text), was[at:])
	return nil
}

// streamed are the numbers of the objects that are streams of text or of a font:
// those that pack makes smaller.
func (o *objects) streamed() (numbers []int) {
	for _, n := range o.order {
		dict, _, ok := bytes.Cut(o.part[n], []byte(streamStart))
		if ok && (!bytes.Contains(dict, []byte("/Filter")) || bytes.Contains(dict, []byte("/Length1 "))) {
			numbers = append(numbers, n)
		}
	}
	return numbers
}

const streamStart, streamEnd = ">>\nstream\n", "\nendstream\nendobj\n"

// packing are the members of a stream's dictionary that say how it is packed.
var packing = regexp.MustCompile(`/(Length \d+|Filter /FlateDecode)[ \n]*`)

// pack compresses the streams of objects, better than the writer did where it
// did.
func (o *objects) pack(numbers []int) error {
	packed := make([][]byte, len(numbers))
	var wg sync.WaitGroup
	var next atomic.Int64
	for range min(runtime.GOMAXPROCS(0), len(numbers)) {
		wg.Go(func() {
			var b bytes.Buffer
			z := zlib.NewWriter(&b)
			for i := int(next.Add(1)) - 1; i < len(numbers); i = int(next.Add(1)) - 1 {
				dict, body, _ := bytes.Cut(o.part[numbers[i]], []byte(streamStart))
				body, ok := bytes.CutSuffix(body, []byte(streamEnd))
				if !ok {
					continue
				}
				if bytes.Contains(dict, []byte("/FlateDecode")) {
					r, err := zlib.NewReader(bytes.NewReader(body))
					if err != nil {
						continue
					}
					if body, err = io.ReadAll(r); err != nil {
						continue
					}
				}
				b.Reset()
				z.Reset(&b)
				z.Write(body) // a buffer takes everything
				z.Close()
				packed[i] = fmt.Appendf(packing.ReplaceAll(dict, nil), " /Filter /FlateDecode /Length %d%s%s%s", b.Len(), streamStart, b.Bytes(), streamEnd)
			}
		})
	}
	wg.Wait()
	for i, n := range numbers {
		if packed[i] == nil {
			return fmt.Errorf("write the PDF: object %d has no stream", n)
		}
		o.part[n] = packed[i]
	}
	return nil
}

// add appends an object and returns its number.
func (o *objects) add(text string) int {
	n := len(o.order) + 1
	o.part[n] = []byte(strconv.Itoa(n) + " 0 obj\n" + text + "\nendobj\n")
	o.order = append(o.order, n)
	return n
}

// write writes the file with an identifier made of its contents.
func (o *objects) write(w io.Writer) error {
	sum := sha256.New()
	at := make([]int, len(o.order)+1)
	sum.Write(o.head)
	end := len(o.head)
	for _, n := range o.order {
		at[n] = end
		end += len(o.part[n])
		sum.Write(o.part[n])
	}
	sum.Write(o.trailer)
	id := sum.Sum(nil)[:16]
	tail := fmt.Appendf(nil, "xref\n0 %d\n0000000000 65535 f \n", len(at))
	for _, v := range at[1:] {
		tail = fmt.Appendf(tail, "%010d 00000 n \n", v)
	}
	tail = fmt.Appendf(tail, "trailer\n<<\n/ID [<%x> <%x>]\n/Size %d\n%s>>\nstartxref\n%d\n%%%%EOF\n", id, id, len(at), o.trailer, end)
	parts := [][]byte{o.head}
	for _, n := range o.order {
		parts = append(parts, o.part[n])
	}
	for _, part := range append(parts, tail) {
		if _, err := w.Write(part); err != nil {
			return fmt.Errorf("write the PDF: %w", err)
		}
	}
	return nil
}
