package coverage

import (
	"math"
	"slices"
	"sync"
)

// Stretches divides a boundary into covered, uncovered and closed stretches and
// merges those shorter than 0.1 m, shortest first, into the longer neighbour (at
// a tie the one before), round a ring. The stretches are in order of chainage
// from 0 and together the whole boundary. covered and closed are in order, each
// without overlaps.
func Stretches(length float64, ring bool, covered, closed []Span) []Stretch {
	return merge(divide(length, covered, closed, Closed), length, ring)
}

// Overlaps returns the stretches that two or more spans cover, merged like
// Stretches. spans are in order of where they begin, closed without overlaps.
func Overlaps(length float64, ring bool, spans, closed []Span) []Span {
	twice := make([]Span, 0, len(spans))
	far := math.Inf(-1)
	for _, s := range spans {
		if to := math.Min(s.To, far); s.From < to {
			twice = append(twice, Span{s.From, to})
		}
		far = math.Max(far, s.To)
	}
	// In order of where they begin, as the spans are.
	twice = UnionOfSorted(twice)
	out := make([]Span, 0, len(twice))
	for _, s := range merge(divide(length, twice, closed, Uncovered), length, ring) {
		if s.State == Covered {
			out = append(out, s.Span)
		}
	}
	return out
}

// divide cuts [0, length) where covered and closed begin and end and tells the
// state of each piece by its middle, in order; what is closed has the state none.
func divide(length float64, covered, closed []Span, none State) []Stretch {
	out := make([]Stretch, 0, 2*(len(covered)+len(closed))+1)
	prev := 0.0
	i, j := 0, 0 // the first that does not end before prev
	cut := func(c float64) {
		c = math.Max(0, math.Min(length, c))
		if c-prev < 1e-9 {
			return
		}
		m := (prev + c) / 2
		for i < len(covered) && covered[i].To < m {
			i++
		}
		for j < len(closed) && closed[j].To < m {
			j++
		}
		st := Uncovered
		switch {
		case j < len(closed) && closed[j].From <= m:
			st = none
		case i < len(covered) && covered[i].From <= m:
			st = Covered
		}
		if n := len(out); n > 0 && out[n-1].State == st {
			out[n-1].To = c
		} else {
			out = append(out, Stretch{Span{prev, c}, st})
		}
		prev = c
	}
	end := func(spans []Span, k int) float64 {
		switch {
		case k >= 2*len(spans):
			return math.Inf(1)
		case k%2 == 0:
			return spans[k/2].From
		}
		return spans[k/2].To
	}
	for a, b := 0, 0; a < 2*len(covered) || b < 2*len(closed); {
		if x, y := end(covered, a), end(closed, b); x <= y {
			cut(x)
			a++
		} else {
			cut(y)
			b++
		}
	}
	cut(length)
	if n := len(out); n > 0 {
		out[n-1].To = length
	}
	return out
}

// hair is a length in metres too small to tell, that a rounding leaves.
const hair = 1e-3

// piece is a stretch while it is merged; before and after are its neighbours' places.
type piece struct {
	from, len     float64
	state         State
	before, after int
	gone          bool
}

// pieces is memory for merge.
var pieces = sync.Pool{New: func() any { return new([]piece) }}

// merge merges stretches shorter than mergeBelow.
func merge(in []Stretch, length float64, ring bool) []Stretch {
	if !slices.ContainsFunc(in, func(s Stretch) bool { return s.To-s.From < mergeBelow }) {
		return in
	}
	memory := pieces.Get().(*[]piece)
	defer pieces.Put(memory)
	ps := (*memory)[:0]
	for i, s := range in {
		ps = append(ps, piece{s.From, s.To - s.From, s.State, i - 1, i + 1, false})
	}
	*memory = ps
	left := len(ps)
	last := left - 1
	if left > 0 {
		ps[last].after = -1
	}
	// join takes the piece b into a, which stands before it.
	join := func(a, b int) {
		ps[a].len += ps[b].len
		ps[b].gone = true
		ps[a].after = ps[b].after
		if n := ps[b].after; n >= 0 {
			ps[n].before = a
		}
		if b == last {
			last = a
		}
		left--
	}
	if ring && left > 0 {
		ps[0].before, ps[last].after = last, 0
		// The first and the last may be one stretch.
		if left > 1 && ps[0].state == ps[last].state {
			at := last
			join(at, 0)
		}
	}
	var short heap
	note := func(i int) {
		if ps[i].len < mergeBelow {
			short.push(brief{ps[i].len, i})
		}
	}
	for i := range ps {
		if !ps[i].gone {
			note(i)
		}
	}
	for left > 1 && len(short) > 0 {
		b := short.pop()
		k := b.at
		if ps[k].gone || ps[k].len != b.len {
			continue
		}
		before, after := ps[k].before, ps[k].after
		if after < 0 {
			after = before
		} else if before < 0 {
			before = after
		}
		into := before
		if ps[after].len > ps[before].len {
			into = after
		}
		ps[k].state = ps[into].state
		// Join neighbours of one state, round the ring.
		if b := ps[k].before; b >= 0 && b != k && ps[b].state == ps[k].state {
			join(b, k)
			k = b
		}
		if a := ps[k].after; a >= 0 && a != k && ps[a].state == ps[k].state {
			join(k, a)
		}
		note(k)
	}
	if left == 1 {
		return []Stretch{{Span{0, length}, ps[last].state}}
	}
	ps = slices.DeleteFunc(ps, func(p piece) bool { return p.gone })
	out := make([]Stretch, 0, len(ps)+1)
	// What changes at the first vertex changes there and not a hair beside it.
	if p := &ps[len(ps)-1]; ring {
		if d := length - p.from; d < hair {
			ps[len(ps)-2].len += d
			ps = slices.Insert(ps[:len(ps)-1], 0, piece{from: 0, len: p.len - d, state: p.state})
		} else if d := p.from + p.len - length; d > 0 && d < hair {
			p.len -= d
			ps[0].from, ps[0].len = 0, ps[0].len+d
		}
	}
	for _, p := range ps {
		to := p.from + p.len
		if to > length+1e-9 { // through chainage 0
			out = append(out, Stretch{Span{p.from, length}, p.state})
			out = append([]Stretch{{Span{0, to - length}, p.state}}, out...)
			continue
		}
		out = append(out, Stretch{Span{p.from, to}, p.state})
	}
	return out
}

// brief is a short piece by its place.
type brief struct {
	len float64
	at  int
}

// heap holds short pieces: the shortest first, of equals the one that stands
// first.
type heap []brief

func (h heap) less(i, j int) bool {
	return h[i].len < h[j].len || h[i].len == h[j].len && h[i].at < h[j].at
}

func (h *heap) push(b brief) {
	*h = append(*h, b)
	s := *h
	for i := len(s) - 1; i > 0 && s.less(i, (i-1)/2); i = (i - 1) / 2 {
		s[i], s[(i-1)/2] = s[(i-1)/2], s[i]
	}
}

func (h *heap) pop() brief {
	s := *h
	top, n := s[0], len(s)-1
	s[0] = s[n]
	s = s[:n]
	*h = s
	for i := 0; ; {
		k := i
		for _, c := range []int{2*i + 1, 2*i + 2} {
			if c < n && s.less(c, k) {
				k = c
			}
		}
		if k == i {
			return top
		}
		s[i], s[k] = s[k], s[i]
		i = k
	}
}

// Gaps returns the uncovered stretches; on a ring one that runs through chainage
// 0 is one, with To below From.
func Gaps(ss []Stretch, length float64, ring bool) []Span {
	return Joined(ss, Uncovered, length, ring)
}

// Joined returns the stretches of a state; on a ring one that runs through
// chainage 0 is one, with To below From.
func Joined(ss []Stretch, state State, length float64, ring bool) []Span {
	var out []Span
	for _, s := range ss {
		if s.State == state {
			out = append(out, s.Span)
		}
	}
	if n := len(out); ring && n > 1 && out[0].From == 0 && out[n-1].To == length {
		out[0].From = out[n-1].From
		out = out[:n-1]
		// A stretch through chainage 0 stands last, where it begins.
		out = append(out[1:], out[0])
	}
	return out
}

// Length returns the length of a span on a boundary; one through chainage 0 of a
// ring has To below From.
func (s Span) Length(boundary float64) float64 {
	if s.To < s.From {
		return boundary - s.From + s.To
	}
	return s.To - s.From
}

// Middle returns the chainage in the middle of a span.
func (s Span) Middle(boundary float64) float64 {
	m := s.From + s.Length(boundary)/2
	if m >= boundary && s.To < s.From {
		m -= boundary
	}
	return m
}

// Sum returns the length of spans.
func Sum(spans []Span) float64 {
	sum := 0.0
	for _, s := range spans {
		sum += s.To - s.From
	}
	return sum
}

// Minus returns what of spans lies outside others; both are in order, each
// without overlaps.
func Minus(spans, others []Span) []Span {
	var out []Span
	i := 0
	for _, s := range spans {
		pos := s.From
		for i > 0 && others[i-1].To > pos {
			i--
		}
		for i < len(others) && others[i].To <= pos {
			i++
		}
		for j := i; j < len(others) && others[j].From < s.To; j++ {
			if others[j].From > pos {
				out = append(out, Span{pos, others[j].From})
			}
			pos = math.Max(pos, others[j].To)
		}
		if pos < s.To {
			out = append(out, Span{pos, s.To})
		}
	}
	return out
}
