package paper

// Caution is what a sheet with a map to measure on says of its own worth.
const Caution = "Coverage and radio margins on this sheet are predictions, made for planning. What proves the system is the walk test and the " +
	"signal readings on site. Local codes, the conditions of the radio licence, the rules for work at height and the judgement of the " +
	"accredited installer come before this drawing."

// prose is paragraphs of text.
type prose struct {
	look
	text []string
}

const paragraphGap = 1.6

func (p prose) height(w float64) float64 {
	h := -paragraphGap
	for _, t := range p.text {
		h += paragraphGap + float64(len(wrap(clean(t), w, sizeBody, false, 0)))*bodyRow
	}
	return h
}

func (p prose) draw(d *document, x, y, w float64) {
	for _, t := range p.text {
		for _, l := range wrap(clean(t), w, sizeBody, false, 0) {
			d.left(x, y, bodyRow, l, p.body, p.ink)
			y += bodyRow
		}
		y += paragraphGap
	}
}
