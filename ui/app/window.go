package app

import (
	"fmt"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/picture"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
	"pleach/ui/editor"
	"pleach/ui/mapview"
	"pleach/ui/panel"
)

// window is the planner's one window.
type window struct {
	app   fyne.App
	win   fyne.Window
	look  *panel.Look
	prefs fyne.Preferences

	path     string         // of the plan, "" before it is saved
	origin   string         // the folder of the files it was made of, "" for none
	onDisk   planfile.Stamp // the plan's file as it was read or written last
	other    bool           // another program has written the file since
	safe     safe
	starting bool   // the first plan is being opened
	homeOf   string // files that say where a plan without features lies
	ed       *editor.Editor
	an       analyst
	ways     wayfinder
	seeker   seeker
	contours contours
	sites    sites
	chart    *mapview.Map
	show     drawing.Show

	tools    *panel.Tools
	details  *panel.Details
	signal   *panel.Signal
	levels   *panel.Levels
	findings *panel.Findings
	siting   *panel.Siting
	features *panel.Features
	titles   *panel.Settings
	settings *panel.Settings
	radio    *panel.Radio
	models   *panel.Models
	records  *panel.Records
	diagram  *panel.Diagram
	axis     *panel.Axis
	link     *panel.LinkView // in place of the section where a link is chosen
	linkWas  [2]string       // shown before
	linkShut bool            // the section was closed while it showed a link
	axisPart *panel.Section
	axisEdge *panel.Edge
	laid     *scene.Scene // of a draft that the result lags behind
	strip    *fyne.Container
	dock     *panel.Dock
	docked   *fyne.Container
	leaves   *panel.Leaves // at the right
	sections map[string]*panel.Section
	cursor   orb.Point // the place the diagram points to, on the site grid
	pointing bool

	status *panel.Line
	where  *panel.Line

	commands *commands

	pic     *picture.Picture
	picGrid sitegrid.Grid
	picFor  *model.BaseMap
	picBusy bool
	fitted  bool            // to the plan
	side    *fyne.Container // in place of all but the status line, while a picture is placed
	place   *placing
	empty   fyne.CanvasObject
	helpWin fyne.Window
	veil    *panel.Slider
	over    bool // the status line says what the pointer is over
	lineRow *fyne.Container
	lines   *panel.Pick // which boundary the diagram shows
	posture int         // whose coverage is drawn: 0 the target's
}

const (
	defaultWidth, defaultHeight = 1600, 1000
)

// What the panels at the right hold: what is worked at all the time, and what the
// plan says as a whole.
const designLeaf, planLeaf = 0, 1

// newWindow makes the window; bg is how work is done behind it.
func newWindow(a fyne.App, bg behind) *window {
	w := &window{app: a, prefs: a.Preferences()}
	w.look = newLook(w.prefs)
	a.Settings().SetTheme(w.look)
	w.win = a.NewWindow("pleach")
	w.win.SetMaster()
	w.win.SetIcon(icon())
	w.win.SetOnDropped(func(_ fyne.Position, files []fyne.URI) {
		if len(files) == 1 && !w.modal() {
			w.dropped(files[0].Path())
		}
	})
	w.win.Resize(fyne.NewSize(defaultWidth, defaultHeight))
	w.win.SetPadded(false)
	w.an = analyst{run: analysis.RunOn, behind: bg, grid: func() sitegrid.Grid { return w.ed.Grid() }, folder: w.folder, done: w.analysed, fail: func(err error) { w.say(err.Error()) }}
	w.ed = editor.New(model.NewPlan())
	w.chart = mapview.New(w.ed, w.theme())
	w.chart.Layers.Veil = w.prefs.FloatWithFallback(prefVeil, 0.25)
	w.chart.OnMenu = w.contextMenu
	w.chart.OnPointer = w.pointed
	w.build()
	w.commands = newCommands(w)
	w.commands.install()
	w.win.SetCloseIntercept(w.close)
	w.adopt(w.ed.Plan(), "")
	return w
}

func (w *window) theme() *drawing.Theme { return w.look.Theme(w.app.Settings().ThemeVariant()) }

// build puts the window together.
func (w *window) build() {
	ed := func() *editor.Editor { return w.ed }
	last := func() *analysis.Result { return w.an.last }
	w.tools = panel.NewTools(w.look, ed)
	w.details = panel.NewDetails(w.look, ed, last)
	w.signal = panel.NewSignal(ed, last)
	w.signal.Choose = w.chooseSeries
	w.levels = panel.NewLevels(w.look, ed, last)
	w.levels.Add = w.readings
	w.findings = panel.NewFindings()
	w.findings.Go = w.goToFinding
	w.hookFindings()
	w.siting = panel.NewSiting()
	w.hookSiting()
	w.features = panel.NewFeatures(w.look, ed, last)
	w.features.Go = func(id string) {
		w.win.Canvas().Unfocus()
		w.goToFeature(id)
	}
	w.titles = panel.NewSettings(ed, panel.TitleBlock)
	w.records = panel.NewRecords(ed)
	w.settings = panel.NewSettings(ed, func(p string) bool { return !panel.TitleBlock(p) && !model.ForSheets(p) && !panel.OfRadio(p) })
	w.radio, w.models = panel.NewRadio(ed), panel.NewModels(ed)

	w.sections = map[string]*panel.Section{}
	section := func(leaf int, key, title string, body fyne.CanvasObject, open bool) *panel.Section {
		s := panel.NewSection(title, body, w.prefs.BoolWithFallback(prefSection+key, open))
		s.Grow = true
		s.Toggle = func(open bool) {
			w.prefs.SetBool(prefSection+key, open)
			if open {
				w.leaves.Turn(leaf)
			}
			w.signal.Update()
			w.levels.Update()
			w.leaves.Object.Refresh()
			w.docked.Refresh()
		}
		w.sections[key] = s
		return s
	}
	design := container.New(&panel.Stack{Least: 90},
		section(designLeaf, "details", "Details", w.details.Object, true), panel.Rule(),
		section(designLeaf, "signal", "Signal against the walk test", w.signal.Object, false), panel.Rule(),
		section(designLeaf, "levels", "Radio levels read on site", w.levels.Object, false), panel.Rule(),
		section(designLeaf, "findings", "Findings", w.findings.Object, true), panel.Rule(),
		section(designLeaf, "siting", "Places for a repeater", w.siting.Object, false), panel.Rule(),
		section(designLeaf, "features", "In the plan", w.features.Object, false), panel.Rule())
	plan := container.New(&panel.Stack{Least: 90},
		section(planLeaf, "titles", "Title block", w.titles.Object, true), panel.Rule(),
		section(planLeaf, "records", "Quotation, contacts, spares, revisions", w.records.Object, false), panel.Rule(),
		section(planLeaf, "radio", "Radio: figures, rules, readings", w.radio.Object, false), panel.Rule(),
		section(planLeaf, "models", "Sensor models", w.models.Object, false), panel.Rule(),
		section(planLeaf, "settings", "Settings of the analysis", w.settings.Object, false), panel.Rule())
	// Each scrolls where the section on the axis leaves too little height for it.
	scroll := container.NewVScroll(design)
	w.leaves = panel.NewLeaves(w.prefs.IntWithFallback(prefLeaf, designLeaf), panel.Leaf{Title: "Design", Body: scroll}, panel.Leaf{Title: "Plan", Body: container.NewVScroll(plan)})
	w.leaves.Turned = func(i int) {
		w.prefs.SetInt(prefLeaf, i)
		w.signal.Update()
		w.levels.Update()
	}
	panels := w.leaves.Object

	w.dock = &panel.Dock{Tools: 188 * w.look.Scale(), Panels: float32(w.prefs.FloatWithFallback(prefWidth, 340))}
	edge := panel.NewEdge()
	edge.Moved = func(dx float32) {
		w.dock.Panels = min(max(w.dock.Panels-dx, 220), 720)
		w.docked.Refresh()
	}
	edge.Done = func() { w.prefs.SetFloat(prefWidth, float64(w.dock.Panels)) }
	left := container.NewBorder(nil, nil, nil, panel.Rule(), w.tools.Object)
	w.empty = w.emptyCard()
	w.docked = container.New(w.dock, left, container.NewStack(w.chart, w.empty), edge, panels)
	w.details.Resized = design.Refresh
	w.sections["details"].Need = w.details.Need
	w.sections["details"].Floor = func() float32 { return min(w.details.Need(), 280*w.look.Scale()) }
	w.sections["findings"].Floor = w.findings.Floor
	w.sections["titles"].Need = w.titles.Need
	w.signal.Resized = design.Refresh
	w.sections["signal"].Need = w.signal.Need
	w.sections["signal"].Floor = func() float32 { return min(w.signal.Need(), 280*w.look.Scale()) }
	w.signal.Shown = w.sections["signal"].Open
	w.levels.Resized = design.Refresh
	w.sections["levels"].Need = w.levels.Need
	w.sections["levels"].Floor = func() float32 { return min(w.levels.Need(), 280*w.look.Scale()) }
	w.levels.Shown = w.sections["levels"].Open
	w.siting.Resized = func() {
		design.Refresh()
		w.docked.Refresh()
		w.seePanel("siting", scroll)
	}
	w.sections["siting"].Need = w.siting.Need
	w.sections["siting"].Floor = func() float32 { return min(w.siting.Need(), 280*w.look.Scale()) }
	if !w.prefs.BoolWithFallback(prefTools, true) {
		left.Hide()
	}
	if !w.prefs.BoolWithFallback(prefPanels, true) {
		panels.Hide()
		edge.Hide()
	}

	w.diagram = panel.NewDiagram(w.look)
	w.diagram.Over = func(at orb.Point, s float64, on bool) {
		w.cursor, w.pointing = at, on
		if on {
			w.where.SetText(fmt.Sprintf("%.1f m along %s", s, w.diagram.Boundary()))
		} else {
			w.where.SetText("")
		}
		w.chart.Repaint()
	}
	w.diagram.Go = func(at orb.Point, id string) {
		if id != "" {
			w.ed.Select(id)
		}
		w.chart.GoTo(at, 0.15)
	}
	w.lines = panel.NewPick()
	w.lines.Commit = func(v any) error { w.diagram.ShowBoundary(v.(string)); w.lines.Set(v, "", false); return nil }
	w.lineRow = container.New(&panel.Corner{Width: 240}, w.lines)
	w.strip = container.NewBorder(container.NewVBox(panel.Rule(), w.lineRow), nil, nil, nil, w.diagram)
	w.strip.Hidden = true
	w.diagram.Height = func() {
		if c := w.win.Content(); c != nil {
			c.Refresh()
		}
	}
	w.chart.Overlay = func(l *drawing.List, _ *mapview.Map) {
		if w.pointing {
			l.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.MarkKind, Meaning: drawing.CrossingCursor, At: w.cursor})
		}
	}

	w.status = panel.NewLine("", panel.ColorSoft, panel.SizeNameSmall).Cut()
	w.where = panel.NewLine("", panel.ColorSoft, panel.SizeNameSmall).Right()
	w.where.Least = 420 * w.look.Scale()
	w.veil = panel.NewSlider(w.chart.Layers.Veil, func(v float64) { w.setVeil(v) })
	picture := container.NewHBox(panel.NewLine("Picture", panel.ColorSoft, panel.SizeNameSmall), w.veil, panel.NewLine("Paper", panel.ColorSoft, panel.SizeNameSmall))
	bar := panel.Inset(container.NewBorder(nil, nil, nil, container.NewHBox(w.where, panel.Inset(picture, 16, 0, 0, 0)), w.status), 12, 4, 12, 4)
	w.side = container.NewStack()
	w.side.Hide()
	w.buildAxis()
	w.win.SetContent(container.New(w.floor(), container.NewStack(w.docked, w.side), w.axisPart, w.axisEdge, w.strip, container.NewVBox(panel.Rule(), bar)))
}

// goToFinding shows what a finding is about.
func (w *window) goToFinding(f model.Finding) {
	w.win.Canvas().Unfocus() // the list had it: keys are for the map again
	var ids []string
	for _, id := range f.Subject {
		if w.ed.Plan().Feature(id) != nil {
			ids = append(ids, id)
		}
	}
	if len(ids) > 0 {
		w.ed.Select(ids[0])
	}
	if l := linkOf(w.an.last, f); l != nil {
		w.goToLink(l)
		return
	}
	if f.At != nil {
		w.chart.GoTo(w.ed.Grid().ToSite(*f.At), 0.15)
		return
	}
	if len(ids) > 0 {
		w.goToFeature(ids[0])
	}
}

// goToFeature selects a feature and shows it.
func (w *window) goToFeature(id string) {
	w.ed.Select(id)
	f := w.ed.Plan().Feature(id)
	if f == nil || f.Geometry == nil {
		return
	}
	b := w.ed.Grid().Geometry(f.Geometry).Bound()
	v := w.chart.View()
	if vb := v.Bound(); vb.Contains(b.Min) && vb.Contains(b.Max) {
		return // it is in view already
	}
	if size := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]); size > 40 {
		w.chart.Fit(b)
		return
	}
	w.chart.GoTo(b.Center(), 0.2)
}

// adopt shows a plan that was opened or made; path is where it is kept, "" for
// nowhere yet.
func (w *window) adopt(p *model.Plan, path string) {
	if w.place != nil {
		w.endPlacing() // its picture was for the plan before
	}
	w.path, w.origin = path, ""
	w.onDisk, w.other, w.homeOf = planfile.Stamp{}, false, ""
	w.an.reset()
	w.ways.stop()
	w.ways = wayfinder{}
	w.seeker.of, w.seeker.next = nil, nil
	w.contours.stop()
	w.contours = contours{height: w.contours.height}
	w.sites.stop()
	w.sites = sites{}
	w.siting.Clear("")
	w.ed = editor.New(p)
	w.ed.Watch(w.changed)
	w.chart.SetEditor(w.ed)
	w.pic, w.picFor, w.picBusy = nil, nil, false
	w.chart.SetPicture(nil, sitegrid.Grid{})
	w.chart.Layers.SetList(nil, w.ed.Grid())
	w.fitted = false
	w.chart.Unfit()
	w.posture = 0
	w.changed(editor.PlanChanged | editor.SelectionChanged | editor.ToolChanged)
	w.fit()
}

// folder is where the plan's files are relative to.
func (w *window) folder() string {
	if w.path == "" {
		return "."
	}
	return filepath.Dir(w.path)
}

// findHome lays a plan without any feature where its picture or its terrain lies.
func (w *window) findHome() {
	p := w.ed.Settled()
	if hasPlaces(p) || p.Settings.BaseMap == nil && p.Settings.Terrain == nil {
		return
	}
	of := fmt.Sprintf("%s %+v %+v", w.folder(), p.Settings.BaseMap, p.Settings.Terrain)
	if of == w.homeOf {
		return
	}
	w.homeOf = of
	if at, known, _ := elevation.Home(w.folder(), p); known {
		w.ed.SetHome(at)
	}
}

// changed follows an event of the editor.
func (w *window) changed(c editor.Change) {
	if c&editor.PlanChanged != 0 {
		w.findHome()
	}
	w.chart.FollowGrid()
	if c&editor.PlanChanged != 0 {
		w.ways.stop()
		w.contours.stop()
		w.an.want(w.ed.Plan(), w.ed.Drafting())
		w.seekWays() // where the plan is that of the last result again
		w.follow()
	}
	if c&(editor.PlanChanged|editor.SelectionChanged) != 0 {
		w.compose()
	}
	if c&(editor.PlanChanged|editor.SelectionChanged) != 0 {
		w.tell()
	}
	if c&(editor.PlanChanged|editor.SavedChanged) != 0 {
		w.title()
		w.wantSafe()
	}
	if c&editor.ToolChanged != 0 {
		w.tools.Update()
	}
	if c&(editor.ToolChanged|editor.MessageChanged) != 0 || c&editor.PlanChanged != 0 && w.ed.Message() == "" {
		w.hint()
	}
	if c&editor.OverlayChanged != 0 && !w.ed.Busy() && w.ed.Tool() == editor.SelectTool {
		if words := w.overWords(); words != "" {
			w.say(words)
			w.over = true
		} else if w.over {
			w.over = false
			w.hint()
		}
	}
	if c&(editor.PlanChanged|editor.ToolChanged) != 0 {
		w.empty.(*fyne.Container).Hidden = !w.teaches()
	}
	w.commands.update()
	w.chart.Repaint()
}

// follow reads the picture anew where the plan names another, or where the site
// grid has moved.
func (w *window) follow() {
	bm := w.ed.Settled().Settings.BaseMap
	if bm == nil {
		if w.picFor != nil {
			w.picFor, w.pic = nil, nil
			w.chart.SetPicture(nil, sitegrid.Grid{})
		}
		return
	}
	if w.ed.Busy() || w.picBusy || samePicture(bm, w.picFor) && (w.pic == nil || near(w.picGrid, w.ed.Grid())) {
		return
	}
	w.loadPicture(*bm)
}

// near reports whether a picture laid on one grid lies right on another: site
// grids 20 m apart are turned against one another by less than a pixel.
func near(a, b sitegrid.Grid) bool {
	p := a.ToSite(orb.Point{b.Lon0, b.Lat0})
	const far = 20 // metres
	return p[0]*p[0]+p[1]*p[1] < far*far
}

func samePicture(a, b *model.BaseMap) bool {
	if a == nil || b == nil || a.File != b.File || a.CRS != b.CRS || len(a.Control) != len(b.Control) {
		return false
	}
	for i := range a.Control {
		if a.Control[i] != b.Control[i] {
			return false
		}
	}
	return true
}

// loadPicture reads the plan's aerial picture in the background.
func (w *window) loadPicture(bm model.BaseMap) {
	w.picBusy, w.picFor = true, &bm
	grid, folder, serial := w.ed.Grid(), w.folder(), w.an.serial
	w.picGrid = grid
	var l *imagery.Loaded
	var err error
	w.an.behind(func() { l, err = imagery.Load(ctx, folder, bm, grid, 0) }, func() {
		if serial != w.an.serial {
			return
		}
		w.picBusy = false
		if err != nil {
			w.pic = nil
			w.chart.SetPicture(nil, sitegrid.Grid{})
			w.showError("The aerial picture cannot be shown", err)
			return
		}
		w.pic = l.Picture
		w.chart.SetPicture(l.Picture, grid)
		w.fit()
		w.follow()
	})
}

func hasPlaces(p *model.Plan) bool {
	for _, f := range p.Features {
		if f.Geometry != nil {
			return true
		}
	}
	return false
}

// analysed takes a result in.
func (w *window) analysed(r *analysis.Result) {
	w.compose()
	w.tell()
	w.seekWays()
	w.seekMargins()
}

// tell brings the panels into line with plan and result.
func (w *window) tell() {
	w.details.Update()
	w.tellAxis()
	if w.ed.Busy() && w.ed.Drafting() {
		return // the lists wait until the drag is over
	}
	w.signal.Update()
	w.levels.Update()
	w.sections["levels"].SetCount(w.levels.Words())
	w.findings.Said = w.an.said
	w.findings.Set(w.ed.Plan().AllFlaws(), w.an.last)
	w.sections["findings"].SetCount(w.findings.Words())
	w.tellSites()
	w.features.Update()
	w.sections["features"].SetCount(w.features.Words())
	w.titles.Update()
	w.records.Update()
	w.settings.Update()
	w.radio.Update()
	w.models.Update()
}

// compose draws the plan as it is shown, with the last result.
func (w *window) compose() {
	r := w.an.last
	from, to, _ := w.ed.Link()
	in := drawing.Input{Selected: w.ed.Selected(), Link: [2]string{from, to}, Show: w.show, Posture: w.posture}
	grid := w.ed.Grid()
	switch {
	case r == nil:
		in.Scene = scene.On(w.ed.Plan(), grid)
	case r.Plan == w.ed.Plan():
		in.Scene, in.Result, grid = r.Scene, r, r.Scene.Grid
	case r.Scene.Grid == grid:
		// The result lags behind the drag: marks go where they are now.
		in.Scene, in.Result = w.sceneNow(), r
	default:
		in.Scene = scene.On(w.ed.Plan(), grid)
	}
	if w.ed.Drafting() {
		in.Live = in.Selected
	}
	in.Before = w.ways.before(grid)
	if c := &w.contours; c.found != nil && c.plan == w.ed.Plan() {
		in.Margins = c.found
	}
	in.Proposed = w.proposed()
	w.chart.SetList(drawing.Compose(in), grid)
	if w.showStrip() {
		w.win.Content().Refresh()
	}
	if r != nil {
		w.diagram.Set(r.Scene, r, in.Selected, w.posture)
		w.chooseLine(in.Selected)
	} else {
		w.diagram.Set(nil, nil, nil, 0)
	}
}

// showStrip shows the straight-line diagram where there is a boundary to show and
// it is wanted; it reports whether that is new.
func (w *window) showStrip() bool {
	r := w.an.last
	shown := r != nil && len(r.Boundaries) > 0 && w.prefs.BoolWithFallback(prefStrip, true) && w.docked.Visible()
	changed := shown == w.strip.Hidden
	w.strip.Hidden = !shown
	return changed
}

// chooseLine offers the boundaries for the diagram, where there are several, and
// shows the one that is selected.
func (w *window) chooseLine(selected []string) {
	ids := w.diagram.Boundaries()
	if several := len(ids) > 1; several == w.lineRow.Hidden {
		w.lineRow.Hidden = !several
		w.win.Content().Refresh()
	}
	for _, id := range ids {
		for _, s := range selected {
			if s == id {
				w.diagram.ShowBoundary(id)
			}
		}
	}
	w.lines.Options = nil
	for _, id := range ids {
		w.lines.Options = append(w.lines.Options, panel.Option{Value: id, Label: w.ed.Plan().Feature(id).Title()})
	}
	w.lines.Set(w.diagram.Boundary(), "", false)
}

// fit shows the whole plan the first time there is something to show.
func (w *window) fit() {
	if b, ok := w.extent(); ok && !w.fitted {
		w.fitted = true
		w.chart.Fit(b)
	}
}

// extent is the ground that matters: the boundaries and devices, without them
// every feature, else the picture.
func (w *window) extent() (orb.Bound, bool) {
	p := w.ed.Plan()
	for _, kinds := range [][]model.Kind{{model.KindBoundary, model.KindSensor, model.KindRepeater, model.KindReceiver}, model.Kinds} {
		var b orb.Bound
		some := false
		for _, f := range p.Features {
			if f.Geometry == nil {
				continue
			}
			for _, k := range kinds {
				if f.Kind == k {
					g := w.ed.Grid().Geometry(f.Geometry).Bound()
					if some {
						g = b.Union(g)
					}
					b, some = g, true
				}
			}
		}
		if some {
			return b, true
		}
	}
	if w.pic != nil {
		return w.pic.Bound(), true
	}
	return orb.Bound{}, false
}

// title shows the plan's name, with a mark where it differs from the file.
func (w *window) title() {
	name := w.name()
	if w.ed.Unsaved() {
		name += " (not saved)"
	}
	if name += " · pleach"; name != w.win.Title() {
		w.win.SetTitle(name)
	}
}

// name is what the plan is called.
func (w *window) name() string {
	if t := w.ed.Plan().Settings.Title; t != "" && w.path == "" {
		return t
	}
	if w.path == "" {
		return "New plan"
	}
	return filepath.Base(w.path)
}

// say shows a line at the bottom of the window.
func (w *window) say(s string) { w.status.SetText(s) }

// hint shows what the editor says, else how the tool is used.
func (w *window) hint() {
	if m := w.ed.Message(); m != "" {
		w.say(m)
		return
	}
	if w.ed.Tool() == editor.SelectTool {
		if w.other {
			w.say(w.otherWords())
			return
		}
		if next := nextStep(w.ed.Settled()); next != "" {
			w.say(next)
			return
		}
	}
	w.say(w.ed.Tool().Hint())
}

// nextStep says what a plan wants next, "" for one that has what it needs.
func nextStep(p *model.Plan) string {
	switch {
	case len(p.Of(model.KindBoundary)) == 0:
		return "Next: draw the line to be watched. Take Boundary in the list, or press B."
	case len(p.Of(model.KindSensor)) == 0:
		return "Next: place sensors along the boundary. Take Sensor in the list, or press S."
	case len(p.Of(model.KindReceiver)) == 0:
		return "Next: place the receiver, so that the radio links can be rated. Press C."
	}
	return ""
}

// pointed shows where the pointer is.
func (w *window) pointed(at orb.Point, on bool) {
	if !on {
		w.where.SetText("")
		return
	}
	ll := w.ed.Grid().ToLonLat(at)
	words := fmt.Sprintf("%.6f, %.6f", ll[0], ll[1])
	if s := w.chainage(at); s != "" {
		words = s + "   " + words
	}
	w.where.SetText(words)
}

// chainage says where a place lies along the nearest boundary.
func (w *window) chainage(at orb.Point) string {
	r := w.an.last
	if r == nil || r.Scene.Grid != w.ed.Grid() {
		return ""
	}
	best, s, id := 1e9, 0.0, ""
	for _, b := range r.Scene.Boundaries {
		if c, d := b.Nearest(at); d < best {
			best, s, id = d, c, b.Feature.Title()
		}
	}
	const far = 100 // metres
	if id == "" || best > far {
		return ""
	}
	return fmt.Sprintf("%s: %.1f m along, %.1f m off", id, s, best)
}
