package paint

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// stroker enters strokes into a raster, in pixels. Every piece runs the same
// way round, so pieces that overlap cover once.
type stroker struct {
	r    *raster
	half float64
	cap  drawing.Cap
	step float64 // radians between the points of a round join

	ax, ay float64 // normal of the last segment, half a stroke long
	open   bool    // a segment has been entered since the last start
	px, py float64 // its end
}

func (s *stroker) width(w float64) {
	s.half = w / 2
	s.step = 2 * math.Acos(1-math.Min(0.12/math.Max(s.half, 0.12), 1))
	s.step = math.Max(s.step, 0.2)
}

func (s *stroker) quad(ax, ay, bx, by, nx, ny float64) {
	r := s.r
	r.edge(ax+nx, ay+ny, bx+nx, by+ny)
	r.edge(bx+nx, by+ny, bx-nx, by-ny)
	r.edge(bx-nx, by-ny, ax-nx, ay-ny)
	r.edge(ax-nx, ay-ny, ax+nx, ay+ny)
}

// fan fills the sector at p from normal (ax, ay) turning by angle.
func (s *stroker) fan(px, py, ax, ay, angle float64) {
	n := int(math.Abs(angle)/s.step) + 1
	sin, cos := math.Sincos(angle / float64(n))
	x, y := ax, ay
	var fx, fy = px, py
	put := func(tx, ty float64) {
		// A turn to the other side is walked backwards, to run the same way round.
		if angle < 0 {
			s.r.edge(fx, fy, tx, ty)
		} else {
			s.r.edge(tx, ty, fx, fy)
		}
		fx, fy = tx, ty
	}
	put(px+x, py+y)
	for i := 0; i < n; i++ {
		x, y = x*cos-y*sin, x*sin+y*cos
		put(px+x, py+y)
	}
	put(px, py)
}

// join rounds the outside of the corner at p between two normals.
func (s *stroker) join(px, py, bx, by float64) {
	cross := s.ax*by - s.ay*bx
	dot := s.ax*bx + s.ay*by
	angle := math.Atan2(cross, dot)
	if math.Abs(angle)*s.half < 0.25 {
		return
	}
	// The outside is on the side away from the turn.
	if angle > 0 {
		s.fan(px, py, -s.ax, -s.ay, angle)
	} else {
		s.fan(px, py, s.ax, s.ay, angle)
	}
}

// segment enters a-b, joined to the one before if it ended at a.
func (s *stroker) segment(a, b orb.Point) {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l := math.Hypot(dx, dy)
	if l < 1e-6 {
		return
	}
	nx, ny := -dy/l*s.half, dx/l*s.half
	if s.open {
		s.join(a[0], a[1], nx, ny)
	} else if s.cap == drawing.Round {
		s.fan(a[0], a[1], nx, ny, math.Pi)
	}
	s.quad(a[0], a[1], b[0], b[1], nx, ny)
	s.ax, s.ay, s.px, s.py, s.open = nx, ny, b[0], b[1], true
}

// end closes an open stroke with its cap.
func (s *stroker) end() {
	if s.open && s.cap == drawing.Round {
		s.fan(s.px, s.py, -s.ax, -s.ay, math.Pi)
	}
	s.open = false
}

// stroke enters a path, closed when first and last are the same, solid or
// dashed. Pieces outside the raster are stepped over, but counted.
func (s *stroker) stroke(path []orb.Point, dash []float64) {
	pad := s.half + 2
	x1, y1 := float64(s.r.w)+pad, float64(s.r.h)+pad
	outside := func(a, b orb.Point) bool {
		return a[0] < -pad && b[0] < -pad || a[1] < -pad && b[1] < -pad || a[0] > x1 && b[0] > x1 || a[1] > y1 && b[1] > y1
	}
	var period float64
	for _, d := range dash {
		period += d
	}
	if !(period > 0.5) {
		n := len(path)
		loop := n > 3 && path[0] == path[n-1]
		if loop {
			// The corner at the start is joined by coming from the last segment.
			for i := n - 1; i > 0; i-- {
				dx, dy := path[i][0]-path[i-1][0], path[i][1]-path[i-1][1]
				if l := math.Hypot(dx, dy); l > 1e-6 {
					s.ax, s.ay, s.open = -dy/l*s.half, dx/l*s.half, true
					break
				}
			}
		}
		for i := 1; i < n; i++ {
			if outside(path[i-1], path[i]) {
				s.end()
				continue
			}
			s.segment(path[i-1], path[i])
		}
		if loop {
			s.open = false
		}
		s.end()
		return
	}
	pos := 0.0 // along the path
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		l := math.Hypot(b[0]-a[0], b[1]-a[1])
		if l < 1e-9 {
			continue
		}
		t0, t1, in := clip(a, b, -pad, -pad, x1, y1)
		if !in {
			s.open = false
			pos += l
			continue
		}
		at := func(d float64) orb.Point { return orb.Point{a[0] + (b[0]-a[0])*d/l, a[1] + (b[1]-a[1])*d/l} }
		from, to := t0*l, t1*l
		if from > 0 {
			s.open = false
		}
		for from < to-1e-9 {
			on, left := phase(dash, period, pos+from)
			next := math.Min(from+math.Max(left, 1e-6), to)
			if on {
				s.segment(at(from), at(next))
			}
			if !on || left <= next-from+1e-9 {
				s.end()
			}
			from = next
		}
		if to < l {
			s.open = false
		}
		pos += l
	}
	s.end()
}

// phase tells whether a dash is on at a place and how long it stays so.
func phase(dash []float64, period, at float64) (on bool, left float64) {
	at = math.Mod(at, period)
	on = true
	for _, d := range dash {
		if at < d-1e-9 {
			return on, d - at
		}
		at -= d
		on = !on
	}
	return true, dash[0]
}

// clip returns the share of a-b that lies in the box.
func clip(a, b orb.Point, x0, y0, x1, y1 float64) (t0, t1 float64, ok bool) {
	t0, t1 = 0, 1
	for axis, span := range [2][2]float64{{x0, x1}, {y0, y1}} {
		p, d := a[axis], b[axis]-a[axis]
		if d == 0 {
			if p < span[0] || p > span[1] {
				return 0, 0, false
			}
			continue
		}
		u, v := (span[0]-p)/d, (span[1]-p)/d
		t0, t1 = math.Max(t0, math.Min(u, v)), math.Min(t1, math.Max(u, v))
	}
	return t0, t1, t0 < t1
}
