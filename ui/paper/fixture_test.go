package paper

import (
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"math"
	"os"
	"sync"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/picture"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

// demo returns the demo plan with its aerial picture and a result made up of
// plain sectors: enough to print, not to rely on.
func demo(t testing.TB) Input {
	t.Helper()
	demoOnce.Do(func() { demoMade = makeDemo(t) })
	return demoMade
}

var (
	demoOnce sync.Once
	demoMade Input
)

func makeDemo(t testing.TB) Input {
	p, err := planfile.Read("../../assets/demo/demo.geojson")
	if err != nil {
		t.Fatal(err)
	}
	in := Input{Plan: p, Scene: scene.New(p)}
	in.Result = plainResult(in.Scene)
	in.Picture = demoPicture(t, in.Scene)
	return in
}

func demoPicture(t testing.TB, sc *scene.Scene) *picture.Picture {
	f, err := os.Open("../../assets/demo/aerial.jpg")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	src, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewRGBA(src.Bounds())
	draw.Draw(img, img.Bounds(), src, image.Point{}, draw.Src)
	// UTM zone 30 has scale 0.9996 on the meridian 3 degrees west; over the
	// site its grid and the site's differ by less than a metre in direction.
	utm := sitegrid.New(-3, 0)
	c := utm.ToSite(orb.Point{sc.Grid.Lon0, sc.Grid.Lat0})
	return picture.New(img, orb.Point{503278.2 - 500000 - c[0]*0.9996, 5857289.8 - c[1]*0.9996}, 0.4)
}

// plainResult gives each sensor one sector of its model's first lobe on level
// ground, nothing hidden, and each a link to the first receiver.
func plainResult(sc *scene.Scene) *analysis.Result {
	res := &analysis.Result{Plan: sc.Plan, Scene: sc}
	var rx *scene.Device
	for i := range sc.Devices {
		if sc.Devices[i].Feature.Kind == model.KindReceiver {
			rx = &sc.Devices[i]
		}
	}
	for i, dv := range sc.Devices {
		s, ok := dv.Feature.Value.(*model.Sensor)
		if !ok {
			continue
		}
		m, ok := sc.Plan.Model(s.Model)
		if !ok {
			continue
		}
		lobe := m.Lobes[0]
		ring := orb.Ring{dv.At}
		for k := 0; k <= 24; k++ {
			a := (s.Bearing + lobe.Azimuth + math.Max(8, lobe.Width)*(float64(k)/24-0.5)) * math.Pi / 180
			ring = append(ring, orb.Point{dv.At[0] + lobe.Range*math.Sin(a), dv.At[1] + lobe.Range*math.Cos(a)})
		}
		ring = append(ring, dv.At)
		out := analysis.Sensor{ID: dv.Feature.ID, At: dv.At, Footprint: orb.MultiPolygon{{ring}}, Area: 1000}
		if rx != nil {
			margin := 30 - 20*math.Log10(math.Max(1, math.Hypot(dv.At[0]-rx.At[0], dv.At[1]-rx.At[1])/60))
			out.Route, out.Margin = []string{dv.Feature.ID, rx.Feature.ID}, &margin
			res.Links = append(res.Links, analysis.Link{From: dv.Feature.ID, To: rx.Feature.ID, A: dv.At, B: rx.At, Margin: margin, Required: 10, InUse: true})
			if margin < 10 {
				res.Findings = append(res.Findings, model.Finding{Rule: "link", Severity: model.Fault, Subject: []string{dv.Feature.ID},
					Text: fmt.Sprintf("Link %s to %s: margin %.0f dB where 10 dB is required.", dv.Feature.ID, rx.Feature.ID, margin)})
			}
		}
		if i%9 == 2 {
			out.Overspill = []analysis.Overspill{{Class: "road", On: "R1", For: "person", Area: 34, Shape: orb.MultiPolygon{{orb.Ring{ring[8], ring[12], ring[16], ring[8]}}}}}
			res.Findings = append(res.Findings, model.Finding{Rule: "overspill", Severity: model.Fault, Subject: []string{dv.Feature.ID, "R1"},
				Text: fmt.Sprintf("Overspill of %s onto Tallowfold Lane: a person is seen on 34 m² of it, up to 4.2 m beyond the line.", dv.Feature.ID)})
		}
		res.Sensors = append(res.Sensors, out)
	}
	for _, b := range sc.Boundaries {
		res.Boundaries = append(res.Boundaries, plainCoverage(res, b))
	}
	return res
}

// plainCoverage takes each sensor within 6 m of a boundary to cover as much of
// it as its reach, the way it faces; every 24th metre is not covered at all.
func plainCoverage(res *analysis.Result, b scene.Boundary) analysis.Boundary {
	n := int(b.Length())
	count := make([]int, n+1)
	for _, dv := range res.Scene.Devices {
		s, ok := dv.Feature.Value.(*model.Sensor)
		if !ok {
			continue
		}
		m, _ := res.Plan.Model(s.Model)
		at, d := b.Nearest(dv.At)
		if d > 6 {
			continue
		}
		sin, cos := math.Sincos(s.Bearing * math.Pi / 180)
		e := b.Normal(at) // the inside is on the left of the line where Left
		along := e[1]*sin - e[0]*cos
		if !b.Left {
			along = -along
		}
		for k := 0.0; k < m.Lobes[0].Range; k++ {
			i := int(at + math.Copysign(k, along))
			if b.Closed {
				i = ((i % (n + 1)) + n + 1) % (n + 1)
			}
			if i >= 0 && i <= n {
				count[i]++
			}
		}
	}
	rb := analysis.Boundary{ID: b.Feature.ID, Length: b.Length()}
	rb.Target.Name = "target"
	runs(n, func(i int) bool { return count[i] > 0 }, func(from, to float64, covered bool) {
		span := coverage.Span{From: from, To: math.Min(to, b.Length())}
		state := coverage.Uncovered
		if covered {
			state = coverage.Covered
			rb.Target.Covered += span.To - span.From
		} else {
			rb.Target.Gaps = append(rb.Target.Gaps, analysis.Gap{Span: span, Length: span.To - span.From, Cause: coverage.OutOfReach, Middle: b.Point((span.From + span.To) / 2)})
			f := model.Finding{Rule: "gap", Severity: model.Fault, Subject: []string{b.Feature.ID}, From: &span.From, To: &span.To,
				Text: fmt.Sprintf("Gap %d, %s from %.0f m: no sensor reaches.", len(rb.Target.Gaps), metres(span.To-span.From), span.From)}
			res.Findings = append([]model.Finding{f}, res.Findings...)
		}
		rb.Target.Stretches = append(rb.Target.Stretches, coverage.Stretch{Span: span, State: state})
	})
	runs(n, func(i int) bool { return count[i] > 1 }, func(from, to float64, twice bool) {
		if twice {
			rb.Target.Overlaps = append(rb.Target.Overlaps, coverage.Span{From: from, To: math.Min(to, b.Length())})
			rb.Target.Overlap += to - from
		}
	})
	return rb
}

func runs(n int, is func(int) bool, f func(from, to float64, is bool)) {
	from := 0
	for i := 1; i <= n+1; i++ {
		if i > n || is(i) != is(from) {
			f(float64(from), float64(i), is(from))
			from = i
		}
	}
}

// place is where the sites of these tests lie.
var place = sitegrid.New(10, 50)

// site makes a plan of an outline in metres and n sensors along it, each facing
// the way the line runs.
func site(t testing.TB, outline orb.LineString, n int, settings ...model.Member) Input {
	t.Helper()
	var g orb.Geometry = place.Back(outline)
	closed := outline[0] == outline[len(outline)-1]
	if closed {
		g = place.Back(orb.Polygon{orb.Ring(outline)})
	}
	fs := []*model.Feature{model.NewFeature(model.KindBoundary, "B1", g, model.Prop("name", "Outer fence"))}
	p := plan(t, fs, settings...)
	if n > 0 {
		b := scene.New(p).Boundaries[0]
		grid := scene.New(p).Grid
		rx := b.Line.Bound().Center()
		fs = append(fs, model.NewFeature(model.KindReceiver, "RX", grid.ToLonLat(rx), model.Prop("antenna_height_m", 8)))
		for i := range n {
			s := (float64(i) + 0.5) * b.Length() / float64(n)
			e := b.Normal(s)
			if !b.Left {
				e[0], e[1] = -e[0], -e[1]
			}
			at := b.Point(s)
			fs = append(fs, model.NewFeature(model.KindSensor, fmt.Sprintf("S%d", i+1), grid.ToLonLat(at), model.Prop("model", "curtain-4-63"),
				model.Prop("mount_height_m", 3), model.Prop("bearing_deg", math.Mod(math.Atan2(e[1], -e[0])*180/math.Pi+360, 360)),
				model.Prop("tilt_deg", 1.5), model.Prop("address", 100+i), model.Prop("name", fmt.Sprintf("Post %d", i+1))))
		}
		p = plan(t, fs, settings...)
	}
	in := Input{Plan: p, Scene: scene.New(p)}
	in.Result = plainResult(in.Scene)
	return in
}

func plan(t testing.TB, fs []*model.Feature, settings ...model.Member) *model.Plan {
	t.Helper()
	p, err := model.Add{Features: fs}.Apply(model.NewPlan(settings...))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range p.AllFlaws() {
		t.Fatal(f)
	}
	return p
}

func ring(r orb.Ring) orb.LineString { return orb.LineString(append(r, r[0])) }

// rectangle is an outline w by h metres.
func rectangle(w, h float64) orb.LineString {
	return ring(orb.Ring{{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}})
}

// oval is an outline of 48 corners.
func oval(w, h float64) orb.LineString {
	var r orb.Ring
	for k := range 48 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 24)
		r = append(r, orb.Point{w / 2 * cos, h / 2 * sin})
	}
	return ring(r)
}
