package app

import (
	"context"
	"time"

	"fyne.io/fyne/v2"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

// analyse is the engine: a plan on a site grid and the result before in, the
// result out.
type analyse func(ctx context.Context, sc *scene.Scene, before *analysis.Result) (*analysis.Result, error)

// quick is how long an analysis may take to be run within a step of a drag.
const quick = 10 * time.Millisecond

// behind does work that takes its time, then what follows from it, on the
// window's goroutine.
type behind func(work, then func())

// inBackground is behind, in a goroutine.
func inBackground(work, then func()) {
	go func() {
		work()
		fyne.Do(then)
	}()
}

// analyst runs the engine for the plan that is shown: at once while that is
// quick, else in a goroutine, one at a time. It is used on the window's
// goroutine.
type analyst struct {
	run  analyse
	done func(*analysis.Result) // on the window's goroutine
	fail func(error)

	grid   func() sitegrid.Grid // of the view
	folder func() string        // of the plan
	ground grounds
	behind behind

	said   []model.Finding // of the files, beside the result
	last   *analysis.Result
	took   time.Duration
	wanted *model.Plan
	cancel context.CancelFunc
	busy   bool
	serial int // of the plan file: results for another are dropped
}

// reset forgets everything: another plan is open.
func (a *analyst) reset() {
	a.serial++
	if a.cancel != nil {
		a.cancel()
	}
	a.last, a.wanted, a.busy, a.took, a.said = nil, nil, false, 0, nil
}

// want asks for the result of p. draft says that p is a step of a drag: it may
// be superseded but is not broken off, so that something is shown on the way.
func (a *analyst) want(p *model.Plan, draft bool) {
	if a.last != nil && a.last.Plan == p {
		a.wanted = nil
		if a.cancel != nil {
			a.cancel() // what is under way is for a drag that was forgotten
		}
		return
	}
	a.wanted = p
	if a.busy {
		if !draft && a.cancel != nil {
			a.cancel()
		}
		return
	}
	if a.last != nil && a.took < quick && a.ground.holds(a.folder(), p, a.grid()) {
		a.here(p)
		return
	}
	a.start()
}

// here runs the engine at once.
func (a *analyst) here(p *model.Plan) {
	a.wanted = nil
	t := time.Now()
	sc, _ := a.ground.lay(a.folder(), p, a.grid(), a.last.Scene)
	if p.Settings.Terrain == nil {
		a.said = nil
	}
	r, err := a.run(context.Background(), sc, a.last)
	a.took = time.Since(t)
	a.finish(r, err)
}

func (a *analyst) start() {
	p, before, serial, grid, folder := a.wanted, a.last, a.serial, a.grid(), a.folder()
	a.wanted = nil
	ctx, cancel := context.WithCancel(context.Background())
	a.cancel, a.busy = cancel, true
	var laid *scene.Scene
	if before != nil {
		laid = before.Scene
	}
	var r *analysis.Result
	var err, noGround error
	var said []model.Finding
	var took time.Duration
	a.behind(func() {
		t := time.Now()
		var sc *scene.Scene
		sc, noGround = a.ground.lay(folder, p, grid, laid)
		if p.Settings.Terrain != nil {
			said = a.ground.words()
		}
		r, err = a.run(ctx, sc, before)
		took = time.Since(t)
	}, func() {
		stopped := ctx.Err() != nil
		cancel()
		if serial != a.serial {
			return
		}
		a.busy, a.took, a.said = false, took, said
		if !stopped {
			a.finish(r, err)
			if noGround != nil {
				a.fail(noGround)
			}
		}
		if a.wanted != nil {
			a.start()
		}
	})
}

func (a *analyst) finish(r *analysis.Result, err error) {
	if err != nil {
		a.fail(err)
		return
	}
	if r != nil {
		a.last = r
		a.done(r)
	}
}
