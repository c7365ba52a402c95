package analysis

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pleach/model"
	"pleach/model/radio"
)

// Stated is the source of a term that the plan states.
const Stated = "stated in the plan"

// InstallationTerms returns what a sensor, repeater or receiver loses by how it is
// installed, the terms its installation loss is the sum of: those the plan states,
// or those of the defaults. A loss stated without terms is one term. It returns nil
// for any other feature and for a sensor whose model the plan does not have.
func InstallationTerms(p *model.Plan, f *model.Feature) []radio.Term {
	var m model.Radio
	switch v := f.Value.(type) {
	case *model.Sensor:
		of, ok := p.Model(v.Model)
		if !ok {
			return nil
		}
		m = of.Radio.With(v.Radio)
	case *model.Repeater:
		m = v.Radio
	case *model.Receiver:
		m = v.Radio
	default:
		return nil
	}
	switch {
	case m.Terms != nil:
		out := []radio.Term{}
		for _, t := range m.Terms {
			out = append(out, radio.Term{Name: t.What, DB: t.DB, Source: Stated})
		}
		return out
	case m.Installation != nil:
		return []radio.Term{{Name: "installation", DB: *m.Installation, Source: Stated}}
	}
	return radio.DefaultTerms(RadioKind(f.Kind))
}

// RadioKind is what part a device of a kind plays in a route: a receiver ends it, a
// repeater forwards, anything else begins it.
func RadioKind(k model.Kind) radio.Kind {
	switch k {
	case model.KindReceiver:
		return radio.Receiver
	case model.KindRepeater:
		return radio.Repeater
	}
	return radio.Sensor
}

// TermWords lists terms that lose something, with their decibels: "mount: flat on a
// steel post or fence 9 dB; …".
func TermWords(terms []radio.Term) string {
	var out []string
	for _, t := range terms {
		if t.DB != 0 {
			out = append(out, t.Name+", "+strconv.FormatFloat(t.DB, 'f', -1, 64)+" dB")
		}
	}
	return strings.Join(out, "; ")
}

// InstallationGroup is devices that lose the same by the same terms.
type InstallationGroup struct {
	Devices []string // ids, in file order
	Terms   []radio.Term
	LossDB  float64
}

// Installation groups the devices of the plan by what they lose by how they are
// installed, in the order of each group's first device.
func (r *Result) Installation() (out []InstallationGroup) {
	for _, d := range r.Scene.Devices {
		terms := InstallationTerms(r.Plan, d.Feature)
		if terms == nil {
			continue
		}
		at := slices.IndexFunc(out, func(g InstallationGroup) bool { return slices.Equal(g.Terms, terms) })
		if at < 0 {
			at = len(out)
			out = append(out, InstallationGroup{Terms: terms, LossDB: radio.TermSum(terms)})
		}
		out[at].Devices = append(out[at].Devices, d.Feature.ID)
	}
	return out
}

// Words says which devices lose what: "S1, S2 and 18 more: 6 dB (mount: …)".
func (g InstallationGroup) Words() string {
	const most = 8
	who := strings.Join(g.Devices, ", ")
	if n := len(g.Devices); n > most {
		who = fmt.Sprintf("%s and %d more", strings.Join(g.Devices[:most-1], ", "), n-most+1)
	}
	out := who + ": " + strconv.FormatFloat(g.LossDB, 'f', -1, 64) + " dB"
	if words := TermWords(g.Terms); words != "" {
		out += " (" + words + ")"
	}
	return out
}
