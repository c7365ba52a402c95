package analysis

import (
	"slices"

	"pleach/model/coverage"
)

// HeadOn returns the stretches of a boundary that are covered but crossed nearly
// straight towards every sensor that covers them, as the findings list them.
func (r *Result) HeadOn(boundary string) (out []coverage.Span) {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule == "head-on" && f.From != nil && f.To != nil && slices.Contains(f.Subject, boundary) {
			out = append(out, coverage.Span{From: *f.From, To: *f.To})
		}
	}
	slices.SortFunc(out, func(a, b coverage.Span) int {
		if a.From < b.From {
			return -1
		}
		return 1
	})
	return out
}
