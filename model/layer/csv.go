package layer

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"unicode"
)

// CSV writes tables as comma-separated values (RFC 4180, UTF-8, lines that end
// in CR LF): one table alone; of several each under a line with its title and
// with an empty line between.
//
// A text that a spreadsheet might take for a formula is given an apostrophe in
// front, so that it stays text. Numbers are written as numbers.
func CSV(tables ...Table) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	for i, t := range tables {
		if len(tables) > 1 {
			if i > 0 {
				w.Flush()
				b.WriteString("\r\n")
			}
			_ = w.Write([]string{guarded(t.Title)}) // a buffer takes all
		}
		var line []string
		for _, c := range t.Columns {
			line = append(line, guarded(c.Head))
		}
		_ = w.Write(line)
		for _, r := range t.Rows {
			line = line[:0]
			for i, v := range r {
				line = append(line, cell(v, t.Columns[i].Decimals))
			}
			_ = w.Write(line)
		}
	}
	w.Flush()
	return b.Bytes()
}

// cell is a value as it stands between two commas, a number to three decimals
// more than are shown of it.
func cell(v any, decimals int) string {
	switch v := v.(type) {
	case string:
		return guarded(v)
	case float64:
		if !finite(v) {
			return ""
		}
		return number(rounded(v, decimals+3))
	case int:
		return strconv.Itoa(v)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	}
	return ""
}

// number spells a figure with no more decimals than it needs, a negative zero as 0.
func number(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// formulaSigns begin a formula in one spreadsheet or another, their full-width
// forms too.
const formulaSigns = "=+-@＝＋－＠"

// guarded returns a text that no spreadsheet takes for a formula. Control
// characters but for line ends become spaces.
func guarded(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' {
			return ' '
		}
		return r
	}, strings.ReplaceAll(s, "\r\n", "\n"))
	first := strings.TrimLeftFunc(s, func(r rune) bool { return unicode.IsSpace(r) || r == '\ufeff' || r == '\u200b' })
	if first != "" && strings.ContainsAny(string([]rune(first)[:1]), formulaSigns) {
		return "'" + s
	}
	return s
}
