package paper

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"pleach/assets/fonts"
)

// Sizes of type in millimetres an em. Capitals are fonts.CapHeight of it: 3.6,
// 2.2, 2.0 and, in schedules only, 1.8 mm high. ISO 3098-1 has 1.8, 2.5 and
// 3.5 among its nominal heights.
const (
	sizeTitle    = 5.0
	sizeHead     = 3.1
	sizeBody     = 2.8
	sizeSchedule = 2.5
)

// leading is the distance of baselines in em.
const leading = 1.36

// hardSpace does not break a line.
const hardSpace = '\u00a0'

// clean makes s fit to print: composed characters, no control characters, one
// line. A character outside the basic plane, which the PDF's two-byte codes
// cannot carry, becomes a white square; one that the typeface lacks is kept and
// shows as the typeface's box, so that copying the text still gives the name.
func clean(s string) string {
	plain := true
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' || s[i] > '~' {
			plain = false
			break
		}
	}
	if plain {
		return s
	}
	s = norm.NFC.String(strings.ToValidUTF8(s, "□"))
	return strings.Map(func(r rune) rune {
		switch {
		case r == hardSpace:
			return r
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		case r > 0xFFFF:
			return '□'
		}
		return r
	}, s)
}

// width returns the width of cleaned text in millimetres.
func width(s string, size float64, medium bool) float64 {
	return fonts.Advance(medium, s) * size
}

// wrap breaks cleaned text into lines of at most w millimetres, at spaces where
// it can, after a hyphen or slash or between any two characters where it must.
// At most max lines are returned (0: any number); what is beyond ends in an
// ellipsis.
func wrap(s string, w, size float64, medium bool, max int) []string {
	var lines []string
	fits := func(t string) bool { return width(t, size, medium) <= w+1e-6 }
	if s != "" && s[0] != ' ' && s[len(s)-1] != ' ' && fits(s) && !strings.Contains(s, "  ") {
		return []string{s}
	}
	words := strings.FieldsFunc(s, func(r rune) bool { return r == ' ' })
	space := width(" ", size, medium)
	from, long := 0, 0.0 // first word of the line, and how long the line is
	flush := func(to int) {
		if to > from {
			lines = append(lines, strings.Join(words[from:to], " "))
		}
		from, long = to, 0
	}
	for i := range words {
		more := width(words[i], size, medium)
		if i > from {
			if long+space+more <= w+1e-6 {
				long += space + more
				continue
			}
			flush(i)
		}
		if more > w+1e-6 {
			for !fits(words[i]) {
				cut := breakAt(words[i], fits)
				lines = append(lines, words[i][:cut])
				words[i] = words[i][cut:]
			}
			more = width(words[i], size, medium)
		}
		long = more
	}
	flush(len(words))
	if max > 0 && len(lines) > max {
		lines = lines[:max]
		last := []rune(lines[max-1])
		for len(last) > 0 && !fits(string(last)+"…") {
			last = last[:len(last)-1]
		}
		lines[max-1] = strings.TrimRight(string(last), " ") + "…"
	}
	return lines
}

// breakAt returns how many bytes of a word that is too wide go on this line: at
// least one character.
func breakAt(word string, fits func(string) bool) int {
	most, soft := 0, 0
	for i, r := range word {
		end := i + len(string(r))
		if most > 0 && !fits(word[:end]) {
			break
		}
		most = end
		if strings.ContainsRune("-/_.,;→–", r) {
			soft = end
		}
	}
	if soft > most/2 && soft < len(word) {
		return soft
	}
	return most
}
