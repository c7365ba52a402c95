package analysis

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/radio"
)

// Study is what is worked out of the radio net behind the drawing board: it takes
// too long for a drag.
type Study struct {
	Seconds []*Second // by sensor, in the order of Result.Sensors; nil where there is no second route
	Mends   []*Mend   // by sensor; nil for one whose route holds or that has none
	Worst   []*Worst  // by link, in the order of Result.Links; nil for one not in use
	Losses  []Loss    // repeaters and receivers in file order

	Compliance *Compliance // nil where the plan states no radio rules
}

// Second is a sensor's best route by none of the repeaters of its best one; where
// that is a single link, its best route by any other.
type Second struct {
	Route  []string // from the sensor to the receiver
	Margin float64  // dB, of its weakest link
	Holds  bool     // every link of it has its required margin
}

// Loss is what is lost if a repeater or a receiver fails.
type Loss struct {
	ID      string
	Kind    model.Kind
	Sensors []string // served now, and not without it
}

// HasStudy reports whether there is a radio net to study: a sensor and a receiver.
func HasStudy(r *Result) bool {
	return len(r.Sensors) > 0 && slices.ContainsFunc(r.net.hubs, func(a antenna) bool { return a.kind == radio.Receiver })
}

// WithRadioStudy returns the result with what is worked out of its radio net behind
// the drawing board, and the findings that follow from it. A plan without receiver
// or sensor, and a result that has its study, come back as they are. It returns
// ctx's error when ctx ends first.
func WithRadioStudy(ctx context.Context, r *Result) (*Result, error) {
	if r.Study != nil || !HasStudy(r) {
		return r, nil
	}
	out := *r
	out.Findings = slices.Clone(r.Findings)
	s := &Study{}
	out.Study = s
	seconds := out.seconds()
	s.Seconds = out.nameSeconds(seconds)
	for _, a := range out.net.hubs {
		s.Losses = append(s.Losses, Loss{a.feature.ID, a.feature.Kind, out.net.lost[a.feature.ID]})
	}
	s.Mends, s.Worst = out.mends(ctx), out.worst(ctx)
	s.Compliance = out.comply()
	if out.Calibration == nil {
		out.Calibration = calibrate(out.Scene)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out.tellMends()
	out.addFindings(slices.Concat(ruleReceiverLoss(&out), ruleSharedGap(&out, seconds), ruleWorstCase(&out), ruleRadioRules(&out), ruleReading(&out), ruleOverload(&out), ruleSensitivity(&out), ruleLinkTerrain(&out)))
	return &out, nil
}

// SecondOf returns the second route of sensor i, nil where there is none or no study
// was made.
func (r *Result) SecondOf(i int) *Second {
	if r.Study == nil {
		return nil
	}
	return r.Study.Seconds[i]
}

// LossWords says what it is for a sensor to be lost with a device, and which sensors
// are not counted.
func (r *Result) LossWords() string {
	at := map[[2]string]*Link{}
	for i := range r.Links {
		k := &r.Links[i]
		at[[2]string{k.From, k.To}], at[[2]string{k.To, k.From}] = k, k
	}
	var failing []string
	for _, s := range r.Sensors {
		fails := s.Route == nil
		for i := 1; i < len(s.Route); i++ {
			k := at[[2]string{s.Route[i-1], s.Route[i]}]
			fails = fails || k == nil || !k.Holds()
		}
		if fails {
			failing = append(failing, s.ID)
		}
	}
	text := "A sensor is lost with a device when no route with the required margin is left to it."
	switch len(failing) {
	case 0:
	case 1:
		text += " " + failing[0] + " has none as planned and is not counted."
	default:
		text += " Not counted, having none as planned: " + strings.Join(failing, ", ") + "."
	}
	return text
}

// SecondRouteWords says how many sensors have a second route and which have none.
func (r *Result) SecondRouteWords() string {
	var without []string
	for i, s := range r.Sensors {
		if second := r.SecondOf(i); second == nil || !second.Holds {
			without = append(without, s.ID)
		}
	}
	const route = "a second route with the required margin that passes none of the repeaters of the first"
	switch n := len(r.Sensors); len(without) {
	case 0:
		return "Every sensor has " + route + "."
	case n:
		return "No sensor has " + route + "."
	default:
		return fmt.Sprintf("%d of %d sensors have %s. The others have none: %s.", n-len(without), n, route, strings.Join(without, ", "))
	}
}

// MendOf returns what would mend sensor i; nil where its route holds or it has none,
// and where no study was made.
func (r *Result) MendOf(i int) *Mend {
	if r.Study == nil || r.Study.Mends == nil {
		return nil
	}
	return r.Study.Mends[i]
}

// WorstOf returns the worst that may befall link i, nil for one not in use and where
// no study was made.
func (r *Result) WorstOf(i int) *Worst {
	if r.Study == nil || r.Study.Worst == nil {
		return nil
	}
	return r.Study.Worst[i]
}
