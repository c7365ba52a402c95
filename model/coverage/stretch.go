package coverage

import (
	"math"
	"slices"
)

// Stretches divides a boundary into covered, uncovered and closed stretches and
// merges those shorter than 0.1 m, shortest first, into the longer neighbour (at
// a tie the one before), round a ring. The stretches are in order of chainage
// from 0 and together the whole boundary.
func Stretches(length float64, ring bool, covered, closed []Span) []Stretch {
	var cuts []float64
	for _, s := range append(slices.Clone(covered), closed...) {
		cuts = append(cuts, s.From, s.To)
	}
	state := func(s float64) State {
		switch {
		case holds(closed, s):
			return Closed
		case holds(covered, s):
			return Covered
		}
		return Uncovered
	}
	return merge(divide(length, cuts, state), length, ring)
}

// Overlaps returns the stretches that two or more sensors cover, merged like
// Stretches. each holds a sensor's spans, in order.
func Overlaps(length float64, ring bool, each [][]Span, closed []Span) []Span {
	var cuts []float64
	type end struct {
		at float64
		by int
	}
	var ends []end
	for _, spans := range each {
		for _, s := range spans {
			cuts = append(cuts, s.From, s.To)
			ends = append(ends, end{s.From, 1}, end{s.To, -1})
		}
	}
	for _, s := range closed {
		cuts = append(cuts, s.From, s.To)
	}
	slices.SortFunc(ends, func(a, b end) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	i, n := 0, 0
	state := func(s float64) State {
		for i < len(ends) && ends[i].at <= s {
			n += ends[i].by
			i++
		}
		if n >= 2 && !holds(closed, s) {
			return Covered
		}
		return Uncovered
	}
	var out []Span
	for _, s := range merge(divide(length, cuts, state), length, ring) {
		if s.State == Covered {
			out = append(out, s.Span)
		}
	}
	return out
}

// divide cuts [0, length) at cuts and asks for the state in the middle of each
// piece, in order.
func divide(length float64, cuts []float64, state func(float64) State) []Stretch {
	cuts = append(cuts, 0, length)
	slices.Sort(cuts)
	var out []Stretch
	prev := 0.0
	for _, c := range cuts {
		c = math.Max(0, math.Min(length, c))
		if c-prev < 1e-9 {
			continue
		}
		st := state((prev + c) / 2)
		if n := len(out); n > 0 && out[n-1].State == st {
			out[n-1].To = c
		} else {
			out = append(out, Stretch{Span{prev, c}, st})
		}
		prev = c
	}
	if n := len(out); n > 0 {
		out[n-1].To = length
	}
	return out
}

func holds(spans []Span, s float64) bool {
	i, _ := slices.BinarySearchFunc(spans, s, func(a Span, s float64) int {
		if a.To < s {
			return -1
		}
		return 1
	})
	return i < len(spans) && spans[i].From <= s
}

// hair is a length in metres too small to tell, that a rounding leaves.
const hair = 1e-3

// merge merges stretches shorter than mergeBelow.
func merge(in []Stretch, length float64, ring bool) []Stretch {
	// On a ring the first and the last may be one stretch.
	type piece struct {
		from, len float64
		state     State
	}
	var ps []piece
	for _, s := range in {
		ps = append(ps, piece{s.From, s.To - s.From, s.State})
	}
	if n := len(ps); ring && n > 1 && ps[0].state == ps[n-1].state {
		ps[n-1].len += ps[0].len
		ps = ps[1:]
	}
	for len(ps) > 1 {
		k := -1
		for i, p := range ps {
			if p.len < mergeBelow && (k < 0 || p.len < ps[k].len) {
				k = i
			}
		}
		if k < 0 {
			break
		}
		n := len(ps)
		before, after := k-1, k+1
		if ring {
			before, after = (k-1+n)%n, (k+1)%n
		} else if after == n {
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
		joined := ps[:0:0]
		for _, p := range ps {
			if m := len(joined); m > 0 && joined[m-1].state == p.state {
				joined[m-1].len += p.len
				continue
			}
			joined = append(joined, p)
		}
		if m := len(joined); ring && m > 1 && joined[0].state == joined[m-1].state {
			joined[m-1].len += joined[0].len
			joined = joined[1:]
		}
		ps = joined
	}
	var out []Stretch
	if len(ps) == 1 {
		return []Stretch{{Span{0, length}, ps[0].state}}
	}
	// What changes at the first vertex changes there and not a hair beside it.
	if p := &ps[len(ps)-1]; ring {
		if d := length - p.from; d < hair {
			ps[len(ps)-2].len += d
			ps = slices.Insert(ps[:len(ps)-1], 0, piece{0, p.len - d, p.state})
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
