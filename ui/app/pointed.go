package app

import (
	"fmt"
	"strings"

	"pleach/model"
	"pleach/ui/panel"
)

// overWords says what the pointer is over, "" for nothing.
func (w *window) overWords() string {
	h := w.ed.Hover()
	f := w.ed.Plan().Feature(h.ID)
	r := w.an.last
	if f == nil {
		return ""
	}
	switch h.Part {
	case "aim":
		return "Drag to turn " + h.ID + "; with Shift in steps of 5°."
	case "side":
		return "Drag inwards to mask part of the pattern of " + h.ID + "."
	case "mask":
		return "Drag to change what is masked; over the other end takes it away."
	case "vertex":
		return "Drag to move the vertex; a click and Delete take it away."
	case "middle":
		return "Drag to make a new vertex."
	case "link":
		if r == nil || h.Hit.Item >= len(w.chart.Layers.List().Items) {
			return ""
		}
		to := w.chart.Layers.List().Items[h.Hit.Item].Text
		for _, l := range r.Links {
			if l.From == h.ID && l.To == to {
				return fmt.Sprintf("Link %s to %s: margin %s, %s required, %s, %s. A click shows its profile.",
					l.From, l.To, panel.Decibels(l.Margin), panel.Decibels(l.Required), panel.Metres(l.Distance), clearanceWords(l.Clearance))
			}
		}
	case "way", "crossing":
		if r == nil {
			return ""
		}
		if way := r.Way(h.ID); way != nil {
			return r.WayWords(way)
		}
	case "gap":
		if r == nil {
			return ""
		}
		for _, x := range r.Findings {
			if x.Rule == "gap" && x.Posture == "" && strings.HasPrefix(x.Text, fmt.Sprintf("Gap %d,", h.Hit.Index)) && len(x.Subject) > 0 && x.Subject[0] == h.ID {
				return x.Text
			}
		}
	}
	info, _ := model.Info(f.Kind)
	words := info.Label + " " + h.ID
	if f.Name != "" {
		words += ", " + f.Name
	}
	if s, ok := f.Value.(*model.Sensor); ok {
		if m, ok := w.ed.Plan().Model(s.Model); ok && m.Name != "" {
			words += ": " + m.Name
		}
	}
	return words
}

// farClear is a clearance, in first Fresnel zones, from which on its figure says nothing
// any more: 0.6 of one is free space already. Chosen.
const farClear = 10

// clearanceWords says how free the direct line of a link is.
func clearanceWords(zones float64) string {
	if zones >= farClear {
		return "far clear of everything"
	}
	return fmt.Sprintf("clearance %.1f of the first Fresnel zone", zones)
}
