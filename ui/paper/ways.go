package paper

import (
	"fmt"
	"strings"

	"pleach/model/analysis"
	"pleach/model/wayin"
	"pleach/ui/drawing"
)

// mostWays is for how many assets the notes tell the way in. Chosen.
const mostWays = 3

// ways says in a paragraph how a person would come in to the assets, "" where
// that was not looked for.
func ways(r *analysis.Result) string {
	if r == nil || r.Ways == nil {
		return ""
	}
	var said []string
	figures := false
	for i := range r.Ways.List {
		w := &r.Ways.List[i]
		if i == mostWays {
			said = append(said, fmt.Sprintf("Of %d further assets the report tells.", len(r.Ways.List)-i))
			break
		}
		text := r.WayWords(w)
		if w.Reached && !w.Undetected {
			figures = true
		}
		said = append(said, text)
	}
	if figures {
		said = append(said, wayin.Independence)
	}
	return strings.Join(said, " ")
}

// wayMeaning reports whether m belongs to a way in, which begins outside all
// that has to be on the map.
func wayMeaning(m drawing.Meaning) bool {
	switch m {
	case drawing.WayIn, drawing.WayInSeen, drawing.WayCrosses, drawing.WayMeets:
		return true
	}
	return false
}
