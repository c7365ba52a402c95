package order

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"pleach/model"
	"pleach/model/analysis"
)

// hoursPerYear is a mean year's: 365.25 days.
const hoursPerYear = 8766.0

// MostTries is how often a message is sent at most until it arrives, on average:
// no link is so poor that more is reckoned with. Chosen.
const MostTries = 10.0

// Schedule is when one device's battery has to be changed.
type Schedule struct {
	Device   string
	Kind     model.Kind
	Battery  string  // in words, "" where none is stated
	Messages float64 // sent in a day, its own and those it forwards
	Tries    float64 // transmissions of each until it arrives, on average
	Current  float64 // mean, microamperes
	Life     float64 // years
	Capped   bool    // Life is the most that any battery is left in
	Since    time.Time
	Fitted   bool      // Since is of a reading as fitted, else the plan's date; see Since.IsZero
	Change   time.Time // the day on which Life is over; zero where Since is
	Missing  []string  // what the supply does not state: then nothing is reckoned
}

// Known reports whether a life could be reckoned.
func (s *Schedule) Known() bool { return len(s.Missing) == 0 }

// Remark says in a few words what is not known, or what bounds a life; "" where
// nothing has to be said.
func (s *Schedule) Remark() string {
	switch {
	case len(s.Missing) == 1 && s.Missing[0] == "supply":
		return "no supply stated"
	case !s.Known():
		return "not stated: " + strings.Join(s.Missing, ", ")
	case s.Tries >= MostTries:
		return "no link to count on: 10 tries a message"
	case s.Since.IsZero():
		return "no day to count from"
	case s.Capped:
		return "at its latest age"
	}
	return ""
}

// MeanCurrent returns the mean current of a device in microamperes: sleep
// microamperes between messages, and perHour messages of mJ millijoules an hour,
// each sent tries times, at cell volts.
func MeanCurrent(sleep, mJ, cell, perHour, tries float64) float64 {
	return sleep + mJ*1000/cell*perHour*tries/3600
}

// Life returns how many years a battery of usable milliampere-hours feeds a mean
// current in microamperes, where the share loss of its charge leaks away in a
// year: Q' = -I - kQ with k = -ln(1 - loss) a year gives ln(1 + kQ/I)/k. A year is
// 8766 h. It is infinite where nothing is drawn.
func Life(usable, current, loss float64) float64 {
	yearly := current / 1000 * hoursPerYear // mAh
	if k := -math.Log1p(-loss); k > 0 {
		return math.Log1p(k*usable/yearly) / k
	}
	return usable / yearly
}

// Tries returns how often a message is sent on average until it arrives, at the
// probability p of each: 1/p, and at most MostTries.
func Tries(p float64) float64 {
	return math.Min(1/math.Max(p, 1/MostTries), MostTries)
}

// Batteries returns when each sensor's and repeater's battery has to be changed:
// the first first, then those whose date is not known, then those of which too
// little is stated. A battery counts from the newest reading as fitted of its
// device, else from the plan's date.
func Batteries(r *analysis.Result) []Schedule {
	set := r.Plan.Settings
	messages := r.Messages()
	fitted := fittings(r.Plan)
	onward := next(r)
	chance := map[[2]string]float64{}
	for i := range r.Links {
		k := &r.Links[i]
		if !k.InUse { // no route takes it
			continue
		}
		chance[[2]string{k.From, k.To}], chance[[2]string{k.To, k.From}] = k.Probability, k.Probability
	}
	var out []Schedule
	for _, f := range r.Plan.Of(model.KindSensor, model.KindRepeater) {
		if !f.Sound() {
			continue
		}
		b := Schedule{Device: f.ID, Kind: f.Kind}
		supply := SupplyOf(r.Plan, f)
		b.Battery, _ = Battery(supply)
		b.Missing = missing(supply)
		b.Messages = 24 * messages[f.ID]
		b.Tries = Tries(chance[[2]string{f.ID, onward[f.ID]}])
		if b.Known() {
			b.Current = MeanCurrent(*supply.Sleep, *supply.Message, *supply.Cell, b.Messages/24, b.Tries)
			loss := 0.0
			if supply.SelfDischarge != nil {
				loss = *supply.SelfDischarge
			}
			b.Life = Life(*supply.Capacity*set.Batteries.Usable, b.Current, loss)
			if b.Life >= set.Batteries.MostYears {
				b.Life, b.Capped = set.Batteries.MostYears, true
			}
		}
		if b.Since, b.Fitted = fitted[f.ID], true; b.Since.IsZero() {
			b.Fitted = false
			b.Since, _ = time.Parse(time.DateOnly, strings.TrimSpace(set.Date))
		}
		if b.Known() && !b.Since.IsZero() {
			b.Change = b.Since.AddDate(0, 0, int(b.Life*hoursPerYear/24))
		}
		out = append(out, b)
	}
	rank := func(b Schedule) int {
		switch {
		case !b.Known():
			return 2
		case b.Change.IsZero():
			return 1
		}
		return 0
	}
	slices.SortStableFunc(out, func(x, y Schedule) int {
		return cmp.Or(cmp.Compare(rank(x), rank(y)), x.Change.Compare(y.Change), cmp.Compare(x.Life, y.Life))
	})
	return out
}

// SupplyOf returns what feeds a device: what its sensor model states, or the
// repeater itself; nil where nothing is stated.
func SupplyOf(p *model.Plan, f *model.Feature) *model.Supply {
	switch v := f.Value.(type) {
	case *model.Sensor:
		if m, ok := p.Model(v.Model); ok {
			return m.Supply
		}
	case *model.Repeater:
		return v.Supply
	}
	return nil
}

// missing names what a supply does not state and a life cannot be reckoned without.
func missing(s *model.Supply) (out []string) {
	if s == nil {
		return []string{"supply"}
	}
	for _, m := range []struct {
		name  string
		value *float64
	}{{"capacity_mah", s.Capacity}, {"cell_v", s.Cell}, {"sleep_ua", s.Sleep}, {"message_mj", s.Message}} {
		if m.value == nil {
			out = append(out, m.name)
		}
	}
	return out
}

// fittings are the days of the newest readings as fitted, by device.
func fittings(p *model.Plan) map[string]time.Time {
	out := map[string]time.Time{}
	for _, f := range p.Of(model.KindReading) {
		m := f.Value.(*model.Reading)
		if m.What != "as-fitted" || !f.Sound() {
			continue
		}
		t, err := time.Parse(time.RFC3339, m.At)
		if err != nil {
			continue
		}
		day := time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
		for _, id := range m.Of {
			if day.After(out[id]) {
				out[id] = day
			}
		}
	}
	return out
}

// next is where each sensor and repeater sends to: along the first route that
// passes it.
func next(r *analysis.Result) map[string]string {
	out := map[string]string{}
	for i := range r.Sensors {
		route := r.Sensors[i].Route
		for j := 0; j+1 < len(route); j++ {
			if out[route[j]] == "" {
				out[route[j]] = route[j+1]
			}
		}
	}
	return out
}
