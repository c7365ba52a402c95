package paper

// Caution is what every sheet says of its own worth.
const Caution = "Coverage and radio margins on this sheet are predictions, made for planning. What proves the system is the walk test and the " +
	"signal readings on site. Local codes, the conditions of the radio licence, the rules for work at height and the judgement of the " +
	"accredited installer come before this drawing."

// prose is a heading, where there is one, and text under it.
type prose struct {
	look
	heading string
	text    string
}

func (p prose) height(w float64) float64 {
	h := float64(len(wrap(clean(p.text), w, sizeBody, false, 0))) * bodyRow
	if p.heading != "" {
		h += headRow
	}
	return h
}

func (p prose) draw(d *document, x, y, w float64) {
	if p.heading != "" {
		d.left(x, y, headRow-1, p.heading, p.head, p.ink)
		y += headRow
	}
	for _, l := range wrap(clean(p.text), w, sizeBody, false, 0) {
		d.left(x, y, bodyRow, l, p.body, p.ink)
		y += bodyRow
	}
}
