// Package trial says what walk tests and soak tests prove: bounds with a stated
// confidence, from counts alone. Numbers in, numbers out.
//
// The trials of a walk test must be alike and independent: another posture,
// direction or way is another test, and a sensor that was turned or moved starts
// anew.
package trial

import (
	"fmt"
	"math"
)

// Confidence is the confidence usually asked for, one-sided.
const Confidence = 0.95

// most is the greatest count accepted: beyond it the sums are no longer exact to
// the tolerances stated (chosen).
const most = 1_000_000

// LowerBound returns the lower bound on the probability of detection, at a
// one-sided confidence above 0 and below 1, after so many trials of which so many
// were detected: the probability at which that many detections or more would come
// with a chance of 1 - confidence. It is 0 where none was detected. It is right to
// 1e-9.
//
// Source: Clopper and Pearson, Biometrika 26 (1934), 404, one side of their
// interval.
func LowerBound(trials, detected int, confidence float64) (float64, error) {
	switch {
	case trials < 1 || trials > most:
		return 0, fmt.Errorf("trials %d is not between 1 and %d", trials, most)
	case detected < 0 || detected > trials:
		return 0, fmt.Errorf("detected %d is not between 0 and the %d trials", detected, trials)
	}
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	if detected == 0 {
		return 0, nil
	}
	return rising(0, 1, 1-confidence, func(p float64) float64 { return atLeast(trials, detected, p) }), nil
}

// LeastTrials returns the smallest number of trials that, with so many misses among
// them, supports a probability of detection p above 0 and below 1 at a one-sided
// confidence.
func LeastTrials(misses int, p, confidence float64) (int, error) {
	switch {
	case misses < 0 || misses > most:
		return 0, fmt.Errorf("misses %d is not between 0 and %d", misses, most)
	case !(p > 0 && p < 1):
		return 0, fmt.Errorf("probability %v is not above 0 and below 1", p)
	}
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	supports := func(n int) bool { return atLeast(n, n-misses, p) <= 1-confidence+1e-12 }
	hi := misses + 1
	for !supports(hi) {
		if hi *= 2; hi > most {
			return 0, fmt.Errorf("more than %d trials would be needed for probability %v at confidence %v", most, p, confidence)
		}
	}
	lo := misses // supports nothing: none was detected
	for hi-lo > 1 {
		if m := (lo + hi) / 2; supports(m) {
			hi = m
		} else {
			lo = m
		}
	}
	return hi, nil
}

// UpperCount returns the upper bound on the mean number of events in a span of
// time, at a one-sided confidence above 0 and below 1, after so many were counted in
// it: over days it bounds the rate a day. It is right to 1e-9 of itself.
//
// Source: Garwood, Biometrika 28 (1936), 437, one side of his interval for the mean
// of a Poisson distribution.
func UpperCount(events int, confidence float64) (float64, error) {
	if events < 0 || events > most {
		return 0, fmt.Errorf("events %d is not between 0 and %d", events, most)
	}
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	k := float64(events)
	hi := k + 10*math.Sqrt(k+1) - 2*math.Log(1-confidence) // beyond it by far
	return rising(k/2, hi, confidence, func(mean float64) float64 { return 1 - atMost(events, mean) }), nil
}

func checkConfidence(c float64) error {
	if !(c > 0 && c < 1) {
		return fmt.Errorf("confidence %v is not above 0 and below 1", c)
	}
	return nil
}

// rising returns where between lo and hi a rising function comes to a value.
func rising(lo, hi, value float64, f func(float64) float64) float64 {
	for range 200 {
		m := (lo + hi) / 2
		if m == lo || m == hi {
			break
		}
		if f(m) < value {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// atLeast returns the probability of k or more successes in n trials of
// probability p, k above 0.
func atLeast(n, k int, p float64) float64 {
	if float64(k) <= float64(n)*p { // the shorter tail is the exact one
		return 1 - tail(n, n-k+1, 1-p)
	}
	return tail(n, k, p)
}

// tail returns the same for k above the mean, where the terms fall.
func tail(n, k int, p float64) float64 {
	if k > n || p <= 0 {
		return 0
	}
	if p >= 1 {
		return 1
	}
	term := math.Exp(choose(n, k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	sum := term
	for i := k; i < n; i++ {
		term *= float64(n-i) / float64(i+1) * p / (1 - p)
		if sum += term; term < 1e-17*sum {
			break
		}
	}
	return sum
}

// choose returns the logarithm of the number of ways to take k of n.
func choose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// atMost returns the probability of k events or fewer where the mean is given.
func atMost(k int, mean float64) float64 {
	if mean <= 0 {
		return 1
	}
	l, _ := math.Lgamma(float64(k + 1))
	first := math.Exp(float64(k)*math.Log(mean) - mean - l) // of exactly k
	if float64(k) < mean {
		sum, term := first, first
		for i := k; i > 0; i-- {
			term *= float64(i) / mean
			if sum += term; term < 1e-17*sum {
				break
			}
		}
		return sum
	}
	sum, term := 0.0, first
	for i := k + 1; ; i++ {
		term *= mean / float64(i)
		if sum += term; term < 1e-17*sum || term == 0 {
			return 1 - sum
		}
	}
}
