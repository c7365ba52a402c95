package panel

import (
	"encoding/json"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
)

// What is allowed but odd is taken, with a word in the help line. The site lies at 8
// degrees of longitude.
func TestAnOddValueIsTakenWithAWord(t *testing.T) {
	for _, c := range []struct{ label, text, want string }{
		{"Date", "32 March 2027", `Date: "32 March 2027" is not a day written as year, month and day, such as 2027-04-30. It is printed as it stands.`},
		{"Date", "2027-03-32", "is not a day"},
		{"Date", "2027-03-31", ""},
		{"Date", "", ""},
		{"Time zone", "Europe/Zurich", ""},
		{"Time zone", "UTC", ""},
		{"Time zone", "America/Denver", "Time zone: the clocks of America/Denver are 7 hours off the sun at the site, which lies at 8° of longitude. Is it the right one?"},
		{"Time zone", "Asia/Tokyo", "8 hours off the sun"},
	} {
		t.Run(c.label+" "+c.text, func(t *testing.T) {
			e, ed, _ := site(t)
			s := NewSettings(ed, TitleBlock)
			test.NewTempWindow(t, s.Object)
			s.Update()
			typeIn(rowOf(t, s.inside, c.label), c.text, fyne.KeyReturn)
			if got := s.form.help.Text(); !strings.Contains(got, c.want) || s.form.refused != (c.want != "") {
				t.Errorf("it says %q, want %q", got, c.want)
			}
			var had string
			if raw, ok := e.Plan().Raw(map[string]string{"Date": "date", "Time zone": "time_zone"}[c.label]); ok {
				_ = json.Unmarshal(raw, &had)
			}
			if had != c.text {
				t.Errorf("the plan has %q", had)
			}
		})
	}
}

// Source of the westernmost and easternmost clocks that are right: the IANA time zone
// database and the longitudes in its zone.tab, typed from memory to a degree.
func TestOutsideAClockOfItsOwnCountryIsNotOdd(t *testing.T) {
	for zone, lon := range map[string]float64{"Asia/Shanghai": 76, "Europe/Madrid": -9, "Pacific/Auckland": 178, "Pacific/Kiritimati": -157, "America/Argentina/Buenos_Aires": -72, "Africa/Casablanca": -13} {
		t.Run(zone, func(t *testing.T) {
			f := model.NewFeature(model.KindReceiver, "RX", orb.Point{lon, 10}, model.Prop("antenna_height_m", 4))
			p, err := model.Together{Edits: []model.Edit{model.Add{Features: []*model.Feature{f}}, model.Change{Path: "time_zone", Value: zone}}}.Apply(model.NewPlan())
			if err != nil {
				t.Fatal(err)
			}
			if got := oddSetting(p, "time_zone"); got != "" {
				t.Error(got)
			}
		})
	}
}

func TestABearingTypedIsStoredBetweenNoughtAnd360(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("S1")
	d.Update()
	for text, want := range map[string]float64{"370": 10, "-10": 350, "360": 0, "12.5": 12.5, "-720": 0} {
		typeIn(rowOf(t, d.inside, "Bearing"), text, fyne.KeyReturn)
		d.Update()
		if got, _ := e.Plan().Feature("S1").Number("bearing_deg"); got != want {
			t.Errorf("%s is stored as %g, want %g", text, got, want)
		}
	}
	info, _ := model.Info(model.KindSensor)
	p, _ := info.Property("bearing_deg")
	if got := Help(p); got != "Bearing: clockwise from true north; a finite number of degrees." {
		t.Errorf("help: %s", got)
	}
}

func TestARefusedSensitivitySaysHowADeviceThatOnlyTransmitsIsWritten(t *testing.T) {
	for kind, want := range map[model.Kind]bool{model.KindSensor: true, model.KindRepeater: true, model.KindReceiver: false} {
		for _, p := range model.RadioProperties {
			if p.Name != "sensitivity_dbm" {
				continue
			}
			if _, err := (radioOf{kind: kind}).typed(p, "5"); err == nil || strings.Contains(err.Error(), "or none") != want {
				t.Errorf("of a %s: %v", kind, err)
			}
		}
	}
}
