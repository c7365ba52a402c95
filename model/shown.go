package model

import (
	"strings"
	"unicode"
)

// mostShown is how many characters of a name are shown: chosen, a line of the
// report.
const mostShown = 80

// Shown returns a name as it is put into a sentence: on one line, without the
// characters that move the pen, the terminal or the direction of writing, and no
// longer than a line.
func Shown(name string) string {
	if plain(name) {
		return name
	}
	name = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), r == '\u2028', r == '\u2029':
			return ' '
		case r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069', r == '\u200e', r == '\u200f', r == '\ufeff':
			return -1
		}
		return r
	}, name)), " ")
	if len(name) <= mostShown {
		return name
	}
	if r := []rune(name); len(r) > mostShown {
		return string(r[:mostShown-1]) + "…"
	}
	return name
}

// plain reports whether a name is shown as it is, as most are.
func plain(name string) bool {
	last := byte(' ')
	for i := range len(name) {
		c := name[i]
		if c < ' ' || c > '~' || c == ' ' && last == ' ' {
			return false
		}
		last = c
	}
	return name == "" || len(name) <= mostShown && last != ' '
}

// Titled returns the feature's name and id as they are put into a sentence: "pump
// house (H2)", or the id alone where it has no other name.
func (f *Feature) Titled() string {
	id, name := Shown(f.ID), Shown(f.Name)
	if name == "" || name == id {
		return id
	}
	return name + " (" + id + ")"
}
