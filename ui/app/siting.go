package app

import (
	"context"
	"strings"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/siting"
	"pleach/ui/drawing"
	"pleach/ui/panel"
)

// sites are the places for repeaters: the search that runs, and what the last one
// found. It is used on the window's goroutine.
type sites struct {
	found  *siting.Found
	plan   *model.Plan // they hold for
	cancel context.CancelFunc
}

// stop breaks the search off.
func (s *sites) stop() {
	if s.cancel != nil {
		s.cancel()
		s.cancel = nil
	}
}

// hookSiting lets the panel of places for repeaters act.
func (w *window) hookSiting() {
	w.siting.Start = w.seekSites
	w.siting.Stop = func() {
		w.sites.stop()
		w.siting.Clear("Broken off.")
	}
	w.siting.Go = func(at orb.Point) { w.chart.GoTo(at, 0.3) }
	w.siting.Apply = func(e model.Edit) {
		w.ed.Settle()
		if err := w.ed.Do(e); err != nil {
			w.say(panel.Sentence(err.Error()))
			return
		}
		var ids []string
		for _, p := range e.(model.Together).Edits {
			for _, f := range p.(model.Add).Features {
				ids = append(ids, f.ID)
			}
		}
		w.ed.Select(ids...)
		is := " is"
		if len(ids) > 1 {
			is = " are"
		}
		w.siting.Clear(strings.Join(ids, ", ") + is + " placed, in one step of Undo.")
	}
}

// findSites opens the panel and looks for places.
func (w *window) findSites(wanted panel.Wanted) {
	w.ed.Settle()
	if !w.prefs.BoolWithFallback(prefPanels, true) {
		w.toggle(prefPanels)
	}
	w.sections["siting"].SetOpen(true, true)
	w.siting.For(wanted)
}

// canFindSites reports whether there is something to look for.
func (w *window) canFindSites() bool {
	p := w.ed.Settled()
	return len(p.Of(model.KindSensor)) > 0 && len(p.Of(model.KindReceiver)) > 0
}

// seekSites looks for places for repeaters behind the window. The panel tells how
// far it is, and the next edit breaks it off.
func (w *window) seekSites(o siting.Options) {
	w.ed.Settle()
	s, r := &w.sites, w.an.last
	if r == nil || r.Plan != w.ed.Plan() {
		w.siting.Clear("The analysis still runs: look again in a moment.")
		return
	}
	s.stop()
	s.found, s.plan = nil, r.Plan
	w.compose()
	ctx, cancel := context.WithCancel(context.Background())
	s.cancel = cancel
	serial, begun := w.an.serial, time.Now()
	var told atomic.Int64
	progress := func(proposed, done, of int) {
		const each = 250 * time.Millisecond
		if n := int64(time.Since(begun) / each); n > told.Load() && told.Swap(n) < n && ctx.Err() == nil {
			fyne.Do(func() {
				if ctx.Err() == nil {
					w.siting.Progress(proposed, done, of)
				}
			})
		}
	}
	var found *siting.Found
	var err error
	w.an.behind(func() { found, err = siting.Find(ctx, r, o, progress) }, func() {
		stopped := ctx.Err() != nil
		cancel()
		if stopped || serial != w.an.serial || s.plan != r.Plan {
			return
		}
		s.cancel = nil
		if err != nil {
			w.siting.Clear(panel.Sentence(err.Error()))
			return
		}
		s.found = found
		w.siting.Show(found, r.Plan)
		w.tellSites()
		w.compose()
		w.seeSites()
	})
}

// tellSites takes away what was found for a plan that has changed since.
func (w *window) tellSites() {
	s := &w.sites
	if s.plan != nil && s.plan != w.ed.Plan() && !w.ed.Drafting() {
		found := s.found != nil
		s.stop()
		*s = sites{}
		why := "The plan has changed: look again."
		if !found {
			why = "Broken off: the plan has changed."
		}
		w.siting.Clear(why)
	}
	w.sections["siting"].SetCount(w.siting.Words())
}

// proposed are the places that the map shows.
func (w *window) proposed() (out []drawing.Proposed) {
	s := &w.sites
	if s.found == nil || s.plan != w.ed.Plan() {
		return nil
	}
	for _, p := range s.found.Proposals {
		x := drawing.Proposed{ID: p.ID, At: p.Place.At}
		for _, m := range p.Mends {
			x.Mends = append(x.Mends, m.ID)
		}
		out = append(out, x)
	}
	return out
}

// seeSites brings the places and the sensors they mend into view.
func (w *window) seeSites() {
	s := &w.sites
	if s.found == nil || len(s.found.Proposals) == 0 {
		return
	}
	var all orb.MultiPoint
	for _, p := range s.found.Proposals {
		all = append(all, p.Place.At)
		for _, m := range p.Mends {
			if at, ok := w.ed.Plan().Feature(m.ID).Geometry.(orb.Point); ok {
				all = append(all, w.ed.Grid().ToSite(at))
			}
		}
	}
	b := all.Bound()
	if v := w.chart.View().Bound(); !v.Contains(b.Min) || !v.Contains(b.Max) {
		w.chart.Fit(b.Pad(20))
	}
}

// seePanel scrolls the panels so that all of an open one is in view, or as much as
// there is room for.
func (w *window) seePanel(key string, panels *container.Scroll) {
	s := w.sections[key]
	if !s.Open() {
		return
	}
	top, high := s.Position().Y, s.Size().Height
	y := min(max(panels.Offset.Y, top+high-panels.Size().Height), top)
	if y != panels.Offset.Y {
		panels.ScrollToOffset(fyne.NewPos(0, y))
	}
}
