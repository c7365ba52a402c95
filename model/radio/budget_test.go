package radio

import (
	"fmt"
	"math"
	"testing"
)

func db(v float64) *float64 { return &v }

func TestTheMarginIsWhatTheFormulaSays(t *testing.T) {
	sensor := Radio{ERPDBm: 10, SensitivityDBm: db(-105), AntennaGainDBi: -3, FeederLossDB: 0, InstallationLossDB: 6}
	receiver := Radio{ERPDBm: 14, SensitivityDBm: db(-110), AntennaGainDBi: 2.15, FeederLossDB: 1.5}
	// Up: 10 + 2.15 - 6 - 100 + 2.15 - 1.5 - 0 = -93.2; over -110: 16.8.
	// Down: 14 + 2.15 - 0 - 100 - 3 - 0 - 6 = -92.85; over -105: 12.15.
	r := Rate(sensor, receiver, 100)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"received up", r.Forward.ReceivedDBm, -93.2},
		{"margin up", r.Forward.MarginDB, 16.8},
		{"received down", r.Back.ReceivedDBm, -92.85},
		{"margin down", r.Back.MarginDB, 12.15},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s = %v, want %v", c.name, c.got, c.want)
		}
	}
	if weaker, ok := r.Weaker(); !ok || weaker != r.Back {
		t.Errorf("the weaker direction is %+v, want %+v", weaker, r.Back)
	}
	turned := Rate(receiver, sensor, 100)
	if weaker, ok := turned.Weaker(); !ok || weaker != r.Back {
		t.Errorf("from the other end the weaker direction is %+v, want %+v", weaker, r.Back)
	}
}

func TestAnEndThatOnlyTransmitsIsNotRatedAsReceiver(t *testing.T) {
	full := Radio{ERPDBm: 10, SensitivityDBm: db(-105)}
	mute := Radio{ERPDBm: 10}
	for _, row := range []struct {
		name          string
		first, second Radio
		rated         bool
		forward       bool
	}{
		{"sensor transmits only", mute, full, true, true},
		{"second end transmits only", full, mute, true, false},
		{"both transmit only", mute, mute, false, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := Rate(row.first, row.second, 90)
			got, ok := r.Weaker()
			if ok != row.rated {
				t.Fatalf("rated %v, want %v", ok, row.rated)
			}
			if !ok {
				return
			}
			if want := 10 + 2.15 - 90 + 105.0; math.Abs(got.MarginDB-want) > 1e-9 {
				t.Errorf("margin %v, want %v", got.MarginDB, want)
			}
			if r.Forward.Rated != row.forward || r.Back.Rated == row.forward {
				t.Errorf("rated: %+v", r)
			}
		})
	}
}

func TestShadowingIsTheStatedOneOrGoesByObstacles(t *testing.T) {
	for _, row := range []struct {
		stated     *float64
		obstructed bool
		want       float64
	}{
		{nil, false, 6}, {nil, true, 8}, {db(4.5), false, 4.5}, {db(4.5), true, 4.5}, {db(0), true, 0},
	} {
		if got := ShadowingSD(row.stated, row.obstructed); got != row.want {
			t.Errorf("ShadowingSD(%v, %v) = %v, want %v", row.stated, row.obstructed, got, row.want)
		}
	}
}

func TestOutsideRequiredMargin(t *testing.T) {
	const source = "standard deviation times the standard normal quantile, tabulated to 0.1 dB"
	for _, row := range []struct{ sd, p90, p95, p99, p999 float64 }{
		{4, 5.1, 6.6, 9.3, 12.4},
		{6, 7.7, 9.9, 14.0, 18.5},
		{8, 10.3, 13.2, 18.6, 24.7},
	} {
		for _, c := range []struct{ reliability, want float64 }{{0.9, row.p90}, {0.95, row.p95}, {0.99, row.p99}, {0.999, row.p999}} {
			t.Run(fmt.Sprintf("sd %v reliability %v", row.sd, c.reliability), func(t *testing.T) {
				got := RequiredMargin(nil, row.sd, c.reliability)
				closeTo(t, "RequiredMargin", got, c.want, 0.05, source)
				closeTo(t, "Probability", Probability(got, row.sd), c.reliability, 1e-12, "the same, turned round")
			})
		}
	}
}

func TestAStatedRequiredMarginHolds(t *testing.T) {
	if got := RequiredMargin(db(12), 8, 0.99); got != 12 {
		t.Errorf("%v, want 12", got)
	}
}

func TestProbabilityWithoutShadowingIsAllOrNothing(t *testing.T) {
	for _, row := range []struct{ margin, want float64 }{{-0.1, 0}, {0, 1}, {3, 1}} {
		if got := Probability(row.margin, 0); got != row.want {
			t.Errorf("Probability(%v, 0) = %v, want %v", row.margin, got, row.want)
		}
	}
}
