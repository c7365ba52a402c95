package app

import (
	"context"

	"pleach/model/analysis"
	"pleach/model/sitegrid"
)

// wayfinder looks for the ways in to the assets and studies the radio net behind
// the window, one search at a time: it takes longer than an edit. It is used on the
// window's goroutine.
type wayfinder struct {
	last   *analysis.Ways   // found last, perhaps for the plan before an edit
	of     *analysis.Result // that is looked through, nil for none
	grid   sitegrid.Grid    // they lie on
	cancel context.CancelFunc
}

// stop breaks a search off.
func (f *wayfinder) stop() {
	if f.cancel != nil {
		f.cancel()
		f.cancel, f.of = nil, nil
	}
}

// before returns what was found for the plan before an edit, where it lies on grid.
func (f *wayfinder) before(grid sitegrid.Grid) *analysis.Ways {
	if f.grid != grid {
		return nil
	}
	return f.last
}

// seekWays looks for the ways in of the last result and studies its radio net, unless
// it is that of a drag.
func (w *window) seekWays() {
	r, serial := w.an.last, w.an.serial
	if r != nil && w.ways.of == r {
		return
	}
	w.ways.stop()
	if r == nil || w.ed.Drafting() || r.Plan != w.ed.Plan() {
		return
	}
	if !analysis.HasWays(r.Plan) {
		w.ways.last = nil
	}
	if (r.Ways != nil || !analysis.HasWays(r.Plan)) && (r.Study != nil || !analysis.HasStudy(r)) {
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	w.ways.cancel, w.ways.of = cancel, r
	var full *analysis.Result
	var err error
	w.an.behind(func() {
		if full, err = analysis.WithWays(ctx, r); err == nil {
			full, err = analysis.WithRadioStudy(ctx, full)
		}
	}, func() {
		stopped := ctx.Err() != nil
		cancel()
		if stopped || serial != w.an.serial || w.an.last != r {
			return
		}
		w.ways.stop()
		if err != nil {
			w.say(err.Error())
			return
		}
		w.an.last = full
		w.ways.last, w.ways.grid = full.Ways, full.Scene.Grid
		w.compose()
		w.tell()
	})
}
