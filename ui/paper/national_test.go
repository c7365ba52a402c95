package paper

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// madeUp is a grid whose coordinates are a hundred thousand times longitude and
// latitude, the second counted southwards.
type madeUp struct {
	stated   bool
	accuracy float64
	nowhere  bool
}

func (g madeUp) Name() string              { return "EPSG:99999, Grid of nowhere" }
func (g madeUp) Stated() bool              { return g.stated }
func (g madeUp) Accuracy() (float64, bool) { return g.accuracy, g.accuracy >= 0 }
func (g madeUp) Tie() string               { return "tied loosely" }
func (g madeUp) Axes() (a, b, unit string) { return "east", "south", "ft" }
func (g madeUp) Places(pts []orb.Point) ([]orb.Point, error) {
	if g.nowhere {
		return nil, errors.New("no place")
	}
	var out []orb.Point
	for _, p := range pts {
		out = append(out, orb.Point{p[0] * 1e5, -p[1] * 1e5})
	}
	return out, nil
}

func TestPlacesAreGivenInTheNationalGridWithItsAccuracy(t *testing.T) {
	in := site(t, rectangle(300, 200), 2) // about 10 degrees east, 50 north
	for _, row := range []struct {
		name              string
		grid              NationalGrid
		post, notes, plan string
		never             string
	}{
		{"known to 2 m", madeUp{stated: true, accuracy: 2}, "east 1000000.0\u00a0ft, south −5000000.0\u00a0ft, ±\u00a02\u00a0m", "National grid: EPSG:99999, Grid of nowhere, tied loosely. The origin of the site grid lies east 1000000.0", "±\u00a02\u00a0m (EPSG:99999)", "(national_grid.crs)"},
		{"exact", madeUp{stated: true}, "east 1000000.00\u00a0ft, south −5000000.00\u00a0ft", "National grid: EPSG:99999", "(EPSG:99999)", "±"},
		{"unknown", madeUp{stated: true, accuracy: -1}, "ft, accuracy unknown", "National grid: EPSG:99999", "accuracy unknown", "±"},
		{"not stated", madeUp{accuracy: 0}, "EPSG:99999", "the plan states none (national_grid.crs); places are also given in EPSG:99999", "(EPSG:99999)", "±"},
		{"without a place there", madeUp{stated: true, nowhere: true}, "Longitude, latitude", "National grid: EPSG:99999", "(WGS\u00a084).", "lies east"},
		{"none", nil, "Longitude, latitude", "National grid: none;", "(WGS\u00a084).", "EPSG"},
	} {
		t.Run(row.name, func(t *testing.T) {
			in := in
			in.National = row.grid
			all := ""
			for sheet, want := range map[string]string{"posts": row.post, "notes": row.notes, "layout": row.plan} {
				f, _ := printed(t, in, Options{Sheets: []string{sheet}})
				said := ""
				for _, p := range f.pages {
					said += p.text() + " "
				}
				if !strings.Contains(said, want) {
					// A line may break at any space.
					if flat := strings.ReplaceAll(said, "\u00a0", " "); !strings.Contains(flat, strings.ReplaceAll(want, "\u00a0", " ")) {
						t.Errorf("%s does not say %q:\n%.1500s", sheet, want, said)
					}
				}
				all += said
			}
			if strings.Contains(all, row.never) {
				t.Errorf("it says %q", row.never)
			}
		})
	}
}

// leaning is a grid whose coordinates are those of madeUp turned by so many
// degrees clockwise, about the middle of the sites of these tests.
type leaning struct {
	madeUp
	by float64
}

func (g leaning) Places(pts []orb.Point) ([]orb.Point, error) {
	sin, cos := math.Sincos(g.by * math.Pi / 180)
	var out []orb.Point
	for _, p := range pts {
		e, n := (p[0]-10)*1e5*math.Cos(50*math.Pi/180), (p[1]-50)*1e5
		out = append(out, orb.Point{e*cos - n*sin, -(e*sin + n*cos)})
	}
	return out, nil
}

func TestTheNorthOfTheNationalGridIsTold(t *testing.T) {
	in := site(t, rectangle(300, 200), 0)
	for by, want := range map[float64]string{0: "Its north is true north there.", 0.75: "Its north lies 0.75° east of true north there.", -1.2: "Its north lies 1.2° west of true north there."} {
		in.National = leaning{madeUp{stated: true}, by}
		if got := newSheet(in, Options{}).nationalNote(); !strings.HasSuffix(got, want) {
			t.Errorf("turned by %v degrees: %q does not end in %q", by, got, want)
		}
	}
}

func TestEveryDeviceHasItsPlaceInTheNationalGrid(t *testing.T) {
	in := site(t, rectangle(300, 200), 2)
	in.National = madeUp{stated: true, accuracy: 0}
	s := newSheet(in, Options{})
	for _, d := range in.Scene.Devices {
		if _, ok := s.inNational(d.At); !ok {
			t.Errorf("%s has no place", d.Feature.ID)
		}
		ll := d.Feature.Geometry.(orb.Point)
		got := s.national[d.At]
		if dx, dy := got[0]-ll[0]*1e5, got[1]+ll[1]*1e5; dx*dx+dy*dy > 1e-8 {
			t.Errorf("%s lies at %v, want %v", d.Feature.ID, got, ll)
		}
	}
}
