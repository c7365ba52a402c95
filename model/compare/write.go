package compare

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model/coverage"

	"pleach/model"
)

// Version is the version of the report of changes.
const Version = 1

// JSON writes the changes for programs. Lengths are metres, places longitude and
// latitude on WGS 84 to 9 decimals, bearings degrees, margins decibels.
func (r Result) JSON(w io.Writer, before, after string) error {
	type object = map[string]any
	place := func(p orb.Point) []float64 { return []float64{round(p[0], 9), round(p[1], 9)} }
	figure := func(v *float64) any {
		if v == nil {
			return nil
		}
		return round(*v, 3)
	}
	things := func(ts []Thing, placed bool) []object {
		out := []object{}
		for _, t := range ts {
			o := object{"id": t.ID, "kind": string(t.Kind), "name": t.Name}
			if placed {
				o["at"] = place(t.At)
			}
			out = append(out, o)
		}
		return out
	}
	changes := func(cs []Change) []object {
		out := []object{}
		for _, c := range cs {
			values := object{}
			for _, v := range c.Values {
				values[v.Property] = object{"before": v.Before, "after": v.After}
			}
			out = append(out, object{"id": c.ID, "kind": string(c.Kind), "name": c.Name, "values": values})
		}
		return out
	}
	spans := func(ss []coverage.Span) []object {
		out := []object{}
		for _, s := range ss {
			out = append(out, object{"from_m": round(s.From, 3), "to_m": round(s.To, 3), "length_m": round(s.To-s.From, 3)})
		}
		return out
	}
	moved := []object{}
	for _, m := range r.Moved {
		moved = append(moved, object{"id": m.ID, "kind": string(m.Kind), "name": m.Name, "distance_m": round(m.Distance, 3), "direction_deg": round(m.Direction, 1), "before": place(m.From), "after": place(m.At)})
	}
	settings := object{}
	for _, s := range r.Settings {
		settings[s.Property] = object{"before": s.Before, "after": s.After}
	}
	boundaries := []object{}
	for _, b := range r.Boundaries {
		postures := []object{}
		for _, c := range b.Postures {
			o := object{"posture": c.Posture, "covered_before_m": figure(c.Before), "covered_after_m": figure(c.After), "gained": nil, "lost": nil, "gained_m": nil, "lost_m": nil}
			if b.Old && b.New && !b.Redrawn && c.Before != nil && c.After != nil {
				o["gained"], o["lost"], o["gained_m"], o["lost_m"] = spans(c.Gained), spans(c.Lost), round(c.GainedLength(), 3), round(c.LostLength(), 3)
			}
			postures = append(postures, o)
		}
		boundaries = append(boundaries, object{"id": b.ID, "name": b.Name, "state": b.state(), "coverage": postures})
	}
	links := []object{}
	for _, l := range r.Links {
		end := func(e *End) any {
			if e == nil {
				return nil
			}
			return object{"margin_db": round(e.Margin, 3), "holds": e.Holds}
		}
		links = append(links, object{"from": l.From, "to": l.To, "state": l.state(), "before": end(l.Before), "after": end(l.After)})
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(object{"version": Version, "before": before, "after": after, "moved": moved, "aimed": changes(r.Aimed), "changed": changes(r.Changed),
		"added": things(r.Added, true), "removed": things(r.Removed, true),
		"site":     object{"added": things(r.Site.Added, false), "removed": things(r.Site.Removed, false), "changed": things(r.Site.Changed, false)},
		"settings": settings, "boundaries": boundaries, "links": links})
}

func (b Boundary) state() string {
	switch {
	case !b.Old:
		return "added"
	case !b.New:
		return "removed"
	case b.Redrawn:
		return "redrawn"
	}
	return "kept"
}

func (l Link) state() string {
	switch {
	case l.Before == nil:
		return "added"
	case l.After == nil:
		return "dropped"
	}
	return "changed"
}

func round(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k)/k + 0
}

// Part is what changed about one sort of thing, a line each, as a person reads it.
type Part struct {
	Heading string
	Lines   []string
}

// Text writes the changes for a person.
func (r Result) Text(w io.Writer, before, after string) error {
	var b strings.Builder
	fmt.Fprintf(&b, "From %s to %s\n", clean(before), clean(after))
	if r.Empty() {
		b.WriteString("\nNothing changed: the same devices in the same places, the same coverage, the same links.\n")
	}
	for _, p := range r.Parts() {
		b.WriteString("\n" + p.Heading + "\n")
		for _, l := range p.Lines {
			b.WriteString("  " + l + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Parts are the changes in words: devices, site, settings, chainage, radio links. A part
// that has none is left out. A line that begins with two spaces tells more of
// the one before it.
func (r Result) Parts() (out []Part) {
	part := func(heading string, each func(line func(string, ...any))) {
		p := Part{Heading: heading}
		each(func(format string, args ...any) { p.Lines = append(p.Lines, fmt.Sprintf(format, args...)) })
		if p.Lines != nil {
			out = append(out, p)
		}
	}
	part("Devices", func(line func(string, ...any)) {
		for _, t := range r.Added {
			line("%s: added", words(t))
		}
		for _, t := range r.Removed {
			line("%s: taken away", words(t))
		}
		for _, m := range r.Moved {
			line("%s: moved %s towards %s", words(m.Thing), metres(m.Distance, 2), number(m.Direction, 0)+"°")
		}
		for _, c := range r.Aimed {
			line("%s: aimed afresh, %s", words(c.Thing), values(c.Values))
		}
		for _, c := range r.Changed {
			line("%s: %s", words(c.Thing), values(c.Values))
		}
	})
	part("Site", func(line func(string, ...any)) {
		for _, t := range r.Site.Added {
			line("%s: added", words(t))
		}
		for _, t := range r.Site.Removed {
			line("%s: taken away", words(t))
		}
		for _, t := range r.Site.Changed {
			line("%s: changed", words(t))
		}
	})
	part("Settings", func(line func(string, ...any)) {
		for _, s := range r.Settings {
			if s.Before == nil && s.After == nil {
				line("%s: changed", s.Label)
				continue
			}
			line("%s: %s before, %s now", s.Label, s.show(s.Before, 4), s.show(s.After, 4))
		}
	})
	part("Chainage", func(line func(string, ...any)) {
		for _, x := range r.Boundaries {
			switch x.state() {
			case "redrawn":
				line("%s: its line was redrawn, so chainages before and after are not comparable", words(x.Thing))
			case "added":
				line("%s: added", words(x.Thing))
			case "removed":
				line("%s: taken away", words(x.Thing))
			}
			for _, c := range x.Postures {
				posture := c.Posture
				if posture == "" {
					posture = "target"
				}
				told := "covered " + maybe(c.Before) + " before, " + maybe(c.After) + " now"
				if len(c.Gained)+len(c.Lost) > 0 {
					told = metres(c.GainedLength(), 1) + " gained, " + metres(c.LostLength(), 1) + " lost; " + told
				}
				line("%s, %s: %s", words(x.Thing), model.Shown(posture), told)
				for _, s := range c.Gained {
					line("  gained from %s to %s, %s", number(s.From, 1), metres(s.To, 1), metres(s.To-s.From, 1))
				}
				for _, s := range c.Lost {
					line("  lost from %s to %s, %s", number(s.From, 1), metres(s.To, 1), metres(s.To-s.From, 1))
				}
			}
		}
	})
	part("Radio links", func(line func(string, ...any)) {
		for _, l := range r.Links {
			ends := model.Shown(l.From) + " to " + model.Shown(l.To)
			switch {
			case l.Before == nil:
				line("%s: new, %s", ends, l.After.words())
			case l.After == nil:
				line("%s: no longer in use, was %s", ends, l.Before.words())
			default:
				line("%s: %s before, %s now", ends, l.Before.words(), l.After.words())
			}
		}
	})
	return out
}

// Summary counts the changes in one line: "2 devices moved, 1 added; 12 m of
// boundary gained, 3 m lost"; "nothing changed" where there is none.
func (r Result) Summary() string {
	var devices, rest []string
	some := func(n int, what string) {
		switch {
		case n == 0:
		case len(devices) > 0:
			devices = append(devices, fmt.Sprintf("%d %s", n, what))
		case n == 1:
			devices = append(devices, "1 device "+what)
		default:
			devices = append(devices, fmt.Sprintf("%d devices %s", n, what))
		}
	}
	some(len(r.Added), "added")
	some(len(r.Removed), "taken away")
	some(len(r.Moved), "moved")
	some(len(r.Aimed), "aimed afresh")
	some(len(r.Changed), "changed otherwise")
	if devices != nil {
		rest = append(rest, strings.Join(devices, ", "))
	}
	if n := len(r.Site.Added) + len(r.Site.Removed) + len(r.Site.Changed); n == 1 {
		rest = append(rest, "1 feature of the site changed")
	} else if n > 1 {
		rest = append(rest, fmt.Sprintf("%d features of the site changed", n))
	}
	if n := len(r.Settings); n == 1 {
		rest = append(rest, "1 setting changed")
	} else if n > 1 {
		rest = append(rest, fmt.Sprintf("%d settings changed", n))
	}
	gained, lost := 0.0, 0.0
	for _, b := range r.Boundaries {
		for _, c := range b.Postures {
			if c.Posture == "" {
				gained, lost = gained+c.GainedLength(), lost+c.LostLength()
			}
		}
	}
	var chain []string
	if gained >= leastSpan {
		chain = append(chain, metres(gained, 1)+" of boundary gained")
	}
	if lost >= leastSpan {
		chain = append(chain, metres(lost, 1)+" of boundary lost")
	}
	if chain != nil {
		rest = append(rest, strings.Join(chain, ", "))
	}
	switch {
	case rest != nil:
		return strings.Join(rest, "; ")
	case r.Empty():
		return "nothing changed"
	}
	return "radio links and coverage of postures changed"
}

func (e End) words() string {
	s := number(e.Margin, 1) + " dB"
	if !e.Holds {
		s += " (fails)"
	}
	return s
}

func words(t Thing) string {
	s := string(t.Kind) + " " + model.Shown(t.ID)
	if t.Name != "" && t.Name != t.ID {
		s += " (" + model.Shown(t.Name) + ")"
	}
	return s
}

// labels are properties in words.
var labels = map[string]string{"bearing_deg": "bearing", "tilt_deg": "tilt", "mount_height_m": "mount height", "antenna_height_m": "antenna height", "masked": "masks"}

func values(vs []Value) string {
	var out []string
	for _, v := range vs {
		name := labels[v.Property]
		if name == "" {
			name = v.Property
		}
		out = append(out, name+" "+v.show(v.Before, 2)+" before, "+v.show(v.After, 2)+" now")
	}
	return strings.Join(out, "; ")
}

// show is one of the two values with its unit, to so many decimals.
func (v Value) show(a any, decimals int) string {
	unit := v.Unit
	if unit != "" && unit != "°" {
		unit = " " + unit
	}
	switch a := a.(type) {
	case float64:
		return number(a, decimals) + unit
	case int:
		return strconv.Itoa(a) + unit
	case string:
		return model.Shown(a)
	}
	return "none"
}

// number is a figure with at most so many decimals and a true minus.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(round(v, decimals), 'f', -1, 64)
	return strings.Replace(s, "-", "−", 1)
}

func metres(v float64, decimals int) string { return number(v, decimals) + " m" }

func maybe(v *float64) string {
	if v == nil {
		return "not analysed"
	}
	return metres(*v, 1)
}

// clean is a text on one line.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
}
