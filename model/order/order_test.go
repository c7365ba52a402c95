package order

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/testdata/site"
)

func run(t *testing.T, s *site.Site) *analysis.Result {
	t.Helper()
	r, err := analysis.RunOn(context.Background(), scene.On(s.Plan(t), site.Grid), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func line(t *testing.T, r *analysis.Result, code string) Line {
	t.Helper()
	for _, l := range Bill(r) {
		if l.Code == code {
			return l
		}
	}
	t.Fatalf("the bill has no %s: %+v", code, Bill(r))
	return Line{}
}

func TestDevicesOnOnePostShareIt(t *testing.T) {
	s := &site.Site{}
	s.Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3, 0, 2)
	s.Sensor("S2", orb.Point{0.1, 0}, "curtain-4-63", 3.2, 90, 2)
	s.Add(model.KindRepeater, "RP1", orb.Point{0, 0.2}, model.Prop("antenna_height_m", 4.1))
	s.Sensor("S3", orb.Point{40, 0}, "curtain-4-63", 3, 0, 2)
	r := run(t, s)
	if l := line(t, r, "post-4.5"); l.Fitted != 1 || strings.Join(l.Devices, " ") != "S1 S2 RP1" || l.Spares != 0 {
		t.Errorf("the post for three: %+v", l)
	}
	if l := line(t, r, "post-3.0"); l.Fitted != 1 || strings.Join(l.Devices, " ") != "S3" {
		t.Errorf("the post for one: %+v", l)
	}
}

func TestARepeaterOnABuildingHangsOnItsWall(t *testing.T) {
	s := &site.Site{}
	s.Building("H1", site.Box(20, -5, 30, 5), 6)
	s.Add(model.KindRepeater, "RP1", orb.Point{19.8, 0}, model.Prop("antenna_height_m", 5)) // at its wall
	s.Add(model.KindRepeater, "RP2", orb.Point{25, 0}, model.Prop("antenna_height_m", 9))   // on its roof
	s.Add(model.KindRepeater, "RP3", orb.Point{19.8, 2}, model.Prop("antenna_height_m", 9)) // beside it and above it
	if l := line(t, run(t, s), "wall-mount"); strings.Join(l.Devices, " ") != "RP1 RP2" {
		t.Errorf("%+v", l)
	}
}

func TestSparesAreAShareRoundedUpAndAtLeastSome(t *testing.T) {
	for _, row := range []struct {
		share  float64
		least  int
		fitted int
		want   int
	}{{0.05, 1, 1, 1}, {0.05, 1, 20, 1}, {0.05, 1, 21, 2}, {0.1, 0, 30, 3}, {0, 0, 30, 0}, {1, 0, 7, 7}, {0.05, 4, 30, 4}} {
		s := &site.Site{}
		s.Set("spares", map[string]any{"share": row.share, "least": row.least})
		for i := range row.fitted {
			s.Sensor(fmt.Sprint("S", i), orb.Point{float64(10 * i), 0}, "curtain-4-63", 3, 0, 2)
		}
		r := run(t, s)
		for _, code := range []string{"curtain-4-63", "battery-3.6v-14000mah"} {
			if l := line(t, r, code); l.Fitted != row.fitted || l.Spares != row.want {
				t.Errorf("share %v, at least %d: %s has %d and %d spares, want %d", row.share, row.least, code, l.Fitted, l.Spares, row.want)
			}
		}
	}
}

func TestMasksAndOutputsAreCounted(t *testing.T) {
	s := &site.Site{}
	s.Sensor("S1", orb.Point{0, 0}, "sector-90-25", 3, 0, 2, model.Prop("masked", []map[string]any{{"from_deg": -10, "to_deg": 0}, {"from_deg": 20, "to_deg": 30}}))
	s.Add(model.KindReceiver, "RX", orb.Point{10, 20}, model.Prop("antenna_height_m", 6), model.Prop("outputs", []map[string]any{
		{"zone": "A", "type": "relay", "number": "1"}, {"zone": "B", "type": "relay", "number": "2"}, {"zone": "C", "type": "ip", "number": "1"}}))
	r := run(t, s)
	for code, want := range map[string]int{"mask": 2, "output-relay": 2, "output-ip": 1} {
		if l := line(t, r, code); l.Quantity() != want {
			t.Errorf("%s: %d, want %d", code, l.Quantity(), want)
		}
	}
}

// Mean current and life: the rule of the charge that flows, I = I0 + sum of
// n·E/U per second, an hour of 3600 s and a year of 8766 h (the Julian year of
// 365.25 days, IAU style manual, 1989), worked by hand.
func TestOutsideMeanCurrentAndLifeAreThoseWorkedByHand(t *testing.T) {
	t.Run("ten messages an hour of 36 mJ at 3.6 V", func(t *testing.T) {
		// 36 mJ / 3.6 V = 10 mC a message; 10 of them in 3600 s are 100/3600 mA = 27.78 µA.
		if got := MeanCurrent(50, 36, 3.6, 10, 1); math.Abs(got-77.7778) > 1e-3 {
			t.Errorf("%v µA", got)
		}
	})
	t.Run("a link at one half sends twice", func(t *testing.T) {
		if got := MeanCurrent(50, 36, 3.6, 10, Tries(0.5)) - 50; math.Abs(got-55.5556) > 1e-3 {
			t.Errorf("%v µA", got)
		}
	})
	t.Run("8766 mAh at 1 mA is a year", func(t *testing.T) {
		if got := Life(8766, 1000, 0); math.Abs(got-1) > 1e-12 {
			t.Errorf("%v years", got)
		}
	})
	t.Run("a tenth lost a year", func(t *testing.T) {
		// Stepwise, an hour at a time, against the closed form.
		q, hours := 9000.0, 0.0
		for keep := math.Pow(0.9, 1/8766.0); q > 0; hours++ {
			q = q*keep - 0.2
		}
		if got := Life(9000, 200, 0.1); math.Abs(got-hours/8766) > 2/8766.0 {
			t.Errorf("%v years, by steps %v", got, hours/8766)
		}
	})
	t.Run("nothing drawn", func(t *testing.T) {
		if !math.IsInf(Life(1000, 0, 0.02), 1) {
			t.Error("a battery that feeds nothing runs down")
		}
	})
}

func TestTriesEndSomewhere(t *testing.T) {
	for p, want := range map[float64]float64{1: 1, 0.5: 2, 0.1: 10, 0.01: 10, 0: 10} {
		if got := Tries(p); math.Abs(got-want) > 1e-12 {
			t.Errorf("at %v: %v tries, want %v", p, got, want)
		}
	}
}

// powered is a repeater between two sensors and a receiver, the one sensor
// beside it and the other behind it.
func powered() *site.Site {
	s := &site.Site{}
	s.Set("date", "2027-03-01")
	s.Set("models", []map[string]any{{"id": "thirsty", "name": "Thirsty", "mount_min_m": 2, "mount_max_m": 4,
		"lobes":  []map[string]any{{"azimuth_deg": 0, "width_deg": 4, "up_deg": 1, "down_deg": 3, "range_m": 60}},
		"radio":  map[string]any{"erp_dbm": 10, "sensitivity_dbm": -105},
		"supply": map[string]any{"capacity_mah": 1000, "cell_v": 3.6, "sleep_ua": 100, "message_mj": 36, "events_per_day": 24, "supervision_s": 3600, "self_discharge_per_year": 0}}})
	s.Sensor("S1", orb.Point{0, 0}, "thirsty", 3, 0, 2)
	s.Add(model.KindRepeater, "RP1", orb.Point{100, 0}, model.Prop("antenna_height_m", 4), model.Prop("supply", map[string]any{
		"capacity_mah": 1000, "cell_v": 3.6, "sleep_ua": 100, "message_mj": 36, "supervision_s": 1800, "self_discharge_per_year": 0}))
	s.Add(model.KindReceiver, "RX", orb.Point{200, 0}, model.Prop("antenna_height_m", 6))
	return s
}

func byDevice(bs []Schedule) map[string]Schedule {
	out := map[string]Schedule{}
	for _, b := range bs {
		out[b.Device] = b
	}
	return out
}

func TestARepeaterSpendsOnWhatItForwards(t *testing.T) {
	r := run(t, powered())
	b := byDevice(Batteries(r))
	// 24 supervision messages and 24 alarms a day.
	if got := b["S1"].Messages; math.Abs(got-48) > 1e-9 {
		t.Errorf("the sensor sends %v a day, want 48", got)
	}
	want := 48.0
	if len(r.Sensors[0].Route) == 3 {
		want += 48
	}
	if got := b["RP1"].Messages; math.Abs(got-want) > 1e-9 {
		t.Errorf("the repeater sends %v a day, want %v (route %v)", got, want, r.Sensors[0].Route)
	}
	s := b["S1"]
	// 48 messages of 10 mC in 86400 s are 5.556 µA at one try each.
	if want := 100 + 5.5556*s.Tries; math.Abs(s.Current-want) > 0.01 {
		t.Errorf("%v µA, want %v", s.Current, want)
	}
	if want := 700 / (s.Current / 1000) / 8766; math.Abs(s.Life-want) > 1e-6 {
		t.Errorf("%v years, want %v: seven tenths of 1000 mAh", s.Life, want)
	}
}

func TestABatteryCountsFromWhenItWasFitted(t *testing.T) {
	s := powered()
	s.Add(model.KindReading, "M1", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "as-fitted"), model.Prop("at", "2027-05-02T10:00:00Z"))
	s.Add(model.KindReading, "M2", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "as-fitted"), model.Prop("at", "2027-04-02T10:00:00Z"))
	b := byDevice(Batteries(run(t, s)))
	if got := b["S1"].Since.Format(time.DateOnly); got != "2027-05-02" || !b["S1"].Fitted {
		t.Errorf("counted from %s", got)
	}
	if got := b["RP1"].Since.Format(time.DateOnly); got != "2027-03-01" || b["RP1"].Fitted {
		t.Errorf("counted from %s, want the date of the plan", got)
	}
	if got := b["S1"].Change.Sub(b["S1"].Since).Hours() / 8766; math.Abs(got-b["S1"].Life) > 2/365.0 {
		t.Errorf("changed after %v years, life is %v", got, b["S1"].Life)
	}
}

func TestTheFirstBatteryToBeChangedStandsFirstAndUnknownOnesLast(t *testing.T) {
	s := powered()
	s.Sensor("S2", orb.Point{50, 50}, "curtain-4-63", 3, 0, 2)
	s.Add(model.KindRepeater, "RP2", orb.Point{100, 80}, model.Prop("antenna_height_m", 4), model.Prop("supply", map[string]any{"capacity_mah": 1000}))
	bs := Batteries(run(t, s))
	if last := bs[len(bs)-1]; last.Device != "RP2" || last.Known() || strings.Join(last.Missing, " ") != "cell_v sleep_ua message_mj" {
		t.Errorf("last: %+v", last)
	}
	for i := 1; i < len(bs)-1; i++ {
		if bs[i].Change.Before(bs[i-1].Change) {
			t.Errorf("%s is changed before %s", bs[i].Device, bs[i-1].Device)
		}
	}
}

func TestNoBatteryIsLeftInLongerThanTheSetting(t *testing.T) {
	s := powered()
	s.Set("batteries", map[string]any{"usable": 1, "most_years": 0.5})
	for _, b := range Batteries(run(t, s)) {
		if b.Life != 0.5 || !b.Capped {
			t.Errorf("%+v", b)
		}
	}
}

func TestPricesAreReadAndWrongOnesNamed(t *testing.T) {
	for _, row := range []struct{ name, csv, want string }{
		{"plain", "code,price,currency\ncurtain-4-63,412.50,EUR\nRepeater , 99,\n", "EUR map[curtain-4-63:41250 repeater:9900]"},
		{"semicolons and decimal commas", "Code;Price\nmask;1,5\n", " map[mask:150]"},
		{"a byte order mark and other columns", "\ufeffItem,Code,Quantity,Price\nMask,mask,3,2.05\n", " map[mask:205]"},
		{"an empty price", "code,price\nmask,\npost-3.0,0\n", " map[post-3.0:0]"},
		{"a thousands separator", "code,price\nmask,\"1,234.50\"\n", "line 2, column 2: price 1,234.50 is not an amount"},
		{"three decimals", "code,price\nmask,1.234\n", "line 2, column 2: price 1.234 is not"},
		{"a sign", "code,price\n\nmask,-4\n", "line 3, column 2: price -4 is not"},
		{"not a number", "code,price\nmask,NaN\n", "price NaN is not"},
		{"too much", "code,price\nmask,99999999999999999999\n", "is above"},
		{"twice", "code,price\nmask,1\nMASK,2\n", "line 3, column 1: MASK has a price already in line 2"},
		{"two currencies", "code,price,currency\na,1,EUR\nb,1,CHF\n", "line 3, column 3: CHF, but earlier lines are in EUR"},
		{"no such currency", "code,price,currency\na,1,€\n", "ISO 4217"},
		{"no code", "code,price\n,1\n", "line 2, column 1: a price of 1 without a code"},
		{"no headings", "mask,1\n", "line 1: the headings are mask, 1"},
		{"empty", "", "is empty"},
		{"no prices", "code,price\n", "has no prices"},
		{"an open quote", "code,price\n\"mask,1\n", "line 2"},
		{"not text", "code,price\n\xff\xfe,1\n", "UTF-8"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p, err := ReadPrices(strings.NewReader(row.csv))
			got := fmt.Sprint(p.Currency, " ", p.Each)
			if err != nil {
				got = err.Error()
			}
			if err == nil && got != row.want || err != nil && !strings.Contains(got, row.want) {
				t.Errorf("%s, want %s", got, row.want)
			}
		})
	}
}

func TestOfAWrongTableTheFirstFaultsAreTold(t *testing.T) {
	_, err := ReadPrices(strings.NewReader("code,price\n" + strings.Repeat("x,NaN\n", 100_000)))
	if err == nil {
		t.Fatal("a table of NaN is taken")
	}
	if lines := strings.Split(err.Error(), "\n"); len(lines) != mostFaults || !strings.HasPrefix(lines[0], "line 2, column 2") {
		t.Errorf("%d lines, the first %q", len(lines), lines[0])
	}
}

func TestABillIsPricedInWholeHundredths(t *testing.T) {
	p, err := ReadPrices(strings.NewReader("code,price\ncurtain-4-63,0.10\nmast,3\n"))
	if err != nil {
		t.Fatal(err)
	}
	bill := []Line{{Code: "Curtain-4-63", Fitted: 3, Spares: 1}, {Code: "mask", Fitted: 2}}
	lines, total, without, unused := p.Price(bill)
	if total != 40 || lines[0].Sum != 40 || lines[1].Has || strings.Join(without, " ") != "mask" || strings.Join(unused, " ") != "mast" {
		t.Errorf("%+v %d %v %v", lines, total, without, unused)
	}
	if got := Money(123456789); got != "1\u00a0234\u00a0567.89" {
		t.Errorf("%q", got)
	}
}
