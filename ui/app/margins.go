package app

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"pleach/model"
	"pleach/model/analysis"
)

// contours are the margins drawn over the map: what is asked for, and what was
// worked out last. It is used on the window's goroutine.
type contours struct {
	height float64 // metres; 0: none
	found  *analysis.Margins
	plan   *model.Plan // they hold for
	cancel context.CancelFunc
}

// contourHeights are the heights of antenna that are offered, metres. Chosen.
var contourHeights = []float64{1, 2, 3, 4, 6, 10}

// stop breaks the work off.
func (c *contours) stop() {
	if c.cancel != nil {
		c.cancel()
		c.cancel = nil
	}
}

// marginChoices are the items that draw margin contours.
func (w *window) marginChoices() []*command {
	choice := func(label string, height float64) *command {
		return &command{label: label, on: func() bool { return w.contours.height == height }, do: func() {
			w.contours.stop()
			w.contours.height, w.contours.found = height, nil
			w.compose()
			w.seekMargins()
			w.commands.update()
		}}
	}
	out := []*command{choice("None", 0)}
	for _, h := range contourHeights {
		out = append(out, choice(fmt.Sprintf("of an antenna %g m up", h), h))
	}
	return out
}

// seekMargins works the contours out behind the window where they are asked for and
// the last ones are of another plan. They take seconds: the status line tells how
// far they are, and the next edit breaks them off.
func (w *window) seekMargins() {
	c, r := &w.contours, w.an.last
	if c.height == 0 || r == nil || w.ed.Drafting() || r.Plan != w.ed.Plan() || c.found != nil && c.plan == r.Plan || c.cancel != nil && c.plan == r.Plan {
		return
	}
	c.stop()
	c.found, c.plan = nil, r.Plan
	if !analysis.HasMargins(r) {
		w.say("Margin contours want a receiver and a closed boundary.")
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	c.cancel = cancel
	asked, serial := analysis.MarginsAsked{Height: c.height}, w.an.serial
	var told atomic.Int64
	begun := time.Now()
	progress := func(done, of int) {
		const each = 250 * time.Millisecond
		if n := int64(time.Since(begun) / each); n > told.Load() && told.Swap(n) < n && ctx.Err() == nil {
			fyne.Do(func() {
				if ctx.Err() == nil {
					w.say(fmt.Sprintf("Margin contours of an antenna %g m up: %d %%. An edit breaks them off.", asked.Height, 100*done/of))
				}
			})
		}
	}
	var found *analysis.Margins
	var err error
	w.an.behind(func() { found, err = analysis.MarginsOver(ctx, r, asked, progress) }, func() {
		stopped := ctx.Err() != nil
		cancel()
		if stopped || serial != w.an.serial || err != nil || c.plan != r.Plan {
			return
		}
		c.found, c.cancel = found, nil
		w.compose()
		w.say(fmt.Sprintf("Margins of an antenna %g m up, buildings and trees counted; ticks where the link has less than it must have: %.0f dB in the open, %.0f dB past obstacles or through trees.", asked.Height, found.Wanted, found.Behind))
	})
}
