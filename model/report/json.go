// Package report writes the check report, as JSON for programs and as text for
// a person, from one analysis.Result.
package report

import (
	"encoding/json"
	"io"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
)

// Version is the version of the check report.
const Version = 1

// JSON writes the check report of the plan called name: the same plan gives the
// same bytes. Lengths are metres, losses decibels, places longitude and
// latitude on WGS 84 to 9 decimals, areas drawn as RFC 7946 asks, outer rings
// anticlockwise.
func JSON(w io.Writer, name string, r *analysis.Result) error {
	j := jsonReport{r: r}
	j.b = make([]byte, 0, 64<<10)
	j.open('{')
	j.key("version")
	j.integer(Version)
	j.line()
	j.keyText("plan", name)
	j.line()
	j.key("settings")
	j.settings()
	j.line()
	j.key("site_grid")
	j.open('{')
	j.key("lon_0")
	j.rounded(r.Scene.Grid.Lon0, degreeDecimals)
	j.key("lat_0")
	j.rounded(r.Scene.Grid.Lat0, degreeDecimals)
	j.close('}')
	j.line()
	j.key("boundaries")
	list(&j, r.Boundaries, j.boundary)
	j.line()
	j.key("sensors")
	at := -1
	list(&j, r.Sensors, func(s analysis.Sensor) { at++; j.sensor(at, s) })
	j.line()
	j.key("links")
	at = -1
	list(&j, r.Links, func(l analysis.Link) { at++; j.link(at, l) })
	j.installation()
	j.losses()
	j.radioRules()
	j.calibration()
	j.ways()
	j.line()
	j.key("low_sun")
	j.lowSunBasis()
	j.line()
	j.key("findings")
	list(&j, r.Findings, j.finding)
	j.b = append(j.b, "}\n"...)
	_, err := w.Write(j.b)
	return err
}

type jsonReport struct {
	emitter
	r *analysis.Result
}

// list writes a list, an item a line.
func list[T any](j *jsonReport, items []T, each func(T)) {
	j.open('[')
	for _, item := range items {
		j.line()
		each(item)
	}
	j.close(']')
}

func (j *jsonReport) boundary(b analysis.Boundary) {
	j.open('{')
	j.keyText("id", b.ID)
	j.keyNumber("length_m", b.Length)
	j.keyNumber("closed_m", b.Closed)
	j.coverage(b.Target)
	j.key("postures")
	j.open('[')
	for _, p := range b.Postures {
		j.open('{')
		j.keyText("name", p.Name)
		j.coverage(p)
		j.close('}')
	}
	j.close(']')
	j.close('}')
}

func (j *jsonReport) coverage(c analysis.Coverage) {
	j.keyNumber("covered_m", c.Covered)
	j.key("covered_share")
	j.maybe(c.Share)
	j.keyNumber("overlap_m", c.Overlap)
	j.key("gaps")
	j.open('[')
	for _, g := range c.Gaps {
		j.open('{')
		j.keyNumber("from_m", g.From)
		j.keyNumber("to_m", g.To)
		j.keyNumber("length_m", g.Length)
		j.keyText("cause", string(g.Cause))
		j.key("by")
		j.texts(g.By)
		j.key("middle")
		j.lonLat(j.r.Scene.Grid.ToLonLat(g.Middle))
		j.close('}')
	}
	j.close(']')
}

func (j *jsonReport) sensor(i int, s analysis.Sensor) {
	j.open('{')
	j.keyText("id", s.ID)
	j.keyNumber("footprint_m2", s.Area)
	j.key("footprint")
	j.multiPolygon(s.Footprint)
	j.key("near_m")
	j.maybe(s.Near)
	j.key("far_m")
	j.maybe(s.Far)
	j.keyNumber("foliage_m2", s.Foliage)
	j.keyNumber("foliage_at_25_m_m2", s.FoliageAt25)
	j.key("overspill")
	j.open('[')
	for _, o := range s.Overspill {
		j.open('{')
		j.keyText("class", o.Class)
		j.key("on")
		if o.On == "" {
			j.null()
		} else {
			j.text(o.On)
		}
		j.keyText("for", o.For)
		j.keyNumber("area_m2", o.Area)
		j.key("depth_m")
		j.maybe(o.Depth)
		j.close('}')
	}
	j.close(']')
	j.key("route")
	if s.Route == nil {
		j.null()
	} else {
		j.texts(s.Route)
	}
	j.key("margin_db")
	j.maybe(s.Margin)
	j.second(i)
	if s.Fixed != "" {
		j.keyText("fixed_to", s.Fixed)
	}
	j.key("low_sun")
	j.lowSun(s.LowSun)
	j.key("tilts")
	j.open('[')
	for _, t := range s.Tilts {
		j.open('{')
		j.keyNumber("tilt_deg", t.Tilt)
		j.key("far_m")
		j.maybe(t.Far)
		j.keyNumber("covered_m", t.Covered)
		j.close('}')
	}
	j.close(']')
	j.close('}')
}

func (j *jsonReport) link(i int, l analysis.Link) {
	j.open('{')
	j.keyText("from", l.From)
	j.keyText("to", l.To)
	j.keyNumber("distance_m", l.Distance)
	j.keyNumber("free_space_db", l.FreeSpace)
	j.keyNumber("diffraction_db", l.Diffraction)
	j.keyNumber("single_edge_db", l.SingleEdge)
	j.keyNumber("vegetation_db", l.Vegetation)
	j.keyNumber("building_db", l.Building)
	j.keyNumber("installation_db", l.Installation)
	j.keyNumber("loss_db", l.Loss)
	j.keyNumber("clearance", l.Clearance)
	j.keyNumber("received_dbm", l.Received)
	j.keyNumber("margin_db", l.Margin)
	j.key("probability")
	j.rounded(l.Probability, 9)
	j.key("in_use")
	j.flag(l.InUse)
	j.keyNumber("required_margin_db", l.Required)
	j.key("directions")
	j.open('[')
	for _, d := range l.Directions() {
		j.open('{')
		j.keyText("from", d.From)
		j.keyText("to", d.To)
		j.keyNumber("received_dbm", d.Received)
		j.keyNumber("margin_db", d.Margin)
		j.key("probability")
		j.rounded(d.Probability, 9)
		j.close('}')
	}
	j.close(']')
	if l.Class != "" {
		j.keyText("class", l.Class)
	}
	if l.Corrected {
		j.keyNumber("calibration_db", l.Correction)
	}
	j.worst(i)
	if l.Past != nil {
		j.key("past")
		text, err := json.Marshal(PastOf(l.Past))
		if err != nil {
			panic(err) // it holds nothing but text and finite numbers
		}
		j.raw(text)
	}
	j.close('}')
}

func (j *jsonReport) finding(f model.Finding) {
	j.open('{')
	j.keyText("rule", f.Rule)
	j.keyText("severity", string(f.Severity))
	j.key("subject")
	j.texts(f.Subject)
	j.key("at")
	if f.At == nil {
		j.null()
	} else {
		j.lonLat(*f.At)
	}
	j.keyText("text", f.Text)
	j.keyText("remedy", f.Remedy)
	if f.From != nil {
		j.keyNumber("from_m", *f.From)
	}
	if f.To != nil {
		j.keyNumber("to_m", *f.To)
	}
	if f.Posture != "" {
		j.keyText("posture", f.Posture)
	}
	if f.Accepted != nil {
		j.key("accepted")
		j.accepted(*f.Accepted)
	}
	j.close('}')
}

func (j *jsonReport) accepted(a model.Accepted) {
	j.open('{')
	j.keyText("rule", a.Rule)
	j.key("subject")
	j.texts(a.Subject)
	if a.From != nil {
		j.keyNumber("from_m", *a.From)
	}
	if a.To != nil {
		j.keyNumber("to_m", *a.To)
	}
	if a.Posture != "" {
		j.keyText("posture", a.Posture)
	}
	j.keyText("reason", a.Reason)
	j.keyText("by", a.By)
	j.keyText("at", a.At)
	j.close('}')
}

// degreeDecimals are those of a longitude or latitude: 0.1 mm on the ground.
const degreeDecimals = 9

func (j *jsonReport) lonLat(p orb.Point) {
	j.open('[')
	j.rounded(p[0], degreeDecimals)
	j.rounded(p[1], degreeDecimals)
	j.close(']')
}

// multiPolygon writes areas on the site grid as a GeoJSON geometry.
func (j *jsonReport) multiPolygon(m orb.MultiPolygon) {
	j.b = append(j.b, `{"type":"MultiPolygon","coordinates":`...)
	j.open('[')
	for _, poly := range m {
		j.open('[')
		for i, ring := range poly {
			j.ring(ring, i == 0)
		}
		j.close(']')
	}
	j.close(']')
	j.close('}')
}

// ring writes a ring, closed, anticlockwise where it is an outer one.
func (j *jsonReport) ring(r orb.Ring, outer bool) {
	n := len(r)
	if n > 1 && r[0] == r[n-1] {
		n--
	}
	backwards := (scene.SignedArea(append(r[:n:n], r[0])) > 0) != outer
	j.open('[')
	for i := 0; i <= n; i++ {
		k := i % n
		if backwards {
			k = (n - i) % n
		}
		j.lonLat(j.r.Scene.Grid.ToLonLat(r[k]))
	}
	j.close(']')
}
