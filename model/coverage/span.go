// Package coverage does the arithmetic of chainage: which stretches of a
// boundary each sensor covers, what is left, and why.
package coverage

// Span is a stretch of chainage in metres, From to To. On a ring To below From
// runs through chainage 0.
type Span struct{ From, To float64 }

// State is what holds along a stretch of boundary.
type State uint8

// The states of a stretch.
const (
	Uncovered State = iota
	Covered
	Closed // a building or an excluded stretch: needs no detection
)

// Stretch is a span with its state.
type Stretch struct {
	Span
	State State
}

// Cause says why a stretch is not covered.
type Cause string

// The causes of a gap, in the order in which they are tried.
const (
	Hidden     Cause = "hidden"
	Screened   Cause = "screened"
	Thin       Cause = "thin"
	Under      Cause = "under"
	Over       Cause = "over"
	OutOfReach Cause = "out-of-reach"
)
