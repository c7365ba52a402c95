package editor

import "slices"

// Link returns the ends of the radio link that is chosen; ok is false for none. A
// link is no feature: it is chosen beside what is selected, and forgotten when
// something that is not one of its ends is selected.
func (e *Editor) Link() (from, to string, ok bool) { return e.link[0], e.link[1], e.link[0] != "" }

// SelectLink chooses the radio link between two devices. One of them that is
// selected alone stays selected.
func (e *Editor) SelectLink(from, to string) {
	if e.link == [2]string{from, to} {
		return
	}
	e.tell(e.chooseLink(from, to))
}

func (e *Editor) chooseLink(from, to string) Change {
	e.link = [2]string{from, to}
	if !e.linkFits() {
		e.selected, e.vertex = nil, -1
	}
	return SelectionChanged | OverlayChanged
}

// linkFits reports whether the chosen link goes with what is selected.
func (e *Editor) linkFits() bool {
	return len(e.selected) == 0 || len(e.selected) == 1 && slices.Contains(e.link[:], e.selected[0])
}

// followLink forgets a chosen link that no longer goes with plan or selection.
func (e *Editor) followLink() {
	if e.link[0] == "" {
		return
	}
	if p := e.Plan(); !e.linkFits() || p.Feature(e.link[0]) == nil || p.Feature(e.link[1]) == nil {
		e.link = [2]string{}
	}
}
