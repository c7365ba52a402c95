package sun

import (
	"math"
	"slices"
	"time"

	"pleach/model"
)

// Between these elevations of its centre, without refraction, the sun is up and
// low. Rise is the upper limb on the horizon: 34 minutes of arc of refraction and
// 16 of the disc's radius (the convention of the almanacs). Low is the planner's
// limit, chosen.
const (
	Rise = -50. / 60
	Low  = 10.0
)

// Arc is a span of azimuths, in degrees: from From, clockwise from true north,
// over Width, 0 to 360.
type Arc struct{ From, Width float64 }

// Arcs returns the azimuths a sensor looks at: those of any of its lobes less
// those it is masked for, as arcs apart from each other, clockwise.
func Arcs(s *model.Sensor, m model.SensorModel) []Arc {
	var seen, masked []Arc
	for _, l := range m.Lobes {
		seen = append(seen, Arc{turn(s.Bearing + l.Azimuth - l.Width/2), math.Min(l.Width, 360)})
	}
	for _, k := range s.Masked {
		width := turn(k.To - k.From)
		if width == 0 && k.To != k.From {
			width = 360
		}
		masked = append(masked, Arc{turn(s.Bearing + k.From), width})
	}
	var cuts []float64
	for _, a := range slices.Concat(seen, masked) {
		cuts = append(cuts, a.From, turn(a.From+a.Width))
	}
	slices.Sort(cuts)
	cuts = slices.CompactFunc(cuts, func(a, b float64) bool { return math.Abs(a-b) < hair })
	if n := len(cuts); n > 1 && cuts[0]+360-cuts[n-1] < hair {
		cuts = cuts[:n-1]
	}
	var out []Arc
	before := false // the piece before is kept
	for i, from := range cuts {
		to := cuts[0] + 360
		if i+1 < len(cuts) {
			to = cuts[i+1]
		}
		middle := turn((from + to) / 2)
		keep := anyHolds(seen, middle) && !anyHolds(masked, middle)
		switch {
		case keep && before:
			out[len(out)-1].Width = to - out[len(out)-1].From
		case keep:
			out = append(out, Arc{from, to - from})
		}
		before = keep
	}
	if n := len(out); n > 1 && before && out[0].From == cuts[0] {
		out[0] = Arc{out[n-1].From, out[n-1].Width + out[0].Width}
		out = out[:n-1]
	}
	return out
}

// Sides nearer to each other than this, in degrees, are one: roundings apart.
const hair = 1e-9

func anyHolds(arcs []Arc, az float64) bool {
	return slices.ContainsFunc(arcs, func(a Arc) bool { return turn(az-a.From) <= a.Width })
}

// Spell is a row of consecutive days on each of which the sun stands low in a
// sensor's arcs at much the same hour.
//
// From and To are midnights of its first and last day. A spell that runs through
// the new year begins in the year asked for and ends in the next. Earliest and
// Latest are the earliest and the latest time of day over the whole spell, after
// midnight and below 24 hours, as clocks show it then: a spell ends where the
// clocks are changed. Latest is before Earliest where the clock passes midnight
// between them. Ahead is by how much the clock is ahead of UTC.
type Spell struct {
	From, To         time.Time
	Earliest, Latest time.Duration
	Ahead            time.Duration
	Days             int
}

// Track is the low sun of one year over one place.
type Track struct {
	start time.Time // local mean solar midnight at which the year begins
	loc   *time.Location
	days  [][]run
}

// run is an unbroken stretch of low sun within a day. Its azimuths lie within the
// hull.
type run struct {
	hull Arc
	legs []leg
}

// leg is a piece of the track: from t0 to t1, seconds since the day's mean solar
// midnight, the azimuth goes from az by turn degrees, evenly.
type leg struct{ t0, t1, az, turn float64 }

// A step of five minutes turns the sun by at most a degree and a quarter; between
// its ends the elevation bends by 0.003 degrees at most.
const (
	steps = 288
	step  = 86400.0 / steps // seconds
)

// Sines of elevations so far from those of a low sun that it is not low a step
// before or after either, which is 1.3 degrees at most.
var (
	wellAbove = math.Sin((Low + 2) * degree)
	wellBelow = math.Sin((Rise - 2) * degree)
)

// LowSun follows the low sun through a year at a longitude and a latitude in
// degrees. Days are counted from one local mean solar midnight to the next;
// dates and times are given in loc, UTC where it is nil. Times are right to half a
// minute where the sun climbs by more than 5 degrees an hour.
func LowSun(lon, lat float64, year int, loc *time.Location) *Track {
	if loc == nil {
		loc = time.UTC
	}
	first := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
	n := int(time.Date(year+1, 1, 1, 0, 0, 0, 0, time.UTC).Sub(first) / (24 * time.Hour))
	k := &Track{start: first.Add(-seconds(lon * 240)), loc: loc, days: make([][]run, n)}
	jd := julian(k.start)
	a := sky(jd)
	for d := range n {
		b := sky(jd + float64(d+1))
		k.days[d] = lowRuns(a, b, lon, lat)
		a = b
	}
	return k
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }

// lowRuns follows the sun through one day between the places at its ends. Over a
// day declination and right ascension bend by 0.001 degrees at most.
func lowRuns(a, b place, lon, lat float64) (out []run) {
	hour := math.Remainder(a.sidereal+lon-a.ascension, 360)
	whole := 360 + math.Remainder(b.sidereal+lon-b.ascension-hour, 360)
	bend := b.declination - a.declination
	sinL, cosL := math.Sincos(lat * degree)
	// Sine and cosine of the declination and of the hour angle are carried from
	// step to step: over a day the first bend by 0.0004 degrees at most.
	sinA, cosA := math.Sincos(a.declination * degree)
	sinB, cosB := math.Sincos(b.declination * degree)
	sinStep, cosStep := math.Sincos(whole / steps * degree)
	sinH, cosH := math.Sincos(hour * degree)
	at := func(i int) (el float64) {
		f := float64(i) / steps
		s := sinL*(sinA+f*(sinB-sinA)) + cosL*(cosA+f*(cosB-cosA))*cosH
		switch {
		case s > wellAbove:
			return 90
		case s < wellBelow:
			return -90
		}
		return math.Asin(s)/degree - parallax
	}
	azimuth := func(i int) float64 {
		f := float64(i) / steps
		az, _ := horizontal((hour+f*whole)*degree, (a.declination+f*bend)*degree, lat*degree)
		return az
	}
	open := false
	el := at(0)
	azAt, az0 := -1, 0.0 // the step whose azimuth is known already
	for i := range steps {
		sinH, cosH = sinH*cosStep+cosH*sinStep, cosH*cosStep-sinH*sinStep
		el1 := at(i + 1)
		f0, f1 := 1.0, 0.0
		if el != el1 || math.Abs(el) != 90 {
			f0, f1 = within(el, el1, Rise, Low)
		}
		if f0 < f1 {
			if azAt != i {
				az0 = azimuth(i)
			}
			az1 := azimuth(i + 1)
			by := math.Remainder(az1-az0, 360)
			l := leg{(float64(i) + f0) * step, (float64(i) + f1) * step, turn(az0 + f0*by), (f1 - f0) * by}
			if !open {
				out = append(out, run{})
			}
			r := &out[len(out)-1]
			r.legs = append(r.legs, l)
			azAt, az0 = i+1, az1
		}
		open = f0 < f1 && f1 == 1
		el = el1
	}
	for i := range out {
		r := &out[i]
		here := r.legs[0].az
		lo, hi := here, here
		for _, l := range r.legs {
			here += l.turn
			lo, hi = math.Min(lo, here), math.Max(hi, here)
		}
		r.hull = Arc{turn(lo), math.Min(hi-lo, 360)}
	}
	return out
}

// within returns between which fractions of the way from a to b a value lies
// between lo and hi; the second is not above the first where it never does.
func within(a, b, lo, hi float64) (f0, f1 float64) {
	if a == b {
		if a < lo || a > hi {
			return 1, 0
		}
		return 0, 1
	}
	f0, f1 = (lo-a)/(b-a), (hi-a)/(b-a)
	if f0 > f1 {
		f0, f1 = f1, f0
	}
	return max(f0, 0), min(f1, 1)
}

// Times of the same spell on one day, and from day to day, are no farther apart
// than this. Chosen: the fingers of a fan are then passed in one spell.
const together = 30 * 60 // seconds

// visit is a stretch of time within a day, in seconds since its mean solar midnight.
type visit struct{ t0, t1 float64 }

// visits returns when on day d the sun stands low within the arcs.
func (k *Track) visits(d int, arcs []Arc, buf []visit) []visit {
	buf = buf[:0]
	for i := range k.days[d] {
		r := &k.days[d][i]
		for _, a := range arcs {
			ahead := turn(r.hull.From - a.From)
			if ahead > a.Width && 360-ahead > r.hull.Width {
				continue
			}
			if ahead+r.hull.Width <= a.Width {
				buf = append(buf, visit{r.legs[0].t0, r.legs[len(r.legs)-1].t1})
				continue
			}
			for j := range r.legs {
				buf = r.legs[j].inside(a, buf)
			}
		}
	}
	if len(buf) < 2 {
		return buf
	}
	slices.SortFunc(buf, func(a, b visit) int {
		switch {
		case a.t0 < b.t0:
			return -1
		case a.t0 > b.t0:
			return 1
		}
		return 0
	})
	n := 1
	for _, v := range buf[1:] {
		if last := &buf[n-1]; v.t0-last.t1 <= together {
			last.t1 = math.Max(last.t1, v.t1)
		} else {
			buf[n] = v
			n++
		}
	}
	return buf[:n]
}

// inside appends when, along the leg, the azimuth lies within the arc.
func (l *leg) inside(a Arc, out []visit) []visit {
	if a.Width >= 360 {
		return append(out, visit{l.t0, l.t1})
	}
	u := turn(l.az - a.From)
	for _, u := range [2]float64{u, u - 360} {
		if max(u, u+l.turn) < 0 || min(u, u+l.turn) > a.Width {
			continue
		}
		if f0, f1 := within(u, u+l.turn, 0, a.Width); f0 < f1 {
			out = append(out, visit{l.t0 + f0*(l.t1-l.t0), l.t0 + f1*(l.t1-l.t0)})
		}
	}
	return out
}

// growing is a spell that may still go on: from its first to its last day, with
// the times of those, and the earliest and latest so far.
type growing struct {
	first, last int
	begin, end  visit
	hull        visit
	offset      float64 // of the clock to UTC, seconds
}

// In returns when the low sun stands within any of the arcs, by first day and hour.
func (k *Track) In(arcs []Arc) []Spell {
	all := k.absorb(k.throughNewYear(k.grow(arcs)))
	out := make([]Spell, len(all))
	for i, g := range all {
		out[i] = k.spell(g)
	}
	return out
}

// grow makes spells of the visits of the year, by first day and hour.
func (k *Track) grow(arcs []Arc) (all []growing) {
	var going []int // into all
	var buf []visit
	for d := range k.days {
		buf = k.visits(d, arcs, buf)
		for _, v := range buf {
			off := k.offset(d, v)
			i := slices.IndexFunc(going, func(i int) bool {
				g := &all[i]
				return g.last == d-1 && g.offset == off && meet(g.end, v)
			})
			if i < 0 {
				going = append(going, len(all))
				all = append(all, growing{d, d, v, v, v, off})
				continue
			}
			g := &all[going[i]]
			g.last, g.end = d, v
			g.hull = g.hull.with(v)
		}
		going = slices.DeleteFunc(going, func(i int) bool { return all[i].last < d })
	}
	return all
}

// absorb takes up spells into those that hold their days and, nearly, their hours:
// where the sun passes ten degrees about noon, a day has two visits for a while.
func (k *Track) absorb(all []growing) []growing {
	n := len(k.days)
	for i := range all {
		g := &all[i]
		if g.last < 0 {
			continue
		}
		for j := range all {
			h := &all[j]
			if i == j || h.last < 0 || h.offset != g.offset ||
				h.hull.t0 < g.hull.t0-together || h.hull.t1 > g.hull.t1+together {
				continue
			}
			if h.first >= g.first && h.last <= g.last || h.first+n >= g.first && h.last+n <= g.last {
				g.hull = g.hull.with(h.hull)
				h.last = -1
			}
		}
	}
	return slices.DeleteFunc(all, func(g growing) bool { return g.last < 0 })
}

// with returns the least visit that holds both.
func (v visit) with(w visit) visit { return visit{math.Min(v.t0, w.t0), math.Max(v.t1, w.t1)} }

// meet reports whether two visits overlap or are together.
func meet(a, b visit) bool { return b.t0-a.t1 <= together && a.t0-b.t1 <= together }

// throughNewYear joins what goes on in January as it ended in December; the sun
// of the next year is taken for that of this one.
func (k *Track) throughNewYear(all []growing) []growing {
	n := len(k.days)
	for i := range all {
		if all[i].last != n-1 {
			continue
		}
		j := slices.IndexFunc(all, func(g growing) bool {
			return g.first == 0 && g.last < all[i].first && g.offset == all[i].offset && meet(all[i].end, g.begin)
		})
		if j < 0 || j == i {
			continue
		}
		g := all[j]
		all[i].last = g.last + n
		all[i].end = g.end
		all[i].hull = all[i].hull.with(g.hull)
		all[j].last = -1
	}
	return slices.DeleteFunc(all, func(g growing) bool { return g.last < 0 })
}

// instant returns the time t seconds after the mean solar midnight of day d.
func (k *Track) instant(d int, t float64) time.Time {
	return k.start.Add(time.Duration(d)*24*time.Hour + seconds(t))
}

// offset returns by how much the clock is ahead of UTC at a visit, in seconds.
func (k *Track) offset(d int, v visit) float64 {
	if k.loc == time.UTC {
		return 0
	}
	_, off := k.instant(d, (v.t0+v.t1)/2).In(k.loc).Zone()
	return float64(off)
}

func (k *Track) spell(g growing) Spell {
	return Spell{
		From:     k.date(g.first, g.begin),
		To:       k.date(g.last, g.end),
		Earliest: k.clock(g, g.hull.t0),
		Latest:   k.clock(g, g.hull.t1),
		Ahead:    seconds(g.offset),
		Days:     g.last - g.first + 1,
	}
}

func (k *Track) date(d int, v visit) time.Time {
	y, m, day := k.instant(d, (v.t0+v.t1)/2).In(k.loc).Date()
	return time.Date(y, m, day, 0, 0, 0, 0, k.loc)
}

// clock returns what the clock shows t seconds after mean solar midnight.
func (k *Track) clock(g growing, t float64) time.Duration {
	utc := k.start.Sub(k.start.Truncate(24 * time.Hour)).Seconds()
	s := math.Mod(utc+t+g.offset, 86400)
	if s < 0 {
		s += 86400
	}
	return seconds(s) % (24 * time.Hour)
}
