package coverage

import "math"

// UnionOfSorted joins spans that touch, as Union does; they are in order of where
// they begin, and stay as they are.
func UnionOfSorted(spans []Span) []Span {
	if len(spans) == 0 {
		return nil
	}
	out := make([]Span, 0, len(spans))
	for _, s := range spans {
		if n := len(out); n > 0 && s.From <= out[n-1].To+1e-9 {
			out[n-1].To = math.Max(out[n-1].To, s.To)
			continue
		}
		out = append(out, s)
	}
	return out
}
