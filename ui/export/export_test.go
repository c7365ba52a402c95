package export

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/gis/planfile"
	"pleach/model/analysis"
	"pleach/model/handover"
	"pleach/model/layer"
	"pleach/model/scene"
)

// results are those of the plans that are tried: the demo, level, and a smaller one.
func results(t *testing.T) map[string]*analysis.Result {
	t.Helper()
	out := map[string]*analysis.Result{}
	for _, path := range []string{"../../assets/demo/demo.geojson", "../../testdata/plans/compound.geojson"} {
		p, err := planfile.Read(path)
		if err != nil {
			t.Fatal(err)
		}
		r, err := analysis.RunOn(context.Background(), scene.New(p), nil)
		if err != nil {
			t.Fatal(err)
		}
		if out[path], err = analysis.WithWays(context.Background(), r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestOutsideGEOSFindsEveryAreaThatIsHandedOverValid(t *testing.T) {
	for path, r := range results(t) {
		n := 0
		for _, l := range handover.Set(r).Layers {
			if l.Shape != layer.Areas {
				continue
			}
			for _, f := range l.Features {
				n++
				if err := gdal.Valid(closedRings(f.Geometry.(orb.MultiPolygon))); err != nil {
					t.Errorf("%s: layer %s, %v: %v", path, l.Name, f.Values[0], err)
				}
			}
		}
		if n < 8 {
			t.Errorf("%s: %d areas", path, n)
		}
	}
}

func closedRings(m orb.MultiPolygon) orb.MultiPolygon {
	s := layer.Set{LonLat: func(p orb.Point) orb.Point { return p }}
	return s.Geographic(m).(orb.MultiPolygon)
}

func TestEveryClassHasAStyleAndEveryValueAField(t *testing.T) {
	for path, r := range results(t) {
		for _, l := range styled(handover.Set(r)).Layers {
			for _, f := range l.Features {
				if s, ok := l.Style(f.Class); !ok || s.Title == "" {
					t.Errorf("%s: layer %s has no style for class %q", path, l.Name, f.Class)
				}
				if len(f.Values) != len(l.Fields) {
					t.Errorf("%s: layer %s: %d values, %d fields", path, l.Name, len(f.Values), len(l.Fields))
				}
				for i, v := range f.Values {
					fits := v == nil
					switch v.(type) {
					case string:
						fits = l.Fields[i].Type == layer.Text
					case float64:
						fits = l.Fields[i].Type == layer.Real
					case int:
						fits = l.Fields[i].Type == layer.Whole
					case bool:
						fits = l.Fields[i].Type == layer.Flag
					}
					if !fits {
						t.Errorf("%s: layer %s, %s: %T", path, l.Name, l.Fields[i].Name, v)
					}
				}
			}
		}
		for _, table := range handover.Tables(r) {
			for _, row := range table.Rows {
				if len(row) != len(table.Columns) {
					t.Errorf("%s: table %s: %d cells, %d columns", path, table.Name, len(row), len(table.Columns))
				}
			}
		}
	}
}

func TestTheScaleBarIsARoundLengthThatFits(t *testing.T) {
	for mpu := 0.003; mpu < 40; mpu *= 1.07 {
		m := barLength(mpu, 260)
		lead := m / math.Pow(10, math.Floor(math.Log10(m)+1e-9))
		if long := m / mpu; long > 260*(1+1e-9) || long < 260/2.5*(1-1e-9) {
			t.Errorf("%v metres a unit: the bar of %v m is %v long", mpu, m, long)
		}
		if d := math.Min(math.Abs(lead-1), math.Min(math.Abs(lead-2), math.Abs(lead-5))); d > 1e-9 {
			t.Errorf("%v metres a unit: a bar of %v m", mpu, m)
		}
	}
}
