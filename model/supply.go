package model

// Supply is what feeds a device and what it draws; a nil member was not stated.
type Supply struct {
	Capacity      *float64 // milliampere-hours, nominal
	Cell          *float64 // volts
	Sleep         *float64 // microamperes between messages
	Message       *float64 // millijoules a message sent takes
	Events        *float64 // alarm messages a day, a busy day's
	Supervision   *float64 // seconds from one message that is no alarm to the next
	SelfDischarge *float64 // share of the charge lost in a year
}

var (
	supplyCapacity  = num("capacity_mah", "Capacity", "mAh", 0, 1e6).above()
	supplyCell      = num("cell_v", "Voltage", "V", 0, 60).above()
	supplySleep     = num("sleep_ua", "Current between messages", "µA", 0, 1e6)
	supplyMessage   = num("message_mj", "Energy of a message", "mJ", 0, 1e5)
	supplyEvents    = num("events_per_day", "Alarms a day", "", 0, 1e5)
	supplyInterval  = num("supervision_s", "Between supervision messages", "s", 1, 1e7)
	supplyDischarge = num("self_discharge_per_year", "Self-discharge a year", "", 0, 0.99)
)

// supply reads the member of that name, nil where it is absent.
func (r reader) supply() *Supply {
	s, ok := r.sub("supply")
	if !ok {
		return nil
	}
	return &Supply{s.maybe(supplyCapacity), s.maybe(supplyCell), s.maybe(supplySleep), s.maybe(supplyMessage), s.maybe(supplyEvents),
		s.maybe(supplyInterval), s.maybe(supplyDischarge)}
}

// Spares is how many devices and batteries are ordered beyond those in the plan.
type Spares struct {
	Share float64 // of the number of a kind, rounded up
	Least int     // of each kind
}

// Batteries is how the life of a battery is reckoned.
type Batteries struct {
	Usable    float64 // share of the capacity that serves in the cold and up to the end
	MostYears float64 // no battery is left in longer
}
