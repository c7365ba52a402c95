package editor

import (
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
)

// Change says what an event changed; listeners get a set of them.
type Change uint8

// The changes.
const (
	PlanChanged      Change = 1 << iota // the plan or the draft is another
	SelectionChanged                    // what is selected
	ToolChanged                         // the tool in hand
	OverlayChanged                      // hover, handles, the outline being drawn
	SavedChanged                        // the plan was saved
	MessageChanged                      // Message says something else
)

// Editor is one open plan.
type Editor struct {
	history *model.History
	made    bool // the plan is in no file yet
	grid    sitegrid.Grid
	list    *drawing.List

	tool     Tool
	selected []string
	vertex   int       // of the single selected outline, -1 for none
	link     [2]string // the ends of the radio link that is chosen
	hover    Target
	pointer  orb.Point
	outline  []orb.Point // being drawn, site grid
	held     *held
	draft    *model.Plan
	message  string

	home orb.Point // longitude, latitude: where an empty plan lies

	laid     []scene.Boundary // of laidPlan on laidGrid
	laidPlan *model.Plan
	laidGrid sitegrid.Grid

	watchers []func(Change)
}

// New opens a plan.
func New(p *model.Plan) *Editor {
	e := &Editor{vertex: -1}
	e.history = model.NewHistory(p)
	e.followGrid()
	return e
}

// Watch has f called after each event that changed something.
func (e *Editor) Watch(f func(Change)) { e.watchers = append(e.watchers, f) }

func (e *Editor) tell(c Change) {
	if c == 0 {
		return
	}
	e.followLink()
	for _, f := range e.watchers {
		f(c)
	}
}

// Plan returns the plan as it is seen now: the draft while something is dragged.
func (e *Editor) Plan() *model.Plan {
	if e.draft != nil {
		return e.draft
	}
	return e.history.Plan()
}

// Settled returns the plan without the draft: what would be saved.
func (e *Editor) Settled() *model.Plan { return e.history.Plan() }

// Drafting reports whether a draft is shown.
func (e *Editor) Drafting() bool { return e.draft != nil }

// Busy reports whether something is held by the pointer.
func (e *Editor) Busy() bool { return e.held != nil }

// Grid returns the site grid of the places that come in and go out.
func (e *Editor) Grid() sitegrid.Grid { return e.grid }

// SetHome says where a plan without any feature lies, in longitude and latitude:
// the middle of its aerial picture.
func (e *Editor) SetHome(lonLat orb.Point) {
	e.home = lonLat
	e.followGrid()
}

// Show gives the editor the list that is on the screen: what can be picked is
// what is drawn.
func (e *Editor) Show(l *drawing.List) { e.list = l }

// followGrid lays the grid anew unless something is held.
func (e *Editor) followGrid() {
	if e.held != nil {
		return
	}
	p := e.history.Plan()
	at := e.home
	if e.home == (orb.Point{}) || anyPlace(p) {
		at[0], at[1] = scene.Origin(p)
	}
	if at[0] == e.grid.Lon0 && at[1] == e.grid.Lat0 {
		return
	}
	next := sitegrid.New(at[0], at[1])
	for i, v := range e.outline {
		e.outline[i] = next.ToSite(e.grid.ToLonLat(v))
	}
	e.grid = next
}

func anyPlace(p *model.Plan) bool {
	for _, f := range p.Features {
		if f.Geometry != nil {
			return true
		}
	}
	return false
}

// Do takes one step. What is held or drafted is dropped first.
func (e *Editor) Do(step model.Edit) error {
	e.letGo()
	if err := e.history.Do(step); err != nil {
		return err
	}
	e.tell(e.afterStep() | e.say(""))
	return nil
}

// afterStep brings grid and selection into line with a new plan.
func (e *Editor) afterStep() Change {
	e.draft = nil
	e.followGrid()
	c := PlanChanged | OverlayChanged
	p := e.history.Plan()
	kept := slices.DeleteFunc(slices.Clone(e.selected), func(id string) bool { return p.Feature(id) == nil })
	if len(kept) != len(e.selected) {
		e.selected, e.vertex = kept, -1
		c |= SelectionChanged
	}
	if f := e.single(); f == nil || e.vertex >= len(vertices(f.Geometry)) {
		e.vertex = -1
	}
	if e.hover.ID != "" && p.Feature(e.hover.ID) == nil {
		e.hover = Target{}
	}
	return c
}

// letGo ends a nudge, or what was tuned, as a step and forgets anything else that
// is held.
func (e *Editor) letGo() {
	if e.held == nil {
		return
	}
	h := e.held
	e.held = nil
	e.draft = nil
	switch {
	case (h.grip == gripNudge || h.grip == gripTune) && h.edit != nil:
		_ = e.history.Do(h.edit) // it was applied to this very plan before
		e.tell(e.afterStep())
	case h.grip == gripTune:
		e.tell(PlanChanged | OverlayChanged | e.say(""))
	}
}

// Undo takes the last step back; it reports false at the beginning.
func (e *Editor) Undo() bool { return e.step((*model.History).Undo) }

// Redo takes the next step again; it reports false at the end.
func (e *Editor) Redo() bool { return e.step((*model.History).Redo) }

func (e *Editor) step(f func(*model.History) bool) bool {
	e.letGo()
	if !f(e.history) {
		e.tell(PlanChanged)
		return false
	}
	e.tell(e.afterStep() | e.say("")) // what a drag did no longer holds
	return true
}

// UndoLabel and RedoLabel name the steps, "" where there is none.
func (e *Editor) UndoLabel() string { return e.history.UndoLabel() }

// RedoLabel names the step that Redo would take, "" where there is none.
func (e *Editor) RedoLabel() string { return e.history.RedoLabel() }

// Made notes that the plan was made and is in no file yet: it counts as not
// saved whatever is done or undone.
func (e *Editor) Made() {
	e.made = true
	e.tell(SavedChanged)
}

// Unsaved reports whether the plan differs from the one in the file.
func (e *Editor) Unsaved() bool { return e.made || e.history.Unsaved() }

// Saved notes that the plan as it is now stands in the file.
func (e *Editor) Saved() {
	e.made = false
	e.history.Saved()
	e.tell(SavedChanged)
}

// Selected returns the ids of what is selected.
func (e *Editor) Selected() []string { return slices.Clone(e.selected) }

// IsSelected reports whether the feature is selected.
func (e *Editor) IsSelected(id string) bool { return slices.Contains(e.selected, id) }

// Select selects features by id; none clears the selection.
func (e *Editor) Select(ids ...string) {
	if slices.Equal(ids, e.selected) && (len(ids) > 0 || e.link[0] == "") {
		return
	}
	if len(ids) == 0 {
		e.link = [2]string{}
	}
	e.selected, e.vertex = slices.Clone(ids), -1
	e.tell(SelectionChanged | OverlayChanged | e.say(""))
}

// Vertex returns the selected vertex of the selected outline, false for none.
func (e *Editor) Vertex() (index int, ok bool) { return e.vertex, e.vertex >= 0 }

// single returns the one selected feature, nil for none or several.
func (e *Editor) single() *model.Feature {
	if len(e.selected) != 1 {
		return nil
	}
	return e.Plan().Feature(e.selected[0])
}

// Message is what the editor has to say about the last event, "" for nothing.
func (e *Editor) Message() string { return e.message }

func (e *Editor) say(s string) Change {
	if s == e.message {
		return 0
	}
	e.message = s
	return MessageChanged
}
