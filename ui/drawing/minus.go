package drawing

import "strings"

// TrueMinus returns a text as it is shown: a hyphen that stands before a number and
// after nothing, a space or a bracket is a minus sign. Hyphens within words, dates
// and ranges stay. The typeface gives both the same width.
func TrueMinus(s string) string {
	if !strings.Contains(s, "-") {
		return s
	}
	var b strings.Builder
	last := ' '
	for i, r := range s {
		if next := i + 1; r == '-' && next < len(s) && s[next] >= '0' && s[next] <= '9' && strings.ContainsRune(" \u00a0\n\t([", last) {
			b.WriteRune('−')
		} else {
			b.WriteRune(r)
		}
		last = r
	}
	return b.String()
}
