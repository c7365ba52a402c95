package model

import (
	"strings"
	"testing"
)

func TestANameIsShownOnOneLineOfFewCharacters(t *testing.T) {
	for name, want := range map[string]string{
		"": "", " ": "", "a ": "a", " a": "a", "a  b": "a b", strings.Repeat("e", 81): strings.Repeat("e", 79) + "…", "Pump house": "Pump house", "Łódź 🚧": "Łódź 🚧", "a\nb\r\nc\td": "a b c d", "x\x1b[31m\x00\x7f\u0085y": "x [31m y",
		"gate \u202e\u200fyard\u2069": "gate yard", " \n ": "", strings.Repeat("é", 80): strings.Repeat("é", 80), strings.Repeat("é", 81): strings.Repeat("é", 79) + "…",
	} {
		if got := Shown(name); got != want {
			t.Errorf("%q is shown as %q, want %q", name, got, want)
		}
	}
}
