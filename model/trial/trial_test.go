package trial

import (
	"math"
	"testing"

	"pleach/testdata/published"
)

func bound(t *testing.T, trials, detected int) float64 {
	t.Helper()
	p, err := LowerBound(trials, detected, Confidence)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestOutsideWalkTests(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	rows.Check(t, "O1", bound(t, 29, 29))
	rows.Check(t, "O2", bound(t, 28, 28))
	rows.Check(t, "O3", bound(t, 10, 10))
	rows.Check(t, "O4", bound(t, 50, 49))
	rows.Check(t, "O5", bound(t, 100, 95))
	rows.Check(t, "H19", bound(t, 20, 20))
	rows.Check(t, "H20", bound(t, 30, 30))
	rows.Check(t, "H21", bound(t, 50, 48))
	rows.Check(t, "H22", bound(t, 100, 98))
	rows.Check(t, "H23", bound(t, 100, 96))
	least := func(misses int, p float64) float64 {
		n, err := LeastTrials(misses, p, Confidence)
		if err != nil {
			t.Fatal(err)
		}
		return float64(n)
	}
	for i, id := range []string{"O6-0", "O6-1", "O6-2", "H24-3", "H24-4", "H24-5"} {
		rows.Check(t, id, least(i, 0.90))
	}
	for i, id := range []string{"H25-0", "H25-1", "H25-2", "H25-3", "H25-4", "H25-5"} {
		rows.Check(t, id, least(i, 0.95))
	}
}

func TestOutsideSoakTests(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	for i, id := range []string{"O40-0", "O40-1", "H26-2", "H26-3"} {
		u, err := UpperCount(i, Confidence)
		if err != nil {
			t.Fatal(err)
		}
		rows.Check(t, id, u)
	}
}

// What a bound means: at the bound, as many detections come with the chance left
// over. The chance is summed here term by term, with no logarithms.
func TestTheBoundIsWhereTheTrialsBecomeUnlikely(t *testing.T) {
	for _, c := range []struct {
		n, k int
		conf float64
	}{{1, 1, 0.95}, {5, 1, 0.5}, {12, 7, 0.9}, {40, 39, 0.99}, {60, 3, 0.95}, {60, 60, 0.999}} {
		p, err := LowerBound(c.n, c.k, c.conf)
		if err != nil {
			t.Fatal(err)
		}
		chance := 0.0
		for i := c.k; i <= c.n; i++ {
			term := 1.0
			for j := range i {
				term *= float64(c.n-j) / float64(i-j) * p
			}
			for range c.n - i {
				term *= 1 - p
			}
			chance += term
		}
		if math.Abs(chance-(1-c.conf)) > 1e-9 {
			t.Errorf("%d of %d at %v: bound %v, where the chance is %v", c.k, c.n, c.conf, p, chance)
		}
	}
	for _, k := range []int{0, 1, 4, 30} {
		u, err := UpperCount(k, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		chance, term := 0.0, math.Exp(-u)
		for i := range k + 1 {
			chance += term
			term *= u / float64(i+1)
		}
		if math.Abs(chance-0.1) > 1e-9 {
			t.Errorf("%d events: bound %v, where the chance is %v", k, u, chance)
		}
	}
}

func TestBoundsGoTheRightWay(t *testing.T) {
	for n := 1; n < 200; n += 3 {
		last := -1.0
		for k := 0; k <= n; k++ {
			p := bound(t, n, k)
			if !(p > last) || p > float64(k)/float64(n) {
				t.Fatalf("%d of %d: bound %v after %v", k, n, p, last)
			}
			last = p
		}
	}
	// The smallest run that supports a figure supports it, and one trial fewer does not.
	for misses := range 40 {
		for _, p := range []float64{0.5, 0.9, 0.95, 0.999} {
			n, err := LeastTrials(misses, p, Confidence)
			if err != nil {
				t.Fatal(err)
			}
			if bound(t, n, n-misses) < p-1e-9 || n-1 > misses && bound(t, n-1, n-1-misses) >= p {
				t.Errorf("%d misses, %v: %d trials support %v, one fewer %v", misses, p, n, bound(t, n, n-misses), bound(t, n-1, n-1-misses))
			}
		}
	}
	last := 0.0
	for k := range 3000 {
		u, err := UpperCount(k, Confidence)
		if err != nil || u <= last || u <= float64(k) {
			t.Fatalf("%d events: at most %v after %v (%v)", k, u, last, err)
		}
		last = u
	}
}

// Against the normal approximation, which holds for large counts.
func TestLargeCountsStayFinite(t *testing.T) {
	p := bound(t, most, most-1000)
	if want := 0.999 - 1.6449*math.Sqrt(0.001*0.999/most); math.Abs(p-want) > 3e-6 {
		t.Errorf("bound %v, the normal approximation has %v", p, want)
	}
	if u, err := UpperCount(most, Confidence); err != nil || math.Abs(u-(most+1.6449*1000)) > 5 {
		t.Errorf("at most %v (%v)", u, err)
	}
	if n, err := LeastTrials(0, 0.9999999, Confidence); err == nil {
		t.Errorf("%d trials for 0.9999999", n)
	}
}

func TestCountsThatCannotBeAreNamed(t *testing.T) {
	for _, c := range []struct {
		got  error
		want string
	}{
		{second(LowerBound(0, 0, 0.95)), "trials 0 is not between 1 and 1000000"},
		{second(LowerBound(5, 6, 0.95)), "detected 6 is not between 0 and the 5 trials"},
		{second(LowerBound(5, -1, 0.95)), "detected -1 is not between 0 and the 5 trials"},
		{second(LowerBound(5, 5, 1)), "confidence 1 is not above 0 and below 1"},
		{second(LowerBound(5, 5, math.NaN())), "confidence NaN is not above 0 and below 1"},
		{second(LeastTrials(-1, 0.9, 0.95)), "misses -1 is not between 0 and 1000000"},
		{second(LeastTrials(0, 1, 0.95)), "probability 1 is not above 0 and below 1"},
		{second(UpperCount(-1, 0.95)), "events -1 is not between 0 and 1000000"},
	} {
		if c.got == nil || c.got.Error() != c.want {
			t.Errorf("%v, want %s", c.got, c.want)
		}
	}
}

func second[T any](_ T, err error) error { return err }
