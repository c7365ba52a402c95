package drawing

import (
	"testing"

	"pleach/assets/fonts"
)

func TestANegativeNumberIsShownWithATrueMinus(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"-3 dB", "−3 dB"},
		{"between -45 and 89°", "between −45 and 89°"},
		{"(-1.5, -20)", "(−1.5, −20)"},
		{"of\u00a0-30 dBm", "of\u00a0−30 dBm"},
		{"2026-11-25, 240-255, S-1, 8-bit", "2026-11-25, 240-255, S-1, 8-bit"},
		{"pleach print -o plan.pdf", "pleach print -o plan.pdf"},
		{"North-west - 3 m", "North-west - 3 m"},
		{"-", "-"},
		{"", ""},
	} {
		if got := TrueMinus(c.text); got != c.want {
			t.Errorf("%q becomes %q, want %q", c.text, got, c.want)
		}
	}
	// What was measured with a hyphen must fit with a minus.
	for _, medium := range []bool{false, true} {
		if h, m := fonts.Advance(medium, "-"), fonts.Advance(medium, "−"); h != m {
			t.Errorf("a hyphen is %v wide, a minus %v", h, m)
		}
	}
}
