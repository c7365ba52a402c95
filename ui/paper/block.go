package paper

// A block is one part of the panel: it says how much height it wants at a width
// and draws itself there.
type block interface {
	height(w float64) float64
	draw(d *document, x, y, w float64)
}

// Distances in the panel, millimetres.
const (
	headRow  = 5.6                // a heading
	bodyRow  = sizeBody * leading // a line of text
	pad      = 5.0                // between the panel's edge and what stands in it
	blockGap = 4.5                // between two blocks
)
