package gdal

import (
	"math"
	"strings"
	"testing"
	"unsafe"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
)

func box(x0, y0, x1, y1 float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}}
}

var bowTie = orb.MultiPolygon{{{{0, 0}, {10, 10}, {10, 0}, {0, 10}, {0, 0}}}}

func area(t *testing.T, mp orb.MultiPolygon, err error) float64 {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	a, err := Area(mp)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestOverlayOfBoxesHasTheAreasOneCanSee(t *testing.T) {
	a, b, c := box(0, 0, 10, 10), box(6, 5, 16, 15), box(100, 100, 101, 101)
	holed := orb.MultiPolygon{{a[0][0], {{2, 2}, {2, 4}, {4, 4}, {4, 2}, {2, 2}}}}
	touching := box(10, 0, 20, 10) // shares a side with a
	for _, row := range []struct {
		name string
		op   func() (orb.MultiPolygon, error)
		want float64
	}{
		{"a and b", func() (orb.MultiPolygon, error) { return Intersection(a, b) }, 20},
		{"a less b", func() (orb.MultiPolygon, error) { return Difference(a, b) }, 80},
		{"a or else b", func() (orb.MultiPolygon, error) { return SymmetricDifference(a, b) }, 160},
		{"a and b and c joined", func() (orb.MultiPolygon, error) { return Union(a, b, c) }, 181},
		{"a and c", func() (orb.MultiPolygon, error) { return Intersection(a, c) }, 0},
		{"boxes that share a side", func() (orb.MultiPolygon, error) { return Intersection(a, touching) }, 0},
		{"a hole", func() (orb.MultiPolygon, error) { return Intersection(holed, a) }, 96},
		{"a hole filled", func() (orb.MultiPolygon, error) { return Union(holed, box(1, 1, 5, 5)) }, 100},
		{"a less nothing", func() (orb.MultiPolygon, error) { return Difference(a, nil) }, 100},
		{"nothing less a", func() (orb.MultiPolygon, error) { return Difference(nil, a) }, 0},
		{"nothing and a", func() (orb.MultiPolygon, error) { return Intersection(nil, a) }, 0},
		{"nothing joined", func() (orb.MultiPolygon, error) { return Union() }, 0},
		{"a bow-tie repaired", func() (orb.MultiPolygon, error) { return MakeValid(bowTie) }, 50},
	} {
		got, err := row.op()
		if v := area(t, got, err); math.Abs(v-row.want) > 1e-9 {
			t.Errorf("%s: area %v, want %v", row.name, v, row.want)
		}
	}
}

func TestWhatIsNoPolygonIsAnErrorThatSaysWhy(t *testing.T) {
	for _, row := range []struct {
		name string
		mp   orb.MultiPolygon
		says string
	}{
		{"bow-tie", bowTie, "Self-intersection at or near point 5 5"},
		{"open ring", orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}}}, "ring 1"},
		{"two points", orb.MultiPolygon{{{{0, 0}, {1, 0}, {0, 0}}}}, "3 points"},
		{"not a number", orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, math.NaN()}, {0, 0}}}}, "point 3"},
		{"no ring", orb.MultiPolygon{{}}, "no ring"},
	} {
		good := box(0, 0, 1, 1)
		for op, err := range map[string]error{
			"valid":      Valid(row.mp),
			"area":       second(Area(row.mp)),
			"and, first": second(Intersection(row.mp, good)),
			"and, last":  second(Intersection(good, row.mp)),
			"less":       second(Difference(good, row.mp)),
			"joined":     second(Union(good, row.mp)),
		} {
			if err == nil || !strings.Contains(err.Error(), row.says) {
				t.Errorf("%s, %s: error %v, want %q", row.name, op, err, row.says)
			}
		}
	}
	if err := Valid(box(0, 0, 1, 1)); err != nil {
		t.Error(err)
	}
	if err := Valid(nil); err != nil {
		t.Error(err)
	}
}

func second[T any](_ T, err error) error { return err }

func TestTheBindingsHandlesAreOnePointer(t *testing.T) {
	one := unsafe.Sizeof(uintptr(0))
	if unsafe.Sizeof(raw.Geometry{}) != one || unsafe.Sizeof(raw.SpatialReference{}) != one {
		t.Error("a handle of the binding is no longer one pointer: shim.go relies on it")
	}
}

func TestOnlyTheListedDriversStay(t *testing.T) {
	start()
	for i := range raw.GetDriverCount() {
		if name := raw.GetDriver(i).ShortName(); !drivers[name] {
			t.Errorf("driver %s is still registered", name)
		}
	}
	for _, name := range []string{"GTiff", "PNG", "JPEG", "JP2OpenJPEG", "MEM"} {
		if _, err := raw.GetDriverByName(name); err != nil {
			t.Errorf("driver %s is missing from this GDAL", name)
		}
	}
}
