package analysis

import "testing"

// The rule is the contract's: an accepted gap stays accepted while it lies within
// the accepted chainage plus half a metre; the rows are worked out by hand.
func TestAnAcceptedStretchHoldsWithinHalfAMetreRoundTheRing(t *testing.T) {
	for _, c := range []struct {
		name           string
		from, to       float64
		accFrom, accTo float64
		ring           float64
		want           bool
	}{
		{"the same", 10, 20, 10, 20, 100, true},
		{"shrunk", 12, 13, 10, 20, 100, true},
		{"grown by the tolerance", 9.5, 20.5, 10, 20, 100, true},
		{"grown by more before", 9.4, 20, 10, 20, 100, false},
		{"grown by more after", 10, 20.6, 10, 20, 100, false},
		{"from 0, grown back through 0 by less", 99.7, 5, 0, 5, 100, true},
		{"from 0, grown back through 0 by more", 99.4, 5, 0, 5, 100, false},
		{"to the end, grown on through 0 by less", 90, 0.3, 90, 100, 100, true},
		{"to the end, grown on through 0 by more", 90, 0.7, 90, 100, 100, false},
		{"through 0, the same", 95, 5, 95, 5, 100, true},
		{"through 0, shrunk to what lies before", 96, 99, 95, 5, 100, true},
		{"through 0, shrunk to what lies behind", 1, 4, 95, 5, 100, true},
		{"through 0, grown by more", 94, 5, 95, 5, 100, false},
		{"elsewhere", 50, 60, 95, 5, 100, false},
		{"through 0, all but what was accepted", 5, 95, 95, 5, 100, false},
		{"through 0, round the ring beyond it", 96, 94, 95, 5, 100, false},
		{"the whole ring", 0, 100, 0, 100, 100, true},
		{"the whole ring where a part was accepted", 0, 100, 10, 20, 100, false},
		{"an open line, from its start", 0, 5.2, 0, 5, 0, true},
		{"an open line, elsewhere", 94, 98, 0, 5, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := spanWithin(c.from, c.to, c.accFrom, c.accTo, c.ring); got != c.want {
				t.Errorf("%g to %g within the accepted %g to %g on a ring of %g m: %v, want %v", c.from, c.to, c.accFrom, c.accTo, c.ring, got, c.want)
			}
		})
	}
}
