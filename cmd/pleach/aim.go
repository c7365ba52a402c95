package main

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/pattern"
)

var aimCommand = command{
	name:    "aim",
	args:    "PLAN SENSOR [--reach METRES] [--json]",
	summary: "where a sensor points, in words for the installer, and the tilt for a wanted reach",
	help: `SENSOR is the id of a sensor of the plan. Says where its axis meets the ground or
what it meets before, the bearing true and magnetic, the dead zone before the
mount and the far reach, each half a degree of tilt up and down too. The plan is
not changed.

  --reach METRES   above 0 to 500: proposes the steepest tilt that puts the far
                   edge of the pattern so far along the axis, to the tenth of a
                   degree that a bracket can be set to
  --json           the same, for programs; there the tilt as reckoned too`,
	run: runAim,
}

// aimStep is the error of tilt that is shown, in degrees (method, detection 3).
const aimStep = 0.5

func runAim(args []string, out, notes io.Writer) (int, error) {
	var wanted string
	var asJSON bool
	rest, err := parse("aim", args, text("--reach", &wanted), toggle("--json", &asJSON))
	if err != nil {
		return bad, err
	}
	switch len(rest) {
	case 0:
		return bad, usage("aim: the plan and the sensor are missing: see pleach help aim")
	case 1:
		return bad, usage("aim: the sensor's id is missing after the plan: see pleach help aim")
	case 2:
	default:
		return bad, usage("aim: %q is one argument too many: see pleach help aim", rest[2])
	}
	path, id := rest[0], rest[1]
	var reach float64
	if wanted != "" {
		if reach, err = number("aim", "--reach", wanted, 0, aim.Far, true); err != nil {
			return bad, err
		}
	}
	if !isFile(path) && isFile(id) {
		return bad, usage("aim: the plan comes first, then the sensor: pleach aim %s %s", id, path)
	}
	p, err := readPlan(path)
	if err != nil {
		return bad, err
	}
	sc, err := layScene(path, p, notes)
	if err != nil {
		return bad, err
	}
	a, err := aim.Of(sc, id)
	if err != nil {
		return bad, fmt.Errorf("%s: %w", path, err)
	}
	var proposed, exact *aim.Aim
	if reach > 0 {
		tilt, err := a.TiltFor(reach)
		if err != nil {
			return bad, fmt.Errorf("%s: %w", path, err)
		}
		exact = a.Tilted(rounded(tilt, 4))
		set, _ := a.NearestSetting(tilt, reach)
		proposed = a.Tilted(set)
	}
	if asJSON {
		return done, writeJSON(out, aimReport(p, a, exact, proposed, reach))
	}
	return done, writeAim(out, p, a, proposed, reach)
}

// An aimJSON is what aim --json prints. Lengths are metres, angles degrees.
type aimJSON struct {
	Sensor      string      `json:"sensor"`
	Name        string      `json:"name,omitempty"`
	Model       string      `json:"model"`
	At          orb.Point   `json:"at"`
	MountHeight float64     `json:"mount_height_m"`
	FixedTo     string      `json:"fixed_to,omitempty"`
	Inside      string      `json:"inside,omitempty"`
	Bearing     float64     `json:"bearing_deg"`
	Magnetic    float64     `json:"magnetic_bearing_deg"`
	Declination float64     `json:"declination_deg"`
	On          string      `json:"declination_on,omitempty"`
	Stated      bool        `json:"declination_stated"`
	Aside       float64     `json:"judged_aside_deg"`
	AsPlanned   aimedJSON   `json:"as_planned"`
	Tilts       []aimedJSON `json:"half_a_degree"`
	Wanted      *float64    `json:"wanted_reach_m,omitempty"`
	Proposed    *aimedJSON  `json:"proposed,omitempty"`         // as reckoned
	Setting     *aimedJSON  `json:"proposed_setting,omitempty"` // to a tenth of a degree
}

// An aimedJSON is what holds at one tilt.
type aimedJSON struct {
	Tilt    float64      `json:"tilt_deg"`
	Axis    axisJSON     `json:"axis"`
	Middle  *float64     `json:"axis_at_mid_height_m"`
	Targets []targetJSON `json:"targets"`
}

type axisJSON struct {
	Meets    string        `json:"meets"`
	On       string        `json:"on,omitempty"`
	Distance *float64      `json:"distance_m"`
	At       *orb.Point    `json:"at"`
	Height   *float64      `json:"height_m"`
	Through  []string      `json:"through"`
	Near     *nearJSON     `json:"near"`
	Boundary *boundaryJSON `json:"boundary"`
	Known    bool          `json:"ground_known"`
}

type nearJSON struct {
	ID       string  `json:"id"`
	Distance float64 `json:"distance_m"`
	Text     string  `json:"text"`
}

type boundaryJSON struct {
	ID       string  `json:"id"`
	Chainage float64 `json:"at_m"`
	Distance float64 `json:"distance_m"`
	Inside   bool    `json:"inside"`
}

type targetJSON struct {
	Name       string       `json:"name"`
	Height     float64      `json:"height_m"`
	MinVisible float64      `json:"min_visible"`
	Dead       *float64     `json:"dead_zone_m"`
	Far        *float64     `json:"far_m"`
	FarBy      string       `json:"far_by,omitempty"`
	By         string       `json:"by,omitempty"`
	Seen       [][2]float64 `json:"seen"`
	Why        string       `json:"why_not,omitempty"`
}

func aimReport(p *model.Plan, a, exact, proposed *aim.Aim, reach float64) aimJSON {
	r := aimJSON{Sensor: a.Sensor.ID, Name: a.Sensor.Name, Model: a.Model.ID, At: lonLat(a.LonLat(a.Eye.At)), MountHeight: a.Mount, FixedTo: a.Eye.Fixed,
		Inside: a.Eye.Buried, Bearing: a.Bearing, Magnetic: rounded(a.Magnetic, 6), Declination: a.Declination, On: a.DeclinationOn, Stated: a.Stated,
		Aside: rounded(a.Aside, 6), AsPlanned: aimed(a)}
	for _, t := range tiltsAbout(a) {
		r.Tilts = append(r.Tilts, aimed(a.Tilted(t)))
	}
	if proposed != nil {
		j, k := aimed(exact), aimed(proposed)
		r.Wanted, r.Proposed, r.Setting = &reach, &j, &k
	}
	return r
}

// tiltsAbout are the tilts half a degree up and down that the contract allows.
func tiltsAbout(a *aim.Aim) (out []float64) {
	for _, t := range []float64{a.Tilt - aimStep, a.Tilt + aimStep} {
		if t >= aim.MinTilt && t <= aim.MaxTilt {
			out = append(out, t)
		}
	}
	return out
}

func aimed(a *aim.Aim) aimedJSON {
	j := aimedJSON{Tilt: a.Tilt, Axis: axisJSON{Meets: meets[a.Axis.What], On: a.Axis.On, Through: a.Axis.Through, Known: a.Axis.Known}}
	if j.Axis.Through == nil {
		j.Axis.Through = []string{}
	}
	if m := a.Axis; m.What != aim.Nothing {
		at := lonLat(m.LonLat)
		j.Axis.Distance, j.Axis.At, j.Axis.Height = length(m.Distance), &at, length(m.Height)
	}
	if n := a.Near; n != nil {
		j.Axis.Near = &nearJSON{n.ID, *length(n.Distance), n.Text}
	}
	if b := a.Boundary; b != nil {
		j.Axis.Boundary = &boundaryJSON{b.ID, *length(b.Chainage), *length(b.Distance), b.Inside}
	}
	if m := a.Middle; m.What == aim.Ground {
		j.Middle = length(m.Distance)
	}
	for _, t := range append([]aim.Reach{a.Target}, a.Postures...) {
		k := targetJSON{Name: t.Name, Height: t.Target.Height, MinVisible: t.Target.MinVisible, By: t.HiddenBy, Why: t.Why, Seen: [][2]float64{}}
		if k.Name == "" {
			k.Name = "target"
		}
		for _, s := range t.Seen {
			k.Seen = append(k.Seen, [2]float64{*length(s.From), *length(s.To)})
			k.FarBy = ends[s.End]
		}
		if d, ok := t.Dead(); ok {
			far, _ := t.Far()
			k.Dead, k.Far = length(d), length(far)
		}
		j.Targets = append(j.Targets, k)
	}
	return j
}

func rounded(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k)/k + 0 // no minus before a nought
}

// length is a member in metres, to a millimetre.
func length(v float64) *float64 {
	v = rounded(v, 3)
	return &v
}

// lonLat is a place to 9 decimals, as in the check report.
func lonLat(p orb.Point) orb.Point { return orb.Point{rounded(p[0], 9), rounded(p[1], 9)} }

var meets = map[aim.Met]string{aim.Nothing: "nothing", aim.Ground: "ground", aim.Wall: "wall", aim.Roof: "roof"}

// ends names what ends a pattern, for programs.
var ends = map[pattern.Bound]string{pattern.NoBound: "range", pattern.RangeBound: "range", pattern.BottomBound: "lower-limit", pattern.TopBound: "upper-limit",
	pattern.ThinBound: "thin", pattern.HiddenBound: "hidden", pattern.WallBound: "wall"}

// writeAim writes the aim in words.
func writeAim(w io.Writer, p *model.Plan, a, proposed *aim.Aim, reach float64) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s, %s\n\n", printable(aim.Title(p, a.Sensor.ID)), printable(a.Model.ID))
	row := func(what, format string, args ...any) {
		for i, l := range wrapped(printable(fmt.Sprintf(format, args...)), 60) {
			if i > 0 {
				what = ""
			}
			fmt.Fprintf(&b, "  %-10s %s\n", printable(what), l)
		}
	}
	stand := "on its post"
	switch {
	case a.Eye.Buried != "":
		stand = "inside " + aim.Title(p, a.Eye.Buried) + ", where it sees nothing"
	case a.Eye.Fixed != "":
		stand = "on the wall of " + aim.Title(p, a.Eye.Fixed)
	}
	row("Mount", "%s m above the ground, %s, at %s", short(a.Mount), stand, place(a.LonLat(a.Eye.At)))
	row("Bearing", "%s° true", angle(a.Bearing))
	row("Magnetic", "%s", magnetic(a))
	row("Tilt", "%s", tilt(a.Tilt))
	row("Axis", "%s", axis(p, a))
	if m := a.Middle; m.What == aim.Ground && a.Axis.What == aim.Ground {
		row("", "It is at mid-height of a target of %s m at %s.", short(a.Target.Target.Height), far(m.Distance))
	}
	if a.Aside != 0 {
		side := "right"
		if a.Aside < 0 {
			side = "left"
		}
		row("Seen", "judged %s° to the %s of the axis, where the nearest far-reaching lobe lies", angle(math.Abs(a.Aside)), side)
	}
	for _, t := range append([]aim.Reach{a.Target}, a.Postures...) {
		name := "Target"
		if t.Name != "" {
			r := []rune(t.Name)
			r[0] = unicode.ToUpper(r[0])
			name = string(r)
		}
		row(name, "%s", seen(p, t))
	}
	b.WriteString("\n")
	writeTilts(&b, a, proposed)
	if proposed != nil {
		b.WriteString("\n")
		reached, _ := proposed.Target.Far()
		row("Proposed", "For a reach of %s m: tilt %s in place of %s. The far edge then lies at %s.%s The plan is not changed.",
			short(reach), tilt(proposed.Tilt), tilt(a.Tilt), far(reached), halfADegree(proposed))
	}
	b.WriteString("\n  Predicted, for planning: the walk test on site proves it.\n")
	_, err := w.Write(b.Bytes())
	return err
}

// writeTilts writes what half a degree does, and the proposal.
func writeTilts(b *bytes.Buffer, a, proposed *aim.Aim) {
	const columns = "  %10s %16s %12s %10s"
	fmt.Fprintf(b, columns+"\n", "Tilt", "Axis on ground", "Dead zone", "Reach")
	line := func(x *aim.Aim, note string) {
		on, dead, reach := "none", "none", "none"
		switch x.Axis.What {
		case aim.Ground:
			on = far(x.Axis.Distance)
		case aim.Wall, aim.Roof:
			on = "stopped"
		}
		if d, ok := x.Target.Dead(); ok {
			r, _ := x.Target.Far()
			dead, reach = far(d), far(r)
		}
		fmt.Fprintf(b, columns+"   %s\n", angle(x.Tilt)+"°", on, dead, reach, note)
	}
	about := tiltsAbout(a)
	for _, v := range about {
		if v < a.Tilt {
			line(a.Tilted(v), "half a degree up")
		}
	}
	line(a, "as planned")
	for _, v := range about {
		if v > a.Tilt {
			line(a.Tilted(v), "half a degree down")
		}
	}
	if proposed != nil {
		line(proposed, "proposed")
	}
}

// halfADegree says where the far edge lies half a degree either way.
func halfADegree(a *aim.Aim) (s string) {
	for _, v := range tiltsAbout(a) {
		way := "up"
		if v > a.Tilt {
			way = "down"
		}
		if r, ok := a.Tilted(v).Target.Far(); ok {
			s += fmt.Sprintf(" Half a degree %s: %s.", way, far(r))
		} else {
			s += fmt.Sprintf(" Half a degree %s: nothing is seen.", way)
		}
	}
	return s
}

// magnetic says the magnetic bearing with the declination it rests on.
func magnetic(a *aim.Aim) string {
	if !a.Stated {
		return "not known: the plan states no declination (north.declination_deg)"
	}
	side := " east"
	switch {
	case a.Declination < 0:
		side = " west"
	case a.Declination == 0:
		side = ""
	}
	on := "of no stated date"
	if a.DeclinationOn != "" {
		on = "of " + a.DeclinationOn
	}
	return fmt.Sprintf("%s° (declination %s°%s, %s)", angle(a.Magnetic), angle(math.Abs(a.Declination)), side, on)
}

// axis says where the axis ends.
func axis(p *model.Plan, a *aim.Aim) string {
	m := a.Axis
	var s string
	switch m.What {
	case aim.Nothing:
		s = fmt.Sprintf("does not come down to the ground within %s m", short(aim.Far))
	case aim.Ground:
		s = fmt.Sprintf("meets the ground %s away, at %s", far(m.Distance), place(m.LonLat))
		if a.Near != nil {
			s += ", " + a.Near.Text
		}
		if q := a.Boundary; q != nil {
			side := "outside"
			if q.Inside {
				side = "inside"
			}
			if q.Distance < 0.05 {
				s += fmt.Sprintf("; on the line of %s, %s along", aim.Title(p, q.ID), far(q.Chainage))
			} else {
				s += fmt.Sprintf("; %s %s %s, %s along", far(q.Distance), side, aim.Title(p, q.ID), far(q.Chainage))
			}
		}
	case aim.Wall:
		s = fmt.Sprintf("meets %s %s away, %s above the ground there", aim.Title(p, m.On), far(m.Distance), far(m.Height))
	case aim.Roof:
		s = fmt.Sprintf("meets the top of %s %s away, %s above the ground there", aim.Title(p, m.On), far(m.Distance), far(m.Height))
	}
	for i, id := range m.Through {
		if i == 0 {
			s += "; through the mesh of "
		} else {
			s += " and "
		}
		s += aim.Title(p, id)
	}
	if m.What != aim.Nothing && !m.Known {
		s += "; beyond the ground that is known"
	}
	return s
}

// seen says from where on and how far a target is seen.
func seen(p *model.Plan, r aim.Reach) string {
	who := fmt.Sprintf("%s m tall", short(r.Target.Height))
	dead, ok := r.Dead()
	if !ok {
		return who + ": not seen along the axis, as " + r.Why
	}
	reach, _ := r.Far()
	s := fmt.Sprintf("%s: dead zone %s, seen to %s, where %s", who, far(dead), far(reach), ending(p, r))
	for i := 1; i < len(r.Seen); i++ {
		if i == 1 {
			s += "; not from "
		} else {
			s += ", "
		}
		s += fmt.Sprintf("%s to %s", far(r.Seen[i-1].To), far(r.Seen[i].From))
	}
	return s
}

// ending says what ends the pattern for a target.
func ending(p *model.Plan, r aim.Reach) string {
	switch r.Seen[len(r.Seen)-1].End {
	case pattern.TopBound:
		return "its upper limit comes down too low"
	case pattern.BottomBound:
		return "its lower limit rises too high"
	case pattern.HiddenBound, pattern.WallBound:
		if r.HiddenBy != "" {
			return aim.Title(p, r.HiddenBy) + " stands in the way"
		}
		return "the ground hides what is behind"
	}
	return "its range ends"
}

func far(v float64) string {
	if v < 99.95 {
		return fmt.Sprintf("%.1f m", v)
	}
	return fmt.Sprintf("%.0f m", v)
}

// angle prints degrees, two decimals at most and none that are 0.
func angle(v float64) string {
	s := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

func tilt(v float64) string {
	switch {
	case v > 0:
		return angle(v) + "° down"
	case v < 0:
		return angle(-v) + "° up"
	}
	return "level"
}

// place prints longitude and latitude to 6 decimals, a decimetre.
func place(p orb.Point) string { return fmt.Sprintf("%.6f, %.6f", p[0], p[1]) }

// wrapped cuts text into lines of at most width characters where it has spaces.
func wrapped(s string, width int) (lines []string) {
	line := ""
	n := 0
	for _, word := range strings.Fields(s) {
		l := len([]rune(word))
		if n > 0 && n+1+l > width {
			lines = append(lines, line)
			line, n = "", 0
		}
		if n > 0 {
			line += " "
			n++
		}
		line += word
		n += l
	}
	return append(lines, line)
}
