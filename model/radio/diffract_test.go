package radio

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// mirrored returns p as seen from its far end.
func mirrored(p Profile) Profile {
	n := len(p.D)
	var m Profile
	for i := n - 1; i >= 0; i-- {
		m.D = append(m.D, p.D[n-1]-p.D[i])
	}
	m.H, m.G = slices.Clone(p.H), slices.Clone(p.G)
	slices.Reverse(m.H)
	slices.Reverse(m.G)
	return m
}

// bare returns a profile of ground heights at the distances given in
// kilometres, with nothing standing on it.
func bare(points ...[2]float64) Profile {
	var p Profile
	for _, q := range points {
		p.D, p.H = append(p.D, 1000*q[0]), append(p.H, q[1])
	}
	p.G = p.H
	return p
}

// shaped returns a bare profile of equal steps.
func shaped(distance, step float64, ground func(t float64) float64) Profile {
	return BuildProfile(distance, step, ground, nil)
}

func level(h float64) func(float64) float64 { return func(float64) float64 { return h } }

// Windows of published profiles: P.452 validation profile cebreros_3995 of
// eeveetza/p452, and the terrain rows of NTIA/itm pfls.csv. Kilometres, metres.
var (
	cebreros = bare([2]float64{0, 719.878}, [2]float64{0.03, 719.722}, [2]float64{0.06, 719.604}, [2]float64{0.09, 718.77},
		[2]float64{0.12, 714.323}, [2]float64{0.15, 707.456}, [2]float64{0.18, 704.307}, [2]float64{0.21, 703.265},
		[2]float64{0.24, 698.095}, [2]float64{0.27, 693.474}, [2]float64{0.3, 689.629}, [2]float64{0.33, 690.043},
		[2]float64{0.36, 687.225}, [2]float64{0.39, 681.496}, [2]float64{0.42, 674.691}, [2]float64{0.45, 670.653},
		[2]float64{0.48, 671.011}, [2]float64{0.51, 671.136}, [2]float64{0.54, 678.267}, [2]float64{0.57, 671.866},
		[2]float64{0.6, 663.192})
	itmRow1 = bare([2]float64{0, 276.861176}, [2]float64{0.099978, 269.982697}, [2]float64{0.199956, 265.96698},
		[2]float64{0.299934, 263.318634}, [2]float64{0.399912, 258.799286}, [2]float64{0.49989, 258.605591},
		[2]float64{0.599868, 261.971466}, [2]float64{0.699846, 271.187714}, [2]float64{0.799824, 278.412659},
		[2]float64{0.899802, 282.1604}, [2]float64{0.999781, 286.037201}, [2]float64{1.099759, 291.927582},
		[2]float64{1.199737, 298.403473}, [2]float64{1.299715, 303.022339}, [2]float64{1.399693, 307.05188},
		[2]float64{1.499671, 304.825714}, [2]float64{1.599649, 298.736908}, [2]float64{1.699627, 292.412781},
		[2]float64{1.799605, 287.446503})
	itmRow3 = bare([2]float64{0, 30.156605}, [2]float64{0.09996, 33.40126}, [2]float64{0.199921, 34.31525},
		[2]float64{0.299881, 35.114956}, [2]float64{0.399841, 35.435711}, [2]float64{0.499802, 39.199505},
		[2]float64{0.599762, 41.038166}, [2]float64{0.699722, 41.595539}, [2]float64{0.799682, 42.304256},
		[2]float64{0.899643, 41.533474}, [2]float64{0.999603, 34.933701}, [2]float64{1.099563, 35.898495},
		[2]float64{1.199524, 42.813477}, [2]float64{1.299484, 44.674061}, [2]float64{1.399444, 49.846893},
		[2]float64{1.499405, 53.78363}, [2]float64{1.599365, 57.205395}, [2]float64{1.699325, 54.062233},
		[2]float64{1.799286, 36.917812})
	itmRow5 = bare([2]float64{0, 28.230108}, [2]float64{0.099865, 28.452232}, [2]float64{0.19973, 29.925262},
		[2]float64{0.299596, 35.131256}, [2]float64{0.399461, 32.605457}, [2]float64{0.499326, 31.983957},
		[2]float64{0.599191, 29.705652}, [2]float64{0.699057, 27.683455}, [2]float64{0.798922, 26.25248},
		[2]float64{0.898787, 20.844889}, [2]float64{0.998652, 18.202166}, [2]float64{1.098518, 17.911104},
		[2]float64{1.198383, 17.563957}, [2]float64{1.298248, 17.832968}, [2]float64{1.398113, 17.983175},
		[2]float64{1.497979, 17.307083}, [2]float64{1.597844, 25.373947}, [2]float64{1.697709, 34.028118},
		[2]float64{1.797574, 18})
	flat500     = shaped(500, 10, level(50))
	flat2000    = shaped(2000, 10, level(50))
	hump1500    = shaped(1500, 20, func(t float64) float64 { return 40 + 12*math.Sin(math.Pi*t/1500) })
	quarryFace  = shaped(1000, 10, func(t float64) float64 { return max(50, min(80, 80-5*(t-150)/10)) })
	spoilHeap   = func(t float64) float64 { return max(0, 6*(1-math.Abs(t-300)/10)) }
	siteProfile = map[string]Profile{"cebreros": cebreros, "itm row 1": itmRow1, "itm row 3": itmRow3, "itm row 5": itmRow5,
		"flat 500 m": flat500, "flat 2000 m": flat2000, "hump 12 m": hump1500, "quarry face": quarryFace}
)

func TestOutsideDeltaBullingtonAtSiteScale(t *testing.T) {
	const source = "two implementations agreeing to 1e-6 dB: one from the text of P.526-15 section 4.5, and eeveetza/Py1812"
	for _, row := range []struct {
		profile                       string
		freq                          float64
		pol                           Polarisation
		htg, hrg                      float64
		bullington, smooth, sph, loss float64
	}{
		{"cebreros", 433.92, Vertical, 1, 4, 33.188099, 6.423841, 11.651323, 38.415581},
		{"cebreros", 868.3, Horizontal, 2.5, 6, 32.902704, 0, 0, 32.902704},
		{"itm row 1", 433.92, Vertical, 0.5, 3, 28.683670, 1.990413, 2.783073, 29.476330},
		{"itm row 3", 915, Vertical, 1.5, 3, 35.922984, 7.722436, 14.825516, 43.026064},
		{"itm row 5", 868.3, Vertical, 2.5, 3, 36.960615, 2.444474, 3.430457, 37.946597},
		{"flat 500 m", 868.3, Vertical, 1, 3, 6.810956, 6.810956, 12.265898, 12.265898},
		{"flat 500 m", 868.3, Horizontal, 1, 3, 6.810956, 6.810956, 12.159889, 12.159889},
		{"flat 500 m", 868.3, Vertical, 0.5, 4, 7.882093, 7.882093, 16.045364, 16.045364},
		{"flat 2000 m", 433.92, Vertical, 1, 3, 10.567995, 10.567995, 29.588387, 29.588387},
		{"flat 2000 m", 433.92, Horizontal, 1, 3, 10.567995, 10.567995, 29.526416, 29.526416},
		{"flat 2000 m", 868.3, Vertical, 0.5, 4, 10.268490, 10.268490, 27.675110, 27.675110},
		{"quarry face", 868.3, Vertical, 1.5, 4, 19.132160, 0, 0, 19.132160},
		{"quarry face", 433.92, Vertical, 1.5, 4, 17.382829, 0, 0, 17.382829},
		{"hump 12 m", 433.92, Vertical, 3, 6, 21.283670, 6.854854, 12.184674, 26.613490},
		{"hump 12 m", 868.3, Vertical, 3, 6, 23.827886, 4.367620, 6.641815, 26.102080},
	} {
		t.Run(fmt.Sprintf("%s %v MHz %v m to %v m polarisation %d", row.profile, row.freq, row.htg, row.hrg, row.pol), func(t *testing.T) {
			got := Diffract(siteProfile[row.profile], row.htg, row.hrg, Conditions{FreqMHz: row.freq, Polarisation: row.pol, EffectiveRadiusKm: 8500})
			closeTo(t, "BullingtonDB", got.BullingtonDB, row.bullington, 0.001, source)
			closeTo(t, "BullingtonSmoothDB", got.BullingtonSmoothDB, row.smooth, 0.001, source)
			closeTo(t, "SphericalDB", got.SphericalDB, row.sph, 0.001, source)
			closeTo(t, "DeltaBullingtonDB", got.DeltaBullingtonDB, row.loss, 0.001, source)
		})
	}
}

func TestOutsideLossOverFlatOpenGround(t *testing.T) {
	// Free space plus delta-Bullington, vertical polarisation, 8500 km, printed
	// to 0.1 dB; in the third row of figures the plane-earth limit
	// 40·log10(d)-20·log10(h1·h2), which they lie within 2 dB of.
	const source = "table of losses over flat open ground, worked out from P.525 and P.526-15 by another implementation"
	distances := []float64{200, 500, 1000, 2000}
	for _, row := range []struct {
		freq, htg, hrg float64
		loss           [4]float64
		planeEarthFrom int // first distance index from which the plane-earth limit is valid
	}{
		{433.92, 1, 3, [4]float64{82.0, 97.2, 108.8, 120.8}, 0},
		{868.3, 0.5, 3, [4]float64{88.0, 103.5, 115.2, 127.2}, 0},
		{868.3, 1, 3, [4]float64{82.1, 97.5, 109.1, 120.9}, 0},
		{868.3, 1, 6, [4]float64{77.2, 91.9, 103.7, 115.5}, 0},
		{868.3, 2.5, 4, [4]float64{77.2, 87.6, 99.3, 110.9}, 1},
		{868.3, 1, 1, [4]float64{90.9, 106.1, 118.0, 130.3}, 0},
		{915, 1, 3, [4]float64{82.1, 97.5, 109.1, 120.9}, 0},
	} {
		for i, d := range distances {
			t.Run(fmt.Sprintf("%v MHz %v m to %v m over %v m", row.freq, row.htg, row.hrg, d), func(t *testing.T) {
				got := FreeSpaceLoss(math.Hypot(d, row.hrg-row.htg), row.freq) +
					Diffract(shaped(d, 5, level(0)), row.htg, row.hrg, Conditions{FreqMHz: row.freq}).DeltaBullingtonDB
				closeTo(t, "loss", got, row.loss[i], 0.15, source)
				if i >= row.planeEarthFrom {
					closeTo(t, "loss", got, 40*math.Log10(d)-20*math.Log10(row.htg*row.hrg), 2.0, "plane-earth law, 40·log10 d - 20·log10 h1h2")
				}
			})
		}
	}
}

func TestOutsideSpoilHeapIsNotSteppedOver(t *testing.T) {
	// A heap 6 m high and 20 m wide on a 600 m link: 21.2 dB by delta-Bullington
	// at 1 to 10 m steps, 12.3 dB by the single edge. Stepped over it would be
	// flat ground, 12.2 dB.
	const source = "worked example of the effect of the profile step, another implementation of P.526-15 section 4.5"
	c := Conditions{FreqMHz: 868.3}
	for _, step := range []float64{1, 2, 5, 10} {
		t.Run(fmt.Sprint("step ", step), func(t *testing.T) {
			got := Diffract(shaped(600, step, spoilHeap), 1.2, 3, c)
			closeTo(t, "DeltaBullingtonDB", got.DeltaBullingtonDB, 21.2, 0.05, source)
			closeTo(t, "SingleEdgeDB", got.SingleEdgeDB, 12.3, 0.05, source)
		})
	}
	t.Run("flat ground", func(t *testing.T) {
		closeTo(t, "DeltaBullingtonDB", Diffract(shaped(600, 5, level(0)), 1.2, 3, c).DeltaBullingtonDB, 12.2, 0.05, source)
	})
}

func TestAThinWallCostsTheSameAtAnyStep(t *testing.T) {
	wall := []Insert{{From: 123.4567, To: 123.4567, Top: 4, AboveGround: true}}
	c := Conditions{FreqMHz: 868.3}
	want := Diffract(BuildProfile(600, 1, level(0), wall), 1.2, 3, c)
	for _, step := range []float64{5, 50, 1000} {
		got := Diffract(BuildProfile(600, step, level(0), wall), 1.2, 3, c)
		if math.Abs(got.BullingtonDB-want.BullingtonDB) > 1e-9 || got.ClearanceAt != 123.4567 {
			t.Errorf("step %v m: Bullington %v dB at %v m, want %v at 123.4567", step, got.BullingtonDB, got.ClearanceAt, want.BullingtonDB)
		}
	}
}

func TestClearanceIsAFractionOfTheFresnelRadius(t *testing.T) {
	// A post 5 m high 200 m along a level 1 km link at 3 m: the line there is 3 m
	// up, the bulge 200·800/17e6 m.
	p := BuildProfile(1000, 5, level(0), []Insert{{From: 200, To: 200, Top: 5}})
	got := Diffract(p, 3, 3, Conditions{FreqMHz: 868.3})
	want := (3 - 5 - 200*800/17e6) / FresnelRadius(1, 200, 800, 868.3)
	if math.Abs(got.Clearance-want) > 1e-9 || got.ClearanceAt != 200 {
		t.Errorf("clearance %v at %v m, want %v at 200", got.Clearance, got.ClearanceAt, want)
	}
	if got.ObstacleClearance != got.Clearance || got.ObstacleClearanceAt != 200 {
		t.Errorf("obstacle clearance %v at %v m, want the same", got.ObstacleClearance, got.ObstacleClearanceAt)
	}
	if edge := KnifeEdge(-want * math.Sqrt2); math.Abs(got.SingleEdgeDB-edge) > 1e-3 {
		t.Errorf("single edge %v dB, want J(-√2·clearance) = %v", got.SingleEdgeDB, edge)
	}
}

func TestOnlyAnObstacleObstructs(t *testing.T) {
	c := Conditions{FreqMHz: 868.3}
	hill := Diffract(shaped(600, 5, spoilHeap), 1.2, 3, c)
	if hill.Obstructed() || hill.ObstacleClearance != MaxClearance {
		t.Errorf("bare ground counts as an obstacle: %+v", hill)
	}
	// On a 600 m link the first zone is 7.2 m at the middle: 0.6 of it is 4.3 m.
	for _, row := range []struct {
		top  float64
		want bool
	}{{0.5, false}, {1.5, false}, {1.8, true}, {8, true}} {
		d := Diffract(BuildProfile(600, 5, level(0), []Insert{{From: 300, To: 300, Top: row.top}}), 6, 6, c)
		if d.Obstructed() != row.want {
			t.Errorf("post of %v m: obstructed %v, want %v (clearance %v)", row.top, d.Obstructed(), row.want, d.ObstacleClearance)
		}
	}
}

func TestOutsideLimitsOfTheMethod(t *testing.T) {
	for _, row := range []struct {
		distance, htg, hrg float64
		want               bool
	}{
		{250, 1, 1, false}, {249, 1, 3, true}, {600, 0.9, 3, true}, {600, 3, 0.9, true}, {600, 3, 3001, true}, {3e6, 3000, 1, false}, {3.1e6, 3, 3, true},
	} {
		if got := Extrapolated(row.distance, row.htg, row.hrg); got != row.want {
			t.Errorf("Extrapolated(%v, %v, %v) = %v, want %v; source: ITU-R P.1812, 0.25 to 3000 km and 1 to 3000 m, as eeveetza/Py1812 states", row.distance, row.htg, row.hrg, got, row.want)
		}
	}
}

// figures returns every number of d.
func figures(d Diffraction) []float64 {
	return []float64{d.DeltaBullingtonDB, d.BullingtonDB, d.BullingtonSmoothDB, d.SphericalDB, d.SingleEdgeDB,
		d.Clearance, d.ClearanceAt, d.ObstacleClearance, d.ObstacleClearanceAt}
}

// sane returns what is wrong with d, or nothing.
func sane(d Diffraction) string {
	for i, v := range figures(d) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Sprintf("figure %d is %v", i, v)
		}
		if i < 5 && v < 0 {
			return fmt.Sprintf("loss %d is %v dB", i, v)
		}
	}
	if d.Clearance > MaxClearance || d.ObstacleClearance > MaxClearance {
		return fmt.Sprintf("clearance %v, %v over obstacles", d.Clearance, d.ObstacleClearance)
	}
	return ""
}

func TestTheShortestLinksHaveFiniteFigures(t *testing.T) {
	for _, d := range []float64{0, 1e-300, 1e-9, 0.0005, 0.002, 0.01, 0.2, 0.4, 1, 5} {
		for _, heights := range [][2]float64{{1, 3}, {3, 3}, {0.001, 60}, {1e-12, 1e-12}, {0, 0}} {
			for _, freq := range []float64{30, 868.3, 6000} {
				for _, p := range []Profile{
					BuildProfile(d, 5, level(7), nil),
					BuildProfile(d, 0.01, level(7), []Insert{{From: d / 2, To: d / 2, Top: 9}}),
					{D: []float64{0, d}, H: []float64{7, -200}, G: []float64{7, -200}},
				} {
					got := Diffract(p, heights[0], heights[1], Conditions{FreqMHz: freq})
					if wrong := sane(got); wrong != "" {
						t.Errorf("%v m, antennas %v, %v MHz: %s", d, heights, freq, wrong)
					}
					if d < Wavelength(freq) && got.DeltaBullingtonDB != 0 {
						t.Errorf("%v m, antennas %v, %v MHz: %v dB under one wavelength", d, heights, freq, got.DeltaBullingtonDB)
					}
				}
			}
		}
	}
}

func TestTwoPointsAreAStraightSlope(t *testing.T) {
	two := Profile{D: []float64{0, 800}, H: []float64{10, 30}, G: []float64{10, 30}}
	many := shaped(800, 5, func(t float64) float64 { return 10 + t/40 })
	c := Conditions{FreqMHz: 868.3}
	a, b := Diffract(two, 2, 2, c), Diffract(many, 2, 2, c)
	if math.Abs(a.DeltaBullingtonDB-b.DeltaBullingtonDB) > 1e-9 {
		t.Errorf("two points %v dB, the same slope in steps %v dB", a.DeltaBullingtonDB, b.DeltaBullingtonDB)
	}
	if math.Abs(a.Clearance-b.Clearance) > 1e-9 || a.ClearanceAt != 400 {
		t.Errorf("two points: clearance %v at %v m, in steps %v at %v", a.Clearance, a.ClearanceAt, b.Clearance, b.ClearanceAt)
	}
}

func TestTheZeroRadiusIsTheDefault(t *testing.T) {
	a := Diffract(flat2000, 1, 3, Conditions{FreqMHz: 868.3})
	b := Diffract(flat2000, 1, 3, Conditions{FreqMHz: 868.3, EffectiveRadiusKm: 8500})
	if a != b {
		t.Errorf("without a radius %+v, with 8500 km %+v", a, b)
	}
}

func TestDiffractRefusesWhatNoCallerMayPass(t *testing.T) {
	good := Conditions{FreqMHz: 868.3}
	for name, f := range map[string]func(){
		"one point":        func() { Diffract(Profile{D: []float64{0}, H: []float64{0}, G: []float64{0}}, 1, 1, good) },
		"unequal columns":  func() { Diffract(Profile{D: []float64{0, 1}, H: []float64{0, 1}, G: []float64{0}}, 1, 1, good) },
		"zero frequency":   func() { Diffract(flat500, 1, 1, Conditions{}) },
		"sunk antenna":     func() { Diffract(flat500, 1, -0.1, good) },
		"no height":        func() { Diffract(flat500, math.NaN(), 1, good) },
		"all sea and more": func() { Diffract(flat500, 1, 1, Conditions{FreqMHz: 868.3, SeaFraction: 1.1}) },
		"negative radius":  func() { Diffract(flat500, 1, 1, Conditions{FreqMHz: 868.3, EffectiveRadiusKm: -1}) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "radio: ") {
					t.Errorf("no panic, or not ours: %v", s)
				}
			}()
			f()
		})
	}
}

// drawProfile draws a profile of any length and roughness. Its points keep a
// thousandth of the length from the ends: of a distance from the far end no
// more digits are known than the profile's column holds.
func drawProfile(t *rapid.T) Profile {
	n := rapid.IntRange(0, 30).Draw(t, "interior points")
	length := rapid.OneOf(rapid.Float64Range(0, 3000), rapid.Float64Range(0, 1), rapid.Float64Range(0, 1e6)).Draw(t, "length")
	height := rapid.OneOf(rapid.Float64Range(-1, 8), rapid.Float64Range(-300, 3000), rapid.Just(5.0))
	above := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 12))
	var p Profile
	for range n {
		p.D = append(p.D, length*rapid.Float64Range(0.001, 0.999).Draw(t, "place"))
	}
	p.D = append(p.D, 0, length)
	slices.Sort(p.D)
	for i := range p.D {
		h := height.Draw(t, "ground")
		g := h
		if i > 0 && i < len(p.D)-1 {
			g += above.Draw(t, "obstacle")
		}
		p.H, p.G = append(p.H, h), append(p.G, g)
	}
	if err := p.Check(); err != nil {
		t.Fatal(err)
	}
	return p
}

func drawConditions(t *rapid.T) Conditions {
	return Conditions{
		FreqMHz:           rapid.OneOf(rapid.Float64Range(30, 6000), rapid.SampledFrom([]float64{433.92, 868.3, 915})).Draw(t, "MHz"),
		Polarisation:      Polarisation(rapid.IntRange(0, 1).Draw(t, "polarisation")),
		EffectiveRadiusKm: rapid.SampledFrom([]float64{8500, 6371, 19113}).Draw(t, "radius"),
		SeaFraction:       rapid.SampledFrom([]float64{0, 0.3, 1}).Draw(t, "sea"),
	}
}

func drawHeight(t *rapid.T, name string) float64 {
	return rapid.OneOf(rapid.Float64Range(0.3, 6), rapid.Float64Range(0.001, 3000)).Draw(t, name)
}

func TestLossIsTheSameBothWaysAndFinite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, c := drawProfile(t), drawConditions(t)
		htg, hrg := drawHeight(t, "htg"), drawHeight(t, "hrg")
		there, back := Diffract(p, htg, hrg, c), Diffract(mirrored(p), hrg, htg, c)
		if wrong := sane(there); wrong != "" {
			t.Fatal(wrong)
		}
		a, b := figures(there), figures(back)
		for i := range 5 {
			if math.Abs(a[i]-b[i]) > 1e-9*max(1, math.Abs(a[i])) {
				t.Fatalf("loss %d: %v dB there, %v back", i, a[i], b[i])
			}
		}
		for _, i := range []int{5, 7} {
			if math.Abs(a[i]-b[i]) > 1e-6*max(1, math.Abs(a[i])) {
				t.Fatalf("clearance: %v there, %v back", a[i], b[i])
			}
		}
	})
}

func TestATallerObstacleNeverLowersTheLoss(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, c := drawProfile(t), drawConditions(t)
		if len(p.D) < 3 {
			return
		}
		htg, hrg := drawHeight(t, "htg"), drawHeight(t, "hrg")
		before := Diffract(p, htg, hrg, c)
		i := rapid.IntRange(1, len(p.D)-2).Draw(t, "point")
		p.G[i] += rapid.Float64Range(0, 20).Draw(t, "taller by")
		after := Diffract(p, htg, hrg, c)
		if after.BullingtonDB < before.BullingtonDB-1e-9 || after.DeltaBullingtonDB < before.DeltaBullingtonDB-1e-9 ||
			after.SingleEdgeDB < before.SingleEdgeDB-1e-9 {
			t.Fatalf("%+v before, %+v after", before, after)
		}
		if after.Clearance > before.Clearance {
			t.Fatalf("clearance %v before, %v after", before.Clearance, after.Clearance)
		}
	})
}

func TestAFewPointsNeverSayMoreThanTheWholeProfile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		distance := rapid.Float64Range(1, 3000).Draw(t, "distance")
		relief := rapid.Float64Range(0, 20).Draw(t, "relief")
		phase := rapid.Float64Range(0, 7).Draw(t, "phase")
		ground := func(t float64) float64 { return relief * math.Sin(phase+t/60) * math.Cos(t/211) }
		htg, hrg, c := drawHeight(t, "htg"), drawHeight(t, "hrg"), drawConditions(t)
		wall := Insert{From: distance * 0.41, To: distance * 0.42, Top: 5, AboveGround: true}
		full := Diffract(BuildProfile(distance, 5, ground, []Insert{wall}), htg, hrg, c)
		var b Builder
		before := full.BullingtonDB
		for _, every := range []int{1, 2, 4, 8} { // each a part of the one before
			least := LeastDiffraction(b.Sparse(distance, 5, every, ground), htg, hrg, c)
			// A step nearer than 1 mm to the wall is merged with it.
			if least > before+0.01 || least > full.DeltaBullingtonDB+0.01 || least < 0 {
				t.Fatalf("every %d: at least %v dB, before %v, the whole %v", every, least, before, full.DeltaBullingtonDB)
			}
			before = least
		}
	})
}

func TestEveryPointIsTheWholeBareProfile(t *testing.T) {
	ground, _ := site()
	var b Builder
	got, want := b.Sparse(777, 5, 1, ground), BuildProfile(777, 5, ground, nil)
	if !slices.Equal(got.D, want.D) || !slices.Equal(got.H, want.H) || !slices.Equal(got.G, want.G) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got, want := LeastDiffraction(got, 1.2, 3, Conditions{FreqMHz: 868.3}), Diffract(want, 1.2, 3, Conditions{FreqMHz: 868.3}).BullingtonDB; got != want {
		t.Errorf("%v dB, want %v", got, want)
	}
}

// site returns ground with some relief and what stands on it.
func site() (func(t float64) float64, []Insert) {
	return func(t float64) float64 { return 40 + 3*math.Sin(t/70) + math.Sin(t/17) },
		[]Insert{{From: 120, To: 160, Top: 46}, {From: 300, To: 300, Top: 2.5, AboveGround: true}}
}

func TestTheBriefFiguresAreThoseOfTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, c := drawProfile(t), drawConditions(t)
		htg, hrg := drawHeight(t, "htg"), drawHeight(t, "hrg")
		whole, brief := Diffract(p, htg, hrg, c), DiffractBriefly(p, htg, hrg, c)
		if whole.SphericalDB == 0 {
			brief.BullingtonSmoothDB = whole.BullingtonSmoothDB
		}
		if brief != whole {
			t.Fatalf("%+v, briefly %+v", whole, brief)
		}
	})
}

func TestTheBriefFiguresSpareTheSmoothGroundOfAShortLink(t *testing.T) {
	c := Conditions{FreqMHz: 30}
	p := BuildProfile(30, 5, func(float64) float64 { return 0 }, nil)
	whole, brief := Diffract(p, 0.1, 0.3, c), DiffractBriefly(p, 0.1, 0.3, c)
	if whole.SphericalDB != 0 || whole.BullingtonSmoothDB == 0 {
		t.Fatalf("%+v is no link whose smooth ground is of no use", whole)
	}
	if brief.BullingtonSmoothDB != 0 {
		t.Errorf("%v dB over smooth ground were worked out for nothing", brief.BullingtonSmoothDB)
	}
}

func TestDiffractUsesNoMemory(t *testing.T) {
	ground, inserts := site()
	var b Builder
	c := Conditions{FreqMHz: 868.3}
	got := testing.AllocsPerRun(100, func() {
		Diffract(b.Build(1000, 5, ground, inserts), 1.2, 3, c)
	})
	if got != 0 {
		t.Errorf("%v allocations a link, want none", got)
	}
}

func BenchmarkDiffract(b *testing.B) {
	for _, distance := range []float64{500, 1000} {
		ground, inserts := site()
		p := BuildProfile(distance, 5, ground, inserts)
		b.Run(fmt.Sprintf("%d points", len(p.D)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Diffract(p, 1.2, 3, Conditions{FreqMHz: 868.3})
			}
		})
	}
}

// BenchmarkSite builds and rates the links of 200 sensors to 3 receivers and
// repeaters, up to 1 km at 5 m steps.
func BenchmarkSite(b *testing.B) {
	ground, inserts := site()
	b.ReportAllocs()
	for b.Loop() {
		var build Builder
		for s := range 200 {
			for r := range 3 {
				d := 50 + float64((s*131+r*577)%950)
				Diffract(build.Build(d, 5, ground, inserts), 1.2, 3, Conditions{FreqMHz: 868.3})
			}
		}
	}
}
