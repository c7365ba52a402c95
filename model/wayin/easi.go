package wayin

import "math"

// Location says where in a task detection takes place.
type Location byte

const (
	Beginning Location = 'B' // the whole of the task's delay is still to come
	Middle    Location = 'M' // half of it, with a quarter of its variance
	End       Location = 'E' // none of it
)

// Task is one step of an intruder's way: walking a stretch, climbing a fence,
// opening a door.
type Task struct {
	Name    string
	Detect  float64  // probability that the step is detected, 0 to 1
	At      Location // where; Beginning when not set
	Delay   float64  // seconds, mean
	DelaySD float64  // seconds, standard deviation
	Along   float64  // metres along the route where it is detected; of a task that Route.Tasks made
}

// Remains returns the mean delay, in seconds, that is still to come when task i
// is detected.
func Remains(tasks []Task, i int) float64 {
	mean, _ := rest(tasks, i)
	return mean
}

// rest returns the mean and the variance of the delay that remains when task i
// is detected.
func rest(tasks []Task, i int) (mean, variance float64) {
	for k := i; k < len(tasks); k++ {
		t := tasks[k]
		m, v := t.Delay, t.DelaySD*t.DelaySD
		if k == i {
			switch t.At {
			case Middle:
				m, v = m/2, v/4
			case End:
				m, v = 0, 0
			}
		}
		mean += m
		variance += v
	}
	return mean, variance
}

// Interruption returns the probability that the intruder is interrupted before
// the last task is done: detected at some task, the alarm passed on with
// probability pComm, and the response, with the given mean and standard
// deviation in seconds, no longer than the delay that remains. Times are taken
// as normal and independent; with no spread at all a response that takes just as
// long as the delay that remains comes half the time.
//
// Source: the EASI model, SAND 76-0597 / NUREG-0231; Garcia, Design and
// Evaluation of Physical Protection Systems (what goes in and comes out). The
// normal form and the rules for B, M and E are from memory.
func Interruption(tasks []Task, pComm, response, responseSD float64) float64 {
	p, missed := 0.0, 1.0
	for i, t := range tasks {
		if t.Detect == 0 {
			continue
		}
		mean, variance := rest(tasks, i)
		p += missed * t.Detect * pComm * normalCDF((mean-response)/math.Sqrt(variance+responseSD*responseSD))
		missed *= 1 - t.Detect
	}
	return p
}

// normalCDF returns the share of a standard normal distribution at or below z;
// a half for 0/0.
func normalCDF(z float64) float64 {
	if math.IsNaN(z) {
		return 0.5
	}
	return math.Erfc(-z/math.Sqrt2) / 2
}

// CriticalPoint returns the critical detection point: the last task at which the
// intruder can be detected and the mean delay that remains still exceeds the
// response, in seconds; false when there is none. Timely is the probability of
// detection up to and with that task, 1 - product of (1-Detect).
//
// Source: path interruption analysis as taught in nuclear safeguards courses
// (IAEA and Sandia training material), its simple form without spread.
func CriticalPoint(tasks []Task, response float64) (task int, timely float64, ok bool) {
	missed := 1.0
	for i, t := range tasks {
		if t.Detect <= 0 {
			continue
		}
		mean, _ := rest(tasks, i)
		if mean <= response {
			break // the delay that remains only falls
		}
		missed *= 1 - t.Detect
		task, ok = i, true
	}
	return task, 1 - missed, ok
}
