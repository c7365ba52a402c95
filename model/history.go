package model

// History is the plan's past and future: what Undo and Redo step through. The
// zero value is not usable; make one with NewHistory.
type History struct {
	plans  []*Plan
	labels []string // labels[i] made plans[i+1]
	now    int
	saved  *Plan
}

// NewHistory starts with a plan as opened or saved.
func NewHistory(p *Plan) *History { return &History{plans: []*Plan{p}, saved: p} }

// Plan returns the plan as it is now.
func (h *History) Plan() *Plan { return h.plans[h.now] }

// Do applies an edit as one step; what was undone before is forgotten.
func (h *History) Do(e Edit) error {
	p, err := e.Apply(h.Plan())
	if err != nil {
		return err
	}
	h.plans = append(h.plans[:h.now+1:h.now+1], p)
	h.labels = append(h.labels[:h.now:h.now], e.Label())
	h.now++
	return nil
}

// Undo steps back; it reports false at the beginning.
func (h *History) Undo() bool {
	if h.now == 0 {
		return false
	}
	h.now--
	return true
}

// Redo steps forward; it reports false at the end.
func (h *History) Redo() bool {
	if h.now == len(h.plans)-1 {
		return false
	}
	h.now++
	return true
}

// UndoLabel names the step that Undo would take back, "" where there is none.
func (h *History) UndoLabel() string {
	if h.now == 0 {
		return ""
	}
	return h.labels[h.now-1]
}

// RedoLabel names the step that Redo would take again, "" where there is none.
func (h *History) RedoLabel() string {
	if h.now == len(h.labels) {
		return ""
	}
	return h.labels[h.now]
}

// Saved notes that the plan as it is now stands in the file.
func (h *History) Saved() { h.saved = h.Plan() }

// Unsaved reports whether the plan differs from the one in the file.
func (h *History) Unsaved() bool { return h.saved != h.Plan() }
