package picture

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func TestOutsideControlPointsFitAsInGDAL(t *testing.T) {
	pixels := []orb.Point{{100, 100}, {900, 120}, {880, 700}, {130, 680}, {500, 390}}
	at := []orb.Point{{12.5, 240.0}, {250.1, 229.7}, {239.9, 58.2}, {16.3, 70.9}, {131.0, 151.4}}
	const source = "gdaltransform -order 1 -gcp ..., GDAL 3.6.2"
	for _, row := range []struct {
		points   int
		in, want orb.Point
	}{
		{5, orb.Point{0, 0}, orb.Point{-16.2666501463679, 270.481099944115}},
		{5, orb.Point{1000, 0}, orb.Point{281.466759387837, 263.278885681435}},
		{5, orb.Point{1000, 800}, orb.Point{274.963198704816, 28.4535823965108}},
		{5, orb.Point{0, 800}, orb.Point{-22.7702108293886, 35.6557966591915}},
		{5, orb.Point{500, 400}, orb.Point{129.348274279224, 149.467341170313}},
		{3, orb.Point{0, 0}, orb.Point{-16.484496124031, 270.135658914729}},
		{3, orb.Point{1000, 800}, orb.Point{274.828165374677, 27.9547803617571}},
	} {
		t.Run(fmt.Sprintf("%d points, pixel %v", row.points, row.in), func(t *testing.T) {
			a, _, err := FitControl(pixels[:row.points], at[:row.points])
			if err != nil {
				t.Fatal(err)
			}
			if got := a.At(row.in); dist(got, row.want) > 1e-6 {
				t.Errorf("%v, want %v within 1e-6 m: %s", got, row.want, source)
			}
		})
	}
}

func TestTwoPointsGiveTheTurnAndScaleTheyWereMadeWith(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 200 {
		turn, size := r.Float64()*2*math.Pi, 0.02+r.Float64()
		sin, cos := math.Sincos(turn)
		want := Affine{r.NormFloat64() * 100, size * cos, size * sin, r.NormFloat64() * 100, size * sin, -size * cos}
		p := []orb.Point{{r.Float64() * 4000, r.Float64() * 3000}, {r.Float64() * 4000, r.Float64() * 3000}}
		a, res, err := FitControl(p, []orb.Point{want.At(p[0]), want.At(p[1])})
		if err != nil {
			t.Fatal(err)
		}
		for i := range a {
			if math.Abs(a[i]-want[i]) > 1e-6 {
				t.Fatalf("%v, want %v", a, want)
			}
		}
		if back := a.Pixel(a.At(orb.Point{123, 45})); dist(back, orb.Point{123, 45}) > 1e-6 {
			t.Fatalf("pixel 123, 45 there and back is %v", back)
		}
		if len(res) != 2 || res[0] > 1e-6 || res[1] > 1e-6 {
			t.Errorf("residuals %v of two points, want 0", res)
		}
	}
}

func TestResidualsAreTheDistancesToTheGivenPlaces(t *testing.T) {
	// A square with one corner 4 m out: by symmetry every corner is left 1 m off.
	p := []orb.Point{{0, 0}, {100, 0}, {100, 100}, {0, 100}}
	q := []orb.Point{{0, 100}, {100, 104}, {100, 0}, {0, 0}}
	_, res, err := FitControl(p, q)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range res {
		if math.Abs(r-1) > 1e-9 {
			t.Errorf("point %d: residual %v m, want 1", i+1, r)
		}
	}
}

func TestControlPointsThatPlaceNothingAreRefused(t *testing.T) {
	nan := math.NaN()
	for _, row := range []struct {
		name   string
		pixels []orb.Point
		at     []orb.Point
		says   string
	}{
		{"one", []orb.Point{{0, 0}}, []orb.Point{{0, 0}}, "at least 2"},
		{"unequal lists", []orb.Point{{0, 0}, {1, 1}}, []orb.Point{{0, 0}}, "2 pixels but 1"},
		{"same pixel", []orb.Point{{5, 5}, {5, 5.5}}, []orb.Point{{0, 0}, {10, 0}}, "1 and 2 are 0.5 pixels apart"},
		{"same place", []orb.Point{{5, 5}, {50, 5}}, []orb.Point{{3, 4}, {3, 4}}, "1 and 2 are 0 m apart"},
		{"in line in the image", []orb.Point{{0, 0}, {100, 100}, {200, 201}}, []orb.Point{{0, 0}, {10, -10}, {20, 5}}, "one line in the image"},
		{"in line on the ground", []orb.Point{{0, 0}, {100, 100}, {200, 0}}, []orb.Point{{0, 0}, {10, -10}, {20, -20}}, "one line on the ground"},
		{"mirror", []orb.Point{{0, 0}, {100, 0}, {0, 100}}, []orb.Point{{0, 0}, {-10, 0}, {0, -10}}, "mirror"},
		{"not a number", []orb.Point{{0, 0}, {nan, 0}}, []orb.Point{{0, 0}, {1, 1}}, "control point 2"},
	} {
		if _, _, err := FitControl(row.pixels, row.at); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: error %v, want one that says %q", row.name, err, row.says)
		}
	}
}

func TestAKnownDistanceAndNorthPlaceAPicture(t *testing.T) {
	for _, row := range []struct {
		up       float64
		right    orb.Point // where 200 pixels to the right of the anchor lie, in metres from it
		upwards  orb.Point // and 200 pixels up
		distance float64
	}{
		{0, orb.Point{50, 0}, orb.Point{0, 50}, 25},
		{90, orb.Point{0, -50}, orb.Point{50, 0}, 25},
		{180, orb.Point{-50, 0}, orb.Point{0, -50}, 25},
		{-90, orb.Point{0, 50}, orb.Point{-50, 0}, 25},
	} {
		from, to := orb.Point{10, 20}, orb.Point{70, 100} // 100 pixels apart
		anchor, anchorAt := orb.Point{300, 300}, orb.Point{1000, 2000}
		at, err := PlaceByScale(from, to, row.distance, row.up, anchor, anchorAt)
		if err != nil {
			t.Fatal(err)
		}
		if d := dist(at[0], at[1]); math.Abs(d-row.distance) > 1e-9 {
			t.Errorf("up %v: the known distance comes out as %v m, want %v", row.up, d, row.distance)
		}
		a, _, err := FitControl([]orb.Point{from, to}, at[:])
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct{ pixel, off orb.Point }{{anchor, orb.Point{}}, {orb.Point{500, 300}, row.right}, {orb.Point{300, 100}, row.upwards}} {
			want := orb.Point{anchorAt[0] + c.off[0], anchorAt[1] + c.off[1]}
			if got := a.At(c.pixel); dist(got, want) > 1e-6 {
				t.Errorf("up %v: pixel %v lies at %v, want %v", row.up, c.pixel, got, want)
			}
		}
	}
	if _, err := PlaceByScale(orb.Point{1, 1}, orb.Point{1, 1}, 10, 0, orb.Point{}, orb.Point{}); err == nil {
		t.Error("two ends at one pixel are no error")
	}
	if _, err := PlaceByScale(orb.Point{1, 1}, orb.Point{100, 1}, 0, 0, orb.Point{}, orb.Point{}); err == nil {
		t.Error("a distance of 0 is no error")
	}
}
