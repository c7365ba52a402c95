package main

import "math"

// pt is a point in metres.
type pt struct{ x, y float64 }

func (a pt) add(b pt) pt         { return pt{a.x + b.x, a.y + b.y} }
func (a pt) sub(b pt) pt         { return pt{a.x - b.x, a.y - b.y} }
func (a pt) mul(k float64) pt    { return pt{a.x * k, a.y * k} }
func (a pt) len() float64        { return math.Hypot(a.x, a.y) }
func (a pt) unit() pt            { return a.mul(1 / a.len()) }
func (a pt) left() pt            { return pt{-a.y, a.x} }
func (a pt) turn(rad float64) pt { s, c := math.Sincos(rad); return pt{a.x*c - a.y*s, a.x*s + a.y*c} }
func dot(a, b pt) float64        { return a.x*b.x + a.y*b.y }

// line is an open chain of points; ring a closed one without a repeated end.
type (
	line []pt
	ring []pt
)

// box is a rectangle along the axes.
type box struct{ x0, y0, x1, y1 float64 }

func boxOf(ps []pt, margin float64) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, q := range ps {
		b.x0, b.x1 = math.Min(b.x0, q.x), math.Max(b.x1, q.x)
		b.y0, b.y1 = math.Min(b.y0, q.y), math.Max(b.y1, q.y)
	}
	return box{b.x0 - margin, b.y0 - margin, b.x1 + margin, b.y1 + margin}
}

func (b box) has(q pt) bool { return q.x >= b.x0 && q.x <= b.x1 && q.y >= b.y0 && q.y <= b.y1 }

func segDist2(q, a, b pt) (d2, t float64) {
	e, w := b.sub(a), q.sub(a)
	t = clamp(dot(w, e)/dot(e, e), 0, 1)
	d := w.sub(e.mul(t))
	return dot(d, d), t
}

// near returns the distance from q to the line, the length along it to the
// nearest point, and on which side q lies (+1 left).
func (l line) near(q pt) (dist, along, side float64) {
	best, s := math.Inf(1), 0.0
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		d2, t := segDist2(q, a, b)
		n := b.sub(a).len()
		if d2 < best {
			best, along = d2, s+t*n
			side = math.Copysign(1, dot(b.sub(a).left(), q.sub(a)))
		}
		s += n
	}
	return math.Sqrt(best), along, side
}

// at returns the point a length along the line, and the direction there.
func (l line) at(s float64) (pt, pt) {
	for i := 1; ; i++ {
		e := l[i].sub(l[i-1])
		n := e.len()
		if s <= n || i == len(l)-1 {
			return l[i-1].add(e.mul(s / n)), e.mul(1 / n)
		}
		s -= n
	}
}

func (l line) length() (s float64) {
	for i := 1; i < len(l); i++ {
		s += l[i].sub(l[i-1]).len()
	}
	return s
}

// inside returns the distance from q to the ring's edge, positive inside.
func (r ring) inside(q pt) float64 {
	best, in := math.Inf(1), false
	for i, b := range r {
		a := r[(i+len(r)-1)%len(r)]
		d2, _ := segDist2(q, a, b)
		best = math.Min(best, d2)
		if (a.y > q.y) != (b.y > q.y) && q.x < (b.x-a.x)*(q.y-a.y)/(b.y-a.y)+a.x {
			in = !in
		}
	}
	if in {
		return math.Sqrt(best)
	}
	return -math.Sqrt(best)
}

// within is the ring's inside with its level lines rounded at corners, as wheels
// that follow the edge round them off; soft is how much, in metres.
func (r ring) within(q pt, soft float64) float64 {
	sum := 0.0
	for i, b := range r {
		d2, _ := segDist2(q, r[(i+len(r)-1)%len(r)], b)
		sum += math.Exp(-math.Sqrt(d2) / soft)
	}
	return -soft * math.Log(sum)
}

// smoothed returns the line with its corners rounded by cutting, n times.
func (l line) smoothed(n int) line {
	for range n {
		out := line{l[0]}
		for i := 1; i < len(l); i++ {
			e := l[i].sub(l[i-1])
			if i > 1 {
				out = append(out, l[i-1].add(e.mul(0.25)))
			}
			if i < len(l)-1 {
				out = append(out, l[i-1].add(e.mul(0.75)))
			}
		}
		l = append(out, l[len(l)-1])
	}
	return l
}

// rect is a rectangle about a centre, turned by rad, long side along its own x.
type rect struct {
	c    pt
	l, w float64 // full length and width
	rad  float64
}

// local returns q in the rectangle's own axes.
func (r rect) local(q pt) pt { return q.sub(r.c).turn(-r.rad) }

func (r rect) ring() ring {
	var out ring
	for _, k := range []pt{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		out = append(out, r.c.add(pt{k.x * r.l / 2, k.y * r.w / 2}.turn(r.rad)))
	}
	return out
}
