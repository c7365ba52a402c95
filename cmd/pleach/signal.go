package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/aim"
	"pleach/model/analysis"
	"pleach/model/contrast"
	"pleach/model/scene"
	"pleach/model/signal"
)

var signalCommand = command{
	name: "signal",
	args: "PLAN SENSOR [--distance M or --at CHAINAGE] [--air C] [--background C] [--series FILE.csv] [--json]",
	summary: "a crossing's signal against that of the walk test, in decibels, and the low-contrast\n" +
		"      hours of a temperature series",
	help: `SENSOR is the id of a sensor of the plan. Says how much weaker or stronger the
sensor's signal of one crossing is than in the condition it was walk-tested in, and
what direction, speed, season and fog would do to it, with the uncertainty. It is a
ratio: no range and no probability of detection follows from it. Without a place
the crossing is at the far reach along the axis.

The crossing:
  --distance METRES     1 to 500, along the axis
  --at CHAINAGE         where it crosses a boundary, in metres, straight inwards
  --boundary ID         which boundary, where there are several
  --heading DEGREES     path to line of sight: 90 across, 0 straight at the sensor
  --speed M/S           0.01 to 60, unless stated 1
  --air C               air, unless stated as walk-tested
  --background C        ground seen behind the target, unless stated as walk-tested
  --clothing SHARE      0 bare skin to 1 as warm as the air, unless stated as tested
  --fog METRES          visibility in fog, 10 or more
  --rain MM             millimetres an hour

The walk test, in place of what the plan's readings state:
  --tested READING      the id of the walk test to go by; else the latest one that
                        states both temperatures
  --tested-distance, --tested-speed, --tested-heading, --tested-air,
  --tested-background, --tested-clothing

Low-contrast hours:
  --series FILE.csv     columns time,air_c,background_c, the last may be absent;
                        times as 2026-07-14T13:00:00Z
  --threshold KELVIN    above 0 to 20, unless stated 1.7

  --json                the same, for programs`,
	run: runSignal,
}

// signalOptions are the options as they were given.
type signalOptions struct {
	distance, at, boundary, heading, speed, air, background, clothing, fog, rain                    string
	tested, testedDistance, testedSpeed, testedHeading, testedAir, testedBackground, testedClothing string
	series, threshold                                                                               string
	json                                                                                            bool
}

func runSignal(args []string, out, notes io.Writer) (int, error) {
	var o signalOptions
	rest, err := parse("signal", args, text("--distance", &o.distance), text("--at", &o.at), text("--boundary", &o.boundary), text("--heading", &o.heading),
		text("--speed", &o.speed), text("--air", &o.air), text("--background", &o.background), text("--clothing", &o.clothing), text("--fog", &o.fog), text("--rain", &o.rain),
		text("--tested", &o.tested), text("--tested-distance", &o.testedDistance), text("--tested-speed", &o.testedSpeed), text("--tested-heading", &o.testedHeading),
		text("--tested-air", &o.testedAir), text("--tested-background", &o.testedBackground), text("--tested-clothing", &o.testedClothing),
		text("--series", &o.series), text("--threshold", &o.threshold), toggle("--json", &o.json))
	if err != nil {
		return bad, err
	}
	switch {
	case len(rest) == 0:
		return bad, usage("signal: the plan and the sensor are missing: see pleach help signal")
	case len(rest) == 1:
		return bad, usage("signal: the sensor's id is missing after the plan: see pleach help signal")
	case len(rest) > 2:
		return bad, usage("signal: %q is one argument too many: see pleach help signal", rest[2])
	case o.distance != "" && o.at != "":
		return bad, usage("signal: --distance and --at name two places: keep one")
	case o.boundary != "" && o.at == "":
		return bad, usage("signal: --boundary is for --at CHAINAGE")
	case o.threshold != "" && o.series == "":
		return bad, usage("signal: --threshold is for --series FILE.csv")
	}
	path, id := rest[0], rest[1]
	if !isFile(path) && isFile(id) {
		return bad, usage("signal: the plan comes first, then the sensor: pleach signal %s %s", id, path)
	}
	p, err := readPlan(path)
	if err != nil {
		return bad, err
	}
	sc, err := layScene(path, p, notes)
	if err != nil {
		return bad, err
	}
	s, err := signal.Of(sc, id)
	if err != nil {
		return bad, fmt.Errorf("%s: %w", path, err)
	}
	r := signalReport{sensor: s, plan: p}
	if r.place, err = o.place(path, s); err != nil {
		return bad, err
	}
	if r.tested, err = o.reference(path, s, r.place); err != nil {
		return bad, err
	}
	if r.now, err = o.now(s, r.place, r.tested); err != nil {
		return bad, err
	}
	if r.rows, err = s.Table(r.now, r.tested); err != nil {
		return bad, prefixed("signal", err)
	}
	if o.series != "" {
		if err := r.readHours(o, sc); err != nil {
			return bad, err
		}
	}
	if o.json {
		return done, writeJSON(out, r.json())
	}
	return done, r.write(out)
}

// prefixed puts what an error is about before each of its lines.
func prefixed(what string, err error) error {
	var all []error
	for _, l := range strings.Split(err.Error(), "\n") {
		all = append(all, fmt.Errorf("%s: %s", what, l))
	}
	return errors.Join(all...)
}

// place is where the crossing is.
func (o *signalOptions) place(path string, s *signal.Sensor) (p signal.Place, err error) {
	switch {
	case o.at != "":
		v, err := number("signal", "--at", o.at, 0, math.MaxFloat64, false)
		if err != nil {
			return p, usage("signal: --at %q is not a chainage in metres", o.at)
		}
		if p, err = s.On(o.boundary, v); err != nil {
			return p, fmt.Errorf("%s: %w", path, err)
		}
	case o.distance != "":
		v, err := number("signal", "--distance", o.distance, contrast.MinDistance, contrast.MaxDistance, false)
		if err != nil {
			return p, err
		}
		p = s.Ahead(v)
	default:
		far, ok := s.Far()
		if !ok {
			return p, fmt.Errorf("%s: sensor %s sees nothing along its axis: state --distance or --at", path, s.Feature.ID)
		}
		p = far
	}
	if o.heading != "" {
		if p.Heading, err = number("signal", "--heading", o.heading, 0, 180, false); err != nil {
			return p, err
		}
	}
	return p, nil
}

// reference is the walk-tested condition.
func (o *signalOptions) reference(path string, s *signal.Sensor, p signal.Place) (signal.Tested, error) {
	t, err := s.Tested(o.tested, p.Distance)
	if err != nil {
		return t, fmt.Errorf("%s: %w", path, err)
	}
	if o.testedDistance != "" {
		v, err := number("signal", "--tested-distance", o.testedDistance, contrast.MinDistance, contrast.MaxDistance, false)
		if err != nil {
			return t, err
		}
		s.SetDistance(&t, v)
	}
	for _, q := range []struct {
		option, value, name string
		of                  *float64
	}{
		{"--tested-speed", o.testedSpeed, signal.Speed, &t.Speed}, {"--tested-heading", o.testedHeading, signal.Direction, &t.Heading},
		{"--tested-air", o.testedAir, signal.Air, &t.Air}, {"--tested-background", o.testedBackground, signal.Ground, &t.Background},
		{"--tested-clothing", o.testedClothing, signal.Clothes, &t.Clothing},
	} {
		if q.value == "" {
			continue
		}
		l := limits[strings.TrimPrefix(q.option, "--tested-")]
		v, err := number("signal", q.option, q.value, l[0], l[1], false)
		if err != nil {
			return t, err
		}
		*q.of = v
		t.State(q.name)
	}
	return t, nil
}

// limits are the least and the greatest value of the options, which package contrast
// keeps too.
var limits = map[string][2]float64{
	"speed": {contrast.MinSpeed, contrast.MaxSpeed}, "heading": {0, 180}, "air": {contrast.MinAir, contrast.MaxAir},
	"background": {contrast.MinBackground, contrast.MaxBackground}, "clothing": {0, 1}, "fog": {contrast.MinVisibility, 1e6}, "rain": {0, contrast.MaxRain},
}

// now is the crossing that is asked about.
func (o *signalOptions) now(s *signal.Sensor, p signal.Place, t signal.Tested) (contrast.Condition, error) {
	c := s.Crossing(p, t.Condition)
	c.Speed = 1
	for _, q := range []struct {
		option, value string
		of            *float64
	}{
		{"speed", o.speed, &c.Speed}, {"air", o.air, &c.Air}, {"background", o.background, &c.Background}, {"clothing", o.clothing, &c.Clothing},
		{"fog", o.fog, &c.Visibility}, {"rain", o.rain, &c.Rain},
	} {
		if q.value == "" {
			continue
		}
		l := limits[q.option]
		v, err := number("signal", "--"+q.option, q.value, l[0], l[1], false)
		if err != nil {
			return c, err
		}
		*q.of = v
	}
	return c, nil
}

// signalReport is all that the command tells.
type signalReport struct {
	plan   *model.Plan
	sensor *signal.Sensor
	place  signal.Place
	now    contrast.Condition
	tested signal.Tested
	rows   []signal.Row

	file      string
	threshold float64
	clock     string
	zone      *time.Location
	hours     *signal.Hours
}

// readHours reads the temperature series.
func (r *signalReport) readHours(o signalOptions, sc *scene.Scene) (err error) {
	r.file, r.threshold = o.series, contrast.Threshold
	if o.threshold != "" {
		if r.threshold, err = number("signal", "--threshold", o.threshold, 0, 20, true); err != nil {
			return err
		}
	}
	series, err := planfile.ReadTable(o.series, "temperature series", contrast.MaxBytes, contrast.ReadSeries)
	if err != nil {
		return err
	}
	r.clock, r.zone = analysis.Clock(r.plan.Settings, sc.Grid.Lon0)
	h := signal.LowHours(series, r.now.Clothing, r.threshold, r.zone)
	r.hours = &h
	return nil
}

// conditionJSON is one condition. Lengths are metres, angles degrees, temperatures
// degrees Celsius.
type conditionJSON struct {
	Distance   float64  `json:"distance_m"`
	Height     float64  `json:"above_target_m"`
	Heading    float64  `json:"heading_deg"`
	Speed      float64  `json:"speed_m_s"`
	Air        float64  `json:"air_c"`
	Background float64  `json:"background_c"`
	Clothing   float64  `json:"clothing"`
	Surface    float64  `json:"target_surface_c"`
	Visibility *float64 `json:"visibility_m"`
	Rain       float64  `json:"rain_mm_h"`
}

func conditionOf(c contrast.Condition) conditionJSON {
	j := conditionJSON{Distance: rounded(c.Distance, 3), Height: rounded(c.Height, 3), Heading: rounded(c.Heading, 3), Speed: c.Speed, Air: c.Air, Background: c.Background,
		Clothing: c.Clothing, Surface: rounded(c.Surface(), 3), Rain: c.Rain}
	if c.Visibility > 0 {
		j.Visibility = &c.Visibility
	}
	return j
}

type signalRowJSON struct {
	Name        string        `json:"name"`
	Condition   conditionJSON `json:"condition"`
	DB          float64       `json:"relative_db"`
	Uncertainty float64       `json:"uncertainty_db"`
	Contrast    float64       `json:"contrast_db"`
	Filling     float64       `json:"filling_db"`
	Movement    float64       `json:"movement_db"`
	Air         float64       `json:"air_db"`
	Reversed    bool          `json:"reversed"`
	Ceiling     bool          `json:"at_most"`
}

type signalJSON struct {
	Sensor   string          `json:"sensor"`
	Name     string          `json:"name,omitempty"`
	Model    string          `json:"model"`
	Optics   opticsJSON      `json:"optics"`
	Boundary *string         `json:"boundary"`
	At       *float64        `json:"at_m"`
	Unseen   string          `json:"unseen,omitempty"`
	Tested   testedJSON      `json:"tested"`
	Rows     []signalRowJSON `json:"signals"`
	Claim    string          `json:"claim"`
	Hours    *hoursJSON      `json:"low_contrast,omitempty"`
}

type opticsJSON struct {
	Width   float64 `json:"zone_width_deg"`
	Height  float64 `json:"zone_height_deg"`
	Period  float64 `json:"zone_period_deg"`
	Low     float64 `json:"low_hz"`
	High    float64 `json:"high_hz"`
	Assumed bool    `json:"assumed"`
}

type testedJSON struct {
	Reading   *string       `json:"reading"`
	Condition conditionJSON `json:"condition"`
	Assumed   []string      `json:"assumed"`
}

type hoursJSON struct {
	File      string          `json:"file"`
	From      string          `json:"from"`
	To        string          `json:"to"`
	Threshold float64         `json:"threshold_k"`
	Clothing  float64         `json:"clothing"`
	Clock     string          `json:"time_zone"`
	Measured  bool            `json:"background_measured"`
	Known     float64         `json:"known_h"`
	Low       float64         `json:"low_h"`
	Share     float64         `json:"share"`
	ByMonth   [12][24]float64 `json:"by_month_and_hour_h"`
	OfMonth   [12][24]float64 `json:"known_by_month_and_hour_h"`
	Longest   []spellJSON     `json:"longest"`
}

type spellJSON struct {
	From  string  `json:"from"`
	To    string  `json:"to"`
	Hours float64 `json:"hours"`
	Least float64 `json:"least_k"`
}

func (r *signalReport) json() signalJSON {
	s := r.sensor
	z := s.Zone
	j := signalJSON{Sensor: s.Feature.ID, Name: s.Feature.Name, Model: s.Feature.Value.(*model.Sensor).Model, Claim: signal.Claim,
		Optics: opticsJSON{z.Wide, z.High, z.Period, z.Slow, z.Fast, len(s.Assumed) > 0},
		Tested: testedJSON{Condition: conditionOf(r.tested.Condition), Assumed: append([]string{}, r.tested.Assumed...)}}
	if f := r.tested.Reading; f != nil {
		j.Tested.Reading = &f.ID
	}
	if r.place.Boundary != "" {
		j.Boundary, j.At = &r.place.Boundary, length(r.place.Chainage)
	}
	j.Unseen = s.Unseen(r.place)
	for _, w := range r.rows {
		j.Rows = append(j.Rows, signalRowJSON{w.Name, conditionOf(w.Now), rounded(w.DB, 3), rounded(w.Uncertainty, 3), rounded(w.Contrast, 3), rounded(w.Filling, 3),
			rounded(w.Movement, 3), rounded(w.Signal.Air, 3), w.Reversed, w.Faded})
	}
	if h := r.hours; h != nil {
		j.Hours = &hoursJSON{File: r.file, From: h.From.Format(time.RFC3339), To: h.To.Format(time.RFC3339), Threshold: r.threshold, Clothing: r.now.Clothing, Clock: r.clock,
			Measured: h.Measured, Known: hours(h.Known), Low: hours(h.Low), Share: rounded(h.Share(), 6), Longest: []spellJSON{}}
		for m := range 12 {
			for k := range 24 {
				j.Hours.ByMonth[m][k], j.Hours.OfMonth[m][k] = hours(h.ByMonth[m][k]), hours(h.KnownByMonth[m][k])
			}
		}
		for _, l := range h.Longest {
			j.Hours.Longest = append(j.Hours.Longest, spellJSON{l.From.In(r.zone).Format(time.RFC3339), l.To.In(r.zone).Format(time.RFC3339), hours(l.Duration()), rounded(l.Least, 3)})
		}
	}
	return j
}

func hours(d time.Duration) float64 { return rounded(d.Hours(), 3) }

// write writes it as text.
func (r *signalReport) write(w io.Writer) error {
	var b bytes.Buffer
	s := r.sensor
	fmt.Fprintf(&b, "%s, %s\n\n", printable(aim.Title(r.plan, s.Feature.ID)), printable(s.Feature.Value.(*model.Sensor).Model))
	row := func(what, format string, args ...any) {
		for i, l := range wrapped(printable(fmt.Sprintf(format, args...)), 62) {
			if i > 0 {
				what = ""
			}
			fmt.Fprintf(&b, "  %-12s %s\n", what, l)
		}
	}
	where := "along the axis"
	if r.place.Boundary != "" {
		where = fmt.Sprintf("at %s along %s", far(r.place.Chainage), aim.Title(r.plan, r.place.Boundary))
	}
	row("Crossing", "%s, %s", where, conditionWords(r.now))
	if why := s.Unseen(r.place); why != "" {
		row("Not seen", "%s; the figures below are of a crossing that is", why)
	}
	from := "no walk test in the plan states its temperatures"
	if f := r.tested.Reading; f != nil {
		rd := f.Value.(*model.Reading)
		from = "reading " + f.ID
		if rd.At != "" {
			from += " of " + rd.At
		}
		if rd.By != "" {
			from += ", by " + rd.By
		}
	}
	if n := len(r.tested.Assumed); n > 0 && n < len(signal.Quantities) {
		from += "; assumed: " + strings.Join(r.tested.Assumed, ", ")
	} else if n > 0 {
		from += "; all of it is assumed"
	}
	row("Walk-tested", "%s (%s)", conditionWords(r.tested.Condition), from)
	z := s.Zone
	optics := fmt.Sprintf("zones %g° by %g°, one every %g°, %g to %g Hz", z.Wide, z.High, z.Period, z.Slow, z.Fast)
	switch n := len(s.Assumed); {
	case n == signal.OpticsFigures:
		optics += " (typical figures, from memory: state optics in the sensor model)"
	case n > 0:
		optics += " (typical figures, from memory: " + strings.Join(s.Assumed, ", ") + ")"
	}
	row("Optics", "%s", optics)
	b.WriteString("\n  Signal against the walk-tested condition, dB\n")
	const columns = "  %-44s %12s %7s %6s %6s %6s"
	b.WriteString(strings.TrimRight(fmt.Sprintf(columns, "", "relative", "heat", "size", "way", "air"), " ") + "\n")
	for _, w := range r.rows {
		less, star := "", ""
		if w.Faded {
			less = "<"
		}
		if w.Reversed {
			star = "*"
		}
		name := w.Name
		if w.Detail != "" {
			name += ", " + w.Detail
		}
		fmt.Fprintf(&b, columns+"\n", name+star, fmt.Sprintf("%s%s ±%.0f", less, signed(w.DB), w.Uncertainty), signed(w.Contrast), signed(w.Filling), signed(w.Movement), signed(w.Signal.Air))
	}
	b.WriteString("\n")
	for _, l := range wrapped("Heat: temperatures of target and ground. Size: how much of a zone the target fills. Way: speed, direction and distance. Air: fog and rain at their worst. "+
		"Each row after the first changes one thing.", 74) {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	if slices.ContainsFunc(r.rows, func(w signal.Row) bool { return w.Reversed }) {
		b.WriteString("  * The ground is the warmer: the target shows as a cold spot.\n")
	}
	if slices.ContainsFunc(r.rows, func(w signal.Row) bool { return w.Faded }) {
		b.WriteString("  < Target and ground are as good as equally warm: the figure is a ceiling.\n")
	}
	for _, l := range wrapped(signal.Claim, 74) {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	if r.hours != nil {
		r.writeHours(&b)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// signed writes decibels with their sign and without false decimals.
func signed(db float64) string {
	v := math.Round(db)
	switch {
	case v > 0:
		return fmt.Sprintf("+%.0f", v)
	case v < 0:
		return fmt.Sprintf("−%.0f", -v)
	}
	return "0"
}

func celsius(v float64) string { return strings.Replace(short(rounded(v, 1)), "-", "−", 1) + " °C" }

// conditionWords says a condition in one line.
func conditionWords(c contrast.Condition) string {
	way := fmt.Sprintf("at %s° to the line of sight", angle(rounded(c.Heading, 0)))
	switch {
	case c.Heading == 90:
		way = "across the view"
	case c.Heading == 0:
		way = "straight at the sensor"
	}
	s := fmt.Sprintf("%s away, %s at %s m/s, air %s, ground %s, clothing %s (surface %s)", far(c.Distance), way, short(c.Speed), celsius(c.Air), celsius(c.Background), short(c.Clothing), celsius(c.Surface()))
	if c.Visibility > 0 {
		s += fmt.Sprintf(", fog with a visibility of %s m", short(c.Visibility))
	}
	if c.Rain > 0 {
		s += fmt.Sprintf(", rain of %s mm/h", short(c.Rain))
	}
	return s
}

// writeHours writes the low-contrast hours.
func (r *signalReport) writeHours(b *bytes.Buffer) {
	h := r.hours
	para := func(format string, args ...any) {
		for _, l := range wrapped(printable(fmt.Sprintf(format, args...)), 76) {
			fmt.Fprintf(b, "  %s\n", l)
		}
	}
	fmt.Fprintf(b, "\n  Low-contrast hours\n\n")
	para("%s, %s to %s: %.0f of %.0f hours (%.1f %%) with a target surface within %s K of the ground, clothing %s.",
		r.file, h.From.In(r.zone).Format("2 Jan 2006"), h.To.In(r.zone).Format("2 Jan 2006"), h.Low.Hours(), h.Known.Hours(), 100*h.Share(), short(r.threshold), short(r.now.Clothing))
	if !h.Measured {
		para("Where the series states no background the air stands in for it, which flatters: by day sunlit ground is warmer.")
	}
	if h.Low <= 0 {
		return
	}
	para("Hours by month and hour of the day, in %s:", r.clock)
	b.WriteString("\n      ")
	for k := range 24 {
		fmt.Fprintf(b, "%3d", k)
	}
	b.WriteString("    sum\n")
	for m := time.January; m <= time.December; m++ {
		low, known := h.Month(m)
		if known <= 0 {
			continue
		}
		fmt.Fprintf(b, "  %s ", m.String()[:3])
		for k := range 24 {
			switch v := h.ByMonth[m-1][k].Hours(); {
			case v == 0:
				b.WriteString("  .")
			case v < 0.5:
				b.WriteString("  +")
			default:
				fmt.Fprintf(b, "%3.0f", v)
			}
		}
		fmt.Fprintf(b, " %6.0f\n", low.Hours())
	}
	b.WriteString("\n")
	para("A dot is none, a plus is under half an hour. Longest:")
	for _, l := range h.Longest {
		fmt.Fprintf(b, "    %s to %s, %.1f h, to within %.1f K\n", l.From.In(r.zone).Format("2 Jan 2006 15:04"), l.To.In(r.zone).Format("2 Jan 15:04"), l.Duration().Hours(), l.Least)
	}
}
