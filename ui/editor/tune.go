package editor

import (
	"fmt"
	"strings"

	"pleach/model"
)

// Tune drafts another value of a number of one feature, from a drag or an arrow
// key elsewhere than on the map: the tilt and the mount height in the section on
// an axis, an antenna's height in the profile of a link. Values that follow one another are one step: each is applied afresh
// to the plan the first began on, until Settle makes it a step or Cancel forgets
// it. A value that is not allowed leaves the draft as it is and is said.
func (e *Editor) Tune(id, property string, value float64) {
	f := e.Settled().Feature(id)
	if f == nil {
		return
	}
	info, _ := model.Info(f.Kind)
	label := property
	for _, p := range info.Properties {
		if p.Name == property {
			label = strings.ToLower(p.Label)
		}
	}
	h := e.held
	if h == nil || h.grip != gripTune || h.id != id || h.property != property {
		e.letGo()
		h = &held{grip: gripTune, base: e.Settled(), id: id, property: property}
		e.held = h
	}
	step := model.Set{ID: id, Values: []model.Value{{Property: property, Value: value}}, Name: fmt.Sprintf("set %s of %s", label, id)}
	next, err := step.Apply(h.base)
	if err != nil {
		e.tell(e.say(err.Error()))
		return
	}
	if f := next.Feature(id); len(f.Flaws) > 0 && h.base.Feature(id).Sound() {
		e.tell(e.say(f.Flaws[0].Error()))
		return
	}
	h.edit, e.draft = step, next
	was, stated := h.base.Feature(id).Number(property)
	if s, ok := h.base.Feature(id).Value.(*model.Sensor); ok && !stated && property == "antenna_height_m" {
		was, stated = s.Antenna, true // its default
	}
	if stated && was == value {
		h.edit = nil // back where it began: no step
	}
	e.tell(PlanChanged | OverlayChanged | e.say(e.readout(h)))
}

// Tuning reports whether Tune has drafted something that is neither settled nor
// cancelled.
func (e *Editor) Tuning() bool { return e.held != nil && e.held.grip == gripTune }
