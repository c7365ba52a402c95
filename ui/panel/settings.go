package panel

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/editor"
)

// Settings is the plan's title block and what the analysis reckons with.
type Settings struct {
	Object fyne.CanvasObject

	inside *fyne.Container // of Object
	ed     func() *editor.Editor
	form   *form
	plan   *model.Plan // shown last
	shows  []func(*model.Plan)

	postures *posturesForm // beside the settings of the target, else nil
}

// NewSettings makes the form. It covers the settings that keep says.
func NewSettings(ed func() *editor.Editor, keep func(path string) bool) *Settings {
	s := newSettings(ed, keep, &form{help: NewPara("", ColorSoft, SizeNameSmall)})
	s.Object = pinned(s.inside, s.form)
	return s
}

// newSettings makes the rows of a form that has others beside them.
func newSettings(ed func() *editor.Editor, keep func(path string) bool, f *form) *Settings {
	s := &Settings{ed: ed, form: f, inside: VBox(0)}
	for _, st := range model.SettingsTable {
		if keep(st.Path) {
			s.inside.Add(s.row(st))
		}
	}
	if keep("target.height_m") {
		s.postures = newPosturesForm(ed, f)
		s.inside.Add(s.postures.object)
	}
	return s
}

// Need is the height the form would like.
func (s *Settings) Need() float32 {
	return s.inside.MinSize().Height + 18 + s.form.help.MinSize().Height + 12
}

// TitleBlock says which settings are texts of the title block.
func TitleBlock(path string) bool { return !strings.Contains(path, ".") }

// Update shows the plan's settings.
func (s *Settings) Update() {
	p := s.ed().Plan()
	if p != s.plan {
		s.plan = p
		s.form.left()
	}
	for _, f := range s.shows {
		f(p)
	}
	if s.postures != nil && s.postures.update() {
		s.inside.Refresh()
	}
}

func (s *Settings) row(st model.Setting) fyne.CanvasObject {
	set := func(v any) error {
		return s.ed().Do(model.Change{Path: st.Path, Value: v, Name: fmt.Sprintf("set %s", strings.ToLower(st.Label))})
	}
	if st.Type == model.Choice {
		var os []Option
		for _, c := range st.Choices {
			os = append(os, Option{c, c})
		}
		pick := NewPick(os...)
		pick.Commit = set
		s.form.serve(pick, st.Property)
		s.shows = append(s.shows, func(p *model.Plan) {
			t, soft := shownSetting(p, st)
			pick.Set(t, t, soft)
		})
		return FormRow(st.Label, pick)
	}
	v := NewValue(st.Unit)
	v.Commit = func(text string) error {
		val, err := Typed(st.Property, text)
		if err != nil {
			return err
		}
		s.form.left()
		if err := set(val); err != nil {
			return err
		}
		s.form.warn(oddSetting(s.ed().Settled(), st.Path))
		return nil
	}
	s.form.serve(v, st.Property)
	s.shows = append(s.shows, func(p *model.Plan) { v.Set(shownSetting(p, st)) })
	return FormRow(st.Label, v)
}

// shownSetting is a setting in words; soft where it is at its default or not
// stated.
func shownSetting(p *model.Plan, st model.Setting) (string, bool) {
	switch v := settingValue(&p.Settings, st.Path).(type) {
	case string:
		return v, v == st.Default
	case float64:
		return number(v), v == st.Default
	case *float64:
		if v != nil {
			return number(*v), false
		}
		return unsaid[st.Path], true
	}
	return "", true
}

// unsaid is what holds where a setting is not stated and has no one default.
var unsaid = map[string]string{
	"radio.shadowing_sd_db":    "6 or 8 dB, by default",
	"radio.required_margin_db": "as those two ask",
	"radio.bandwidth_khz":      "not stated",
	"response.time_s":          "not stated",
}

// settingValue is a setting by its path: a string, a float64 or, where it may be
// left open, a *float64.
func settingValue(s *model.Settings, path string) any {
	switch path {
	case "title":
		return s.Title
	case "reference":
		return s.Reference
	case "customer":
		return s.Customer
	case "designer":
		return s.Designer
	case "revision":
		return s.Revision
	case "date":
		return s.Date
	case "time_zone":
		return s.TimeZone
	case "target.height_m":
		return s.Target.Height
	case "target.min_visible":
		return s.Target.MinVisible
	case "crossing.depth_m":
		return s.CrossingDepth
	case "crossing.min_path_m":
		return s.MinPath
	case "overspill.min_visible":
		return s.OverspillMinVisible
	case "overspill.vehicle_height_m":
		return s.VehicleHeight
	case "overspill.vehicle_range_factor":
		return s.VehicleRangeFactor
	case "radio.frequency_mhz":
		return s.Frequency
	case "radio.polarisation":
		return s.Polarisation
	case "radio.effective_radius_km":
		return s.EffectiveRadius
	case "radio.shadowing_sd_db":
		return s.ShadowingSD
	case "radio.reliability":
		return s.Reliability
	case "radio.required_margin_db":
		return s.RequiredMargin
	case "radio.max_hops":
		return float64(s.MaxHops)
	case "radio.message_s":
		return s.Traffic.Message
	case "radio.copies":
		return float64(s.Traffic.Copies)
	case "radio.bandwidth_khz":
		return s.Traffic.Bandwidth
	case "radio.storm_alarms":
		return float64(s.Traffic.StormAlarms)
	case "radio.storm_s":
		return s.Traffic.StormWindow
	case "addresses.switches":
		return float64(s.Addresses.Switches)
	case "addresses.order":
		return s.Addresses.Order
	case "addresses.base":
		return float64(s.Addresses.Base)
	case "addresses.reserved":
		return s.Addresses.ReservedText()
	case "spares.share":
		return s.Spares.Share
	case "spares.least":
		return float64(s.Spares.Least)
	case "batteries.usable":
		return s.Batteries.Usable
	case "batteries.most_years":
		return s.Batteries.MostYears
	case "north.declination_deg":
		return s.Declination
	case "north.on":
		return s.DeclinationOn
	case "national_grid.crs":
		return s.NationalGrid
	case "way_in.probability":
		return s.WayIn.Probability
	case "way_in.width_m":
		return s.WayIn.Width
	case "response.time_s":
		return s.Response.Time
	case "response.sd_share":
		return s.Response.SDShare
	case "response.communication":
		return s.Response.Communication
	case "response.speed_m_s":
		return s.Response.Speed
	case "response.task_s":
		return s.Response.Task
	case "quotation.reference":
		return s.Quotation.Reference
	case "quotation.valid_until":
		return s.Quotation.ValidUntil
	case "visit.hours":
		return s.Visit.Hours
	case "visit.keys":
		return s.Visit.Keys
	case "visit.parking":
		return s.Visit.Parking
	case "visit.hospital":
		return s.Visit.Hospital
	}
	return nil
}

// mostOffSun is how many hours a clock may be off the sun before a word is said of it.
// Chosen: no clock in general use is further off, summer time left aside.
const mostOffSun = 3.25

// oddSetting says what is odd about a setting that is allowed: a date that is no day, a
// clock of another part of the world. "" is nothing.
func oddSetting(p *model.Plan, path string) string {
	s := &p.Settings
	switch {
	case path == "date" && s.Date != "":
		if _, err := model.ParseDay(s.Date); err != nil {
			return fmt.Sprintf("Date: %v. It is printed as it stands", err)
		}
	case path == "time_zone" && s.Clock != nil:
		at, ok := anywhere(p)
		if !ok {
			break
		}
		// The nearer of winter and summer time, round the day line too.
		off := math.Inf(1)
		for _, m := range []time.Month{time.January, time.July} {
			_, seconds := time.Date(2027, m, 1, 12, 0, 0, 0, s.Clock).Zone()
			off = min(off, math.Abs(math.Remainder(float64(seconds)/3600-at[0]/15, 24)))
		}
		if off > mostOffSun {
			return fmt.Sprintf("Time zone: the clocks of %s are %.0f hours off the sun at the site, which lies at %s° of longitude. Is it the right one?", s.TimeZone, off, number(math.Round(at[0]*10)/10))
		}
	}
	return ""
}

// anywhere is a place of the plan; ok is false where it has none.
func anywhere(p *model.Plan) (at orb.Point, ok bool) {
	for _, f := range p.Features {
		if f.Geometry != nil && !f.Geometry.Bound().IsEmpty() {
			return f.Geometry.Bound().Center(), true
		}
	}
	return at, false
}
