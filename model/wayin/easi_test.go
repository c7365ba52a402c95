package wayin

import (
	"math"
	"testing"
)

// classic is the well-known six-step example. Its inputs are from memory.
func classic(fence float64) []Task {
	return []Task{
		{"cut fence", fence, Beginning, 10, 3, 0},
		{"run to building", 0, Beginning, 12, 3.6, 0},
		{"open door", 0.9, Beginning, 90, 27, 0},
		{"run to vital area", 0, Beginning, 10, 3, 0},
		{"open door", 0.9, Beginning, 90, 27, 0},
		{"sabotage", 0, Beginning, 120, 36, 0},
	}
}

func TestOutsideInterruption(t *testing.T) {
	const source = "EASI, SAND 76-0597 / NUREG-0231, in Garcia's textbook form; example inputs and the spreadsheet's 0.476 from memory, figures checked by a Monte Carlo of 400 000 draws"
	for _, c := range []struct {
		name         string
		fence        float64
		response, sd float64
		want, tol    float64
	}{
		{"classic example", 0, 300, 90, 0.4760, 1e-3},
		{"with a fence sensor of 0.9", 0.9, 300, 90, 0.5781, 1e-3},
		{"response in 200 s", 0, 200, 60, 0.8305, 1e-3},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Interruption(classic(c.fence), 0.95, c.response, c.sd); math.Abs(got-c.want) > c.tol {
				t.Errorf("fence %v, response %v s (%v): got %.5f, want %v within %v\nsource: %s", c.fence, c.response, c.sd, got, c.want, c.tol, source)
			}
		})
	}
}

func TestDetectionInTheMiddleCountsHalfTheDelayAndAtTheEndNone(t *testing.T) {
	// A task of 100 s (30 s) followed by one of 40 s, response 90 s (40 s): 140,
	// 90 and 40 s remain, with variances 900, 225 and 0.
	for at, want := range map[Location]float64{
		Beginning: normalCDF(50 / math.Sqrt(900+1600)),
		Middle:    0.5,
		End:       normalCDF(-50 / 40.),
	} {
		tasks := []Task{{Detect: 1, At: at, Delay: 100, DelaySD: 30}, {Delay: 40}}
		if got := Interruption(tasks, 1, 90, 40); math.Abs(got-want) > 1e-12 {
			t.Errorf("%c: got %v, want %v", at, got, want)
		}
	}
}

func TestCriticalDetectionPointIsTheLastOneInTime(t *testing.T) {
	tasks := classic(0.5)
	for _, c := range []struct {
		response, timely float64
		task             int
		ok               bool
	}{
		{300, 1 - 0.5*0.1, 2, true},     // door: 310 s remain
		{200, 1 - 0.5*0.1*0.1, 4, true}, // second door: 210 s remain
		{320, 0.5, 0, true},             // only the fence: 332 s
		{310, 0.5, 0, true},             // 310 s do not exceed 310 s
		{340, 0, 0, false},              // never in time
	} {
		task, timely, ok := CriticalPoint(tasks, c.response)
		if task != c.task || ok != c.ok || math.Abs(timely-c.timely) > 1e-12 {
			t.Errorf("response %v s: got task %d, %v, %v; want %d, %v, %v", c.response, task, timely, ok, c.task, c.timely, c.ok)
		}
	}
}
