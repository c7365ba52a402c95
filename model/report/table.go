package report

import (
	"strings"
	"unicode/utf8"
)

// A table is rows of cells, set in columns as wide as their widest cell.
type table struct {
	head  []string
	right []bool // columns set to the right
	rows  [][]string
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// lines returns the table, every line after the indent.
func (t *table) lines(indent string) []string {
	widths := make([]int, len(t.head))
	all := append([][]string{t.head}, t.rows...)
	for _, row := range all {
		for i, c := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	var out []string
	for _, row := range all {
		var b strings.Builder
		b.WriteString(indent)
		for i, c := range row {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if i < len(t.right) && t.right[i] {
				b.WriteString(pad + c)
			} else {
				b.WriteString(c + pad)
			}
			if i < len(row)-1 {
				b.WriteString("  ")
			}
		}
		out = append(out, strings.TrimRight(b.String(), " "))
	}
	return out
}

// wrap returns text in lines of at most width characters, the first after
// first, the others after rest. A word longer than a line stands alone.
func wrap(text string, width int, first, rest string) []string {
	var out []string
	line := first
	empty := true
	for _, word := range strings.Fields(text) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			out = append(out, line)
			line, empty = rest, true
		}
		if !empty {
			line += " "
		}
		line += word
		empty = false
	}
	return append(out, line)
}
