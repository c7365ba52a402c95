package paper

import (
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"math"
	"os"
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
			a := (s.Bearing + lobe.Azimuth + lobe.Width*(float64(k)/24-0.5)) * math.Pi / 180
			ring = append(ring, orb.Point{dv.At[0] + lobe.Range*math.Sin(a), dv.At[1] + lobe.Range*math.Cos(a)})
		}
		ring = append(ring, dv.At)
		out := analysis.Sensor{ID: dv.Feature.ID, At: dv.At, Footprint: orb.MultiPolygon{{ring}}, Area: 1000}
		if rx != nil {
			margin := 30 - 20*math.Log10(math.Max(1, math.Hypot(dv.At[0]-rx.At[0], dv.At[1]-rx.At[1])/30))
			out.Route, out.Margin = []string{dv.Feature.ID, rx.Feature.ID}, &margin
			res.Links = append(res.Links, analysis.Link{From: dv.Feature.ID, To: rx.Feature.ID, A: dv.At, B: rx.At, Margin: margin, Required: 10, InUse: true})
			if margin < 10 {
				res.Findings = append(res.Findings, model.Finding{Rule: "link", Severity: model.Fault, Subject: []string{dv.Feature.ID},
					Text: fmt.Sprintf("Link %s to %s: margin %.0f dB where 10 dB is required.", dv.Feature.ID, rx.Feature.ID, margin)})
			}
		}
		if i%6 == 2 {
			out.Overspill = []analysis.Overspill{{Class: "road", On: "R1", For: "person", Area: 34, Shape: orb.MultiPolygon{{orb.Ring{ring[8], ring[12], ring[16], ring[8]}}}}}
			res.Findings = append(res.Findings, model.Finding{Rule: "overspill", Severity: model.Fault, Subject: []string{dv.Feature.ID, "R1"},
				Text: fmt.Sprintf("Overspill of %s onto Tallowfold Lane: a person is seen on 34 m² of it, up to 4.2 m beyond the line.", dv.Feature.ID)})
		}
		res.Sensors = append(res.Sensors, out)
	}
	for _, b := range sc.Boundaries {
		rb := analysis.Boundary{ID: b.Feature.ID, Length: b.Length()}
		in := func(s float64) bool {
			p := b.Point(s)
			for _, sn := range res.Sensors {
				if ringHas(sn.Footprint[0][0], p) {
					return true
				}
			}
			return false
		}
		from, state := 0.0, in(0)
		for s := 1.0; s <= b.Length()+1; s++ {
			now := s <= b.Length() && in(s)
			if s > b.Length() || now != state {
				end := math.Min(s-0.5, b.Length())
				st := coverage.Uncovered
				if state {
					st = coverage.Covered
					rb.Target.Covered += end - from
				} else {
					rb.Target.Gaps = append(rb.Target.Gaps, analysis.Gap{Span: coverage.Span{From: from, To: end}, Length: end - from, Cause: coverage.Hidden, By: []string{"H2"}, Middle: b.Point((from + end) / 2)})
					res.Findings = append(res.Findings, model.Finding{Rule: "gap", Severity: model.Fault, Subject: []string{b.Feature.ID},
						Text: fmt.Sprintf("Gap %d, %.1f m from %.0f m: hidden by the pump house.", len(rb.Target.Gaps), end-from, from)})
				}
				rb.Target.Stretches = append(rb.Target.Stretches, coverage.Stretch{Span: coverage.Span{From: from, To: end}, State: st})
				from, state = end, now
			}
		}
		res.Boundaries = append(res.Boundaries, rb)
	}
	return res
}

func ringHas(r orb.Ring, p orb.Point) bool {
	in := false
	for i, j := 0, len(r)-1; i < len(r); j, i = i, i+1 {
		if (r[i][1] > p[1]) != (r[j][1] > p[1]) && p[0] < (r[j][0]-r[i][0])*(p[1]-r[i][1])/(r[j][1]-r[i][1])+r[i][0] {
			in = !in
		}
	}
	return in
}
