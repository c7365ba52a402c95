package spectrum

import "math"

// Traffic is what a device sends of its own, beside what it forwards.
type Traffic struct {
	Supervision float64 // messages an hour that are no alarm
	Alarms      float64 // alarm messages an hour, in a busy hour
	Airtime     float64 // seconds one transmission of a message lasts
	Copies      int     // transmissions of each message by every device on its way; 0 is 1
}

func (t Traffic) copies() float64 { return float64(max(1, t.Copies)) }

// Load is how long a device is on the air, seconds an hour.
type Load struct {
	Own         float64 // with messages of its own
	Forwarded   float64 // with those of others
	Supervision float64 // of both, with messages that are no alarm
	Sources     int     // devices whose messages it forwards
}

// Total returns the seconds an hour on the air, and Duty the share of the hour.
func (l Load) Total() float64 { return l.Own + l.Forwarded }

// Duty returns the share of an hour the device is on the air.
func (l Load) Duty() float64 { return l.Total() / 3600 }

// Loads returns how long each device is on the air. own holds what each sends of
// its own, routes for each the way of its messages from itself to a receiver,
// nil for one that has none: its messages are sent once and go nowhere. A
// repeater of which no route is stated takes the rest of the first route that
// passes it.
func Loads(own []Traffic, routes [][]int) []Load {
	loads := make([]Load, len(own))
	for source, t := range own {
		route := routes[source]
		for i := 0; route == nil && i < len(routes); i++ {
			for j, v := range routes[i] {
				if v == source {
					route = routes[i][j:]
				}
			}
		}
		supervision := t.Supervision * t.Airtime * t.copies()
		all := supervision + t.Alarms*t.Airtime*t.copies()
		loads[source].Own += all
		loads[source].Supervision += supervision
		if all == 0 || len(route) < 3 {
			continue
		}
		for _, v := range route[1 : len(route)-1] {
			loads[v].Forwarded += all
			loads[v].Supervision += supervision
			loads[v].Sources++
		}
	}
	return loads
}

// AlohaSuccess returns the probability that one transmission is hit by none of
// the others' where devices that do not listen each send perSecond messages of
// airtime seconds at random: exp(-2G), with G the share of time the others are
// on the air together.
//
// Source: pure ALOHA, Abramson 1970 (from memory), without capture or retries.
func AlohaSuccess(devices int, perSecond, airtime float64) float64 {
	return math.Exp(-2 * float64(max(0, devices-1)) * perSecond * airtime)
}

// A Storm is many alarms at once: an intruder seen by many, or wind.
type Storm struct {
	Alarms  int     // messages, each of another device
	Window  float64 // seconds within which all their transmissions begin, at random
	Airtime float64 // seconds each lasts
	Copies  int     // transmissions of a message a link, at random in the window; 0 is 1
	Links   int     // links of a message's way, each using the same air; 0 is 1
}

// Success returns the probability that one of the messages arrives: that on
// every link of its way one copy at least is hit by none of the transmissions of
// the other messages. All devices are taken to hear all, and none to listen
// first: the worst case. The copies of one message do not hit each other.
//
// Source: pure ALOHA with a finite number of transmissions: each of the others
// misses one of airtime τ with probability 1-2τ/window.
func (s Storm) Success() float64 {
	copies, links := float64(max(1, s.Copies)), float64(max(1, s.Links))
	others := float64(max(0, s.Alarms-1)) * copies * links
	if others == 0 {
		return 1
	}
	clear := math.Pow(math.Max(0, 1-2*s.Airtime/s.Window), others)
	return math.Pow(1-math.Pow(1-clear, copies), links)
}
