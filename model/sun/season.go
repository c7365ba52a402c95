package sun

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Part is a part of the sun's day.
type Part uint8

// The parts of a day. ByDay and ByNight are those about noon and about midnight
// too, where the sun stays low for so long.
const (
	Mornings Part = iota
	ByDay
	Evenings
	ByNight
)

// Season is what the spells of one part of the day come to in a year.
type Season struct {
	Part             Part
	Spans            []Span        // in order of time, apart by a day or more
	Earliest, Latest time.Duration // time of day over all spans, as clocks show it
}

// Span is from one day to another, both included.
type Span struct{ From, To time.Time }

// Seasons merges spells at a longitude by part of the day: those that a change of
// the clocks, or a day or two, keeps apart run on.
func Seasons(spells []Spell, lon float64) (out []Season) {
	for _, part := range []Part{Mornings, ByDay, Evenings, ByNight} {
		s := Season{Part: part}
		var latest time.Duration // after Earliest's midnight: above a day where the clock passes it
		for _, k := range spells {
			if k.part(lon) != part {
				continue
			}
			end := k.Latest
			if end < k.Earliest {
				end += 24 * time.Hour
			}
			if s.Spans == nil {
				s.Earliest, latest = k.Earliest, end
			} else {
				s.Earliest, latest = min(s.Earliest, k.Earliest), max(latest, end)
			}
			s.Spans = append(s.Spans, Span{k.From, k.To})
		}
		if s.Spans == nil {
			continue
		}
		s.Latest = latest % (24 * time.Hour)
		s.Spans = merged(s.Spans)
		out = append(out, s)
	}
	return out
}

// part returns the part of the sun's own day in which a spell lies.
func (k Spell) part(lon float64) Part {
	const day = 24 * time.Hour
	solar := func(clock time.Duration) time.Duration {
		return (clock - k.Ahead + seconds(lon*240) + 2*day) % day
	}
	a, b := solar(k.Earliest), solar(k.Latest)
	switch {
	case b < a:
		return ByNight
	case b <= day/2:
		return Mornings
	case a >= day/2:
		return Evenings
	}
	return ByDay
}

// apart is from how many days between them on spans stay two. Chosen.
const apart = 3

// merged joins spans that overlap or are fewer than apart days from each other.
func merged(spans []Span) (out []Span) {
	slices.SortFunc(spans, func(a, b Span) int {
		return cmp.Or(a.From.Compare(b.From), a.To.Compare(b.To))
	})
	for _, s := range spans {
		if n := len(out); n > 0 && s.From.Before(out[n-1].To.AddDate(0, 0, apart+1)) {
			if s.To.After(out[n-1].To) {
				out[n-1].To = s.To
			}
			continue
		}
		out = append(out, s)
	}
	return out
}

// Words says when, in one line: "mornings 3 Feb to 9 Apr and 2 Sep to 6 Nov, 06:20
// to 08:10".
func (s Season) Words() string {
	var spans []string
	for _, p := range s.Spans {
		words := p.From.Format("2 Jan")
		switch days := int(p.To.Sub(p.From).Hours()/24 + 0.5); {
		case days >= 364:
			words = "all year"
		case days > 0:
			words += " to " + p.To.Format("2 Jan")
		}
		spans = append(spans, words)
	}
	part := [...]string{"mornings", "by day", "evenings", "by night"}[s.Part]
	return fmt.Sprintf("%s %s, %s to %s", part, and(spans), Clock(s.Earliest), Clock(s.Latest))
}

func and(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return words[0]
}

// Clock writes a time of day to the nearest minute, "06:20".
func Clock(d time.Duration) string {
	m := int(d.Round(time.Minute)/time.Minute) % (24 * 60)
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

// Days returns on how many days of the year at least one of the spells falls.
func Days(spells []Spell) int {
	on := map[int]bool{}
	for _, k := range spells {
		for d := range k.Days {
			// The clocks may be changed in between: noon is never passed over.
			on[k.From.Add(12*time.Hour).AddDate(0, 0, d).YearDay()] = true
		}
	}
	return len(on)
}
