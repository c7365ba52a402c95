package paper

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/lukeroth/gdal"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

// A located page is what GDAL reads of where a page lies.
type located struct {
	width, height float64 // of the page, millimetres
	pixels        [2]float64
	gt            [6]float64
	toLonLat      gdal.CoordinateTransform
}

// locate opens page n of a PDF, from 1, with GDAL's PDF driver.
func locate(t *testing.T, path string, n int, page orb.Bound) *located {
	t.Helper()
	if _, err := gdal.GetDriverByName("PDF"); err != nil {
		t.Skip("this GDAL has no PDF driver")
	}
	// At 1200 dots an inch, so that the page's size is not rounded.
	ds, err := gdal.OpenEx(fmt.Sprintf("PDF:%d:%s", n, path), gdal.OFReadOnly|gdal.OFRaster, []string{"PDF"}, []string{"DPI=1200"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	wkt := ds.Projection()
	if wkt == "" {
		t.Fatalf("page %d has no reference system", n)
	}
	from, to := gdal.CreateSpatialReference(wkt), gdal.CreateSpatialReference("")
	if err := to.FromEPSG(4326); err != nil {
		t.Fatal(err)
	}
	from.SetAxisMappingStrategy(gdal.OAMS_TraditionalGisOrder)
	to.SetAxisMappingStrategy(gdal.OAMS_TraditionalGisOrder)
	l := &located{width: page.Max[0], height: page.Max[1], pixels: [2]float64{float64(ds.RasterXSize()), float64(ds.RasterYSize())},
		gt: ds.GeoTransform(), toLonLat: gdal.CreateCoordinateTransform(from, to)}
	t.Cleanup(l.toLonLat.Destroy)
	return l
}

// at is the longitude and latitude of a place on the page, in millimetres from
// its upper left corner.
func (l *located) at(p orb.Point) orb.Point {
	x, y := p[0]/l.width*l.pixels[0], p[1]/l.height*l.pixels[1]
	lon, lat, _ := l.toLonLat.TransformPoint(l.gt[0]+x*l.gt[1]+y*l.gt[2], l.gt[3]+x*l.gt[4]+y*l.gt[5])
	return orb.Point{lon, lat}
}

// apart is the distance of two places in millimetres on paper at 1 to scale.
func apart(a, b orb.Point, scale int) float64 {
	b[0] = a[0] + math.Remainder(b[0]-a[0], 360)
	return ground(a, b) / float64(scale) * 1000
}

// onDisk writes a PDF where GDAL can open it.
func onDisk(t *testing.T, raw []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(path, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// GDAL's PDF driver reads the geospatial measure of ISO 32000-2, section 12.10,
// on its own; PROJ takes what it reads to longitude and latitude.
func TestOutsideGDALFindsThePlaceOnTheSheet(t *testing.T) {
	const tolerance = 0.1 // millimetres on paper
	for _, row := range []struct {
		name     string
		lon, lat float64
	}{
		{"on the equator", 9.5, 0},
		{"at 35 degrees north", 24.1, 35},
		{"at 55 degrees north and west", -3.2, 55},
		{"at 70 degrees north", 25.7, 70},
		{"at 35 degrees south and west", -70.6, -35},
		{"at 45 degrees south", 170.5, -45},
		{"on a sheet that reaches over the date line", 179.994, -17},
	} {
		for _, format := range []Format{A4, A3} {
			for _, scale := range Scales {
				t.Run(fmt.Sprintf("%s, %v at 1 to %d", row.name, format, scale.Ratio), func(t *testing.T) {
					m := float64(scale.Ratio) / 1000 // metres a millimetre
					p := moved(t, rectangle(110*m, 70*m), row.lon, row.lat)
					corners := p.Of(model.KindBoundary)[0].Geometry.(orb.Polygon)[0]
					var devices []orb.Point
					for i, c := range corners[:4] {
						at := orb.Point{c[0] + (row.lon-c[0])*0.1, c[1] + (row.lat-c[1])*0.2}
						devices = append(devices, at)
						f := model.NewFeature(model.KindRepeater, fmt.Sprintf("RP%d", i+1), at, model.Prop("antenna_height_m", 4))
						var err error
						if p, err = (model.Add{Features: []*model.Feature{f}}).Apply(p); err != nil {
							t.Fatal(err)
						}
					}
					var b bytes.Buffer
					info, err := Print(&b, Input{Plan: p}, Options{Paper: format, Scale: scale.Ratio})
					if err != nil {
						t.Fatal(err)
					}
					f := readPDF(t, b.Bytes())
					grid := scene.New(p).Grid
					l := locate(t, onDisk(t, b.Bytes()), 1, f.box)
					for i, d := range devices {
						on := info.View.ToUnit(grid.ToSite(d))
						on[0], on[1] = on[0]+info.Map.Min[0], on[1]+info.Map.Min[1]
						if off := apart(d, l.at(on), scale.Ratio); off > tolerance {
							t.Errorf("RP%d at %v is read as %v, %.3f mm off on paper", i+1, d, l.at(on), off)
						}
					}
					// The line as it is drawn, whatever the program says of where it drew it.
					heavy := drawing.NewTheme(drawing.Medium{Paper: true}).Style(drawing.Boundary).Pen.Width
					found := false
					for _, s := range f.pages[0].strokes {
						if len(s.points) != len(corners) || math.Abs(s.width-heavy) > 0.01 {
							continue
						}
						found = true
						for i, c := range corners {
							if off := apart(c, l.at(s.points[i]), scale.Ratio); off > tolerance {
								t.Errorf("corner %d at %v is read as %v, %.3f mm off on paper", i, c, l.at(s.points[i]), off)
							}
						}
					}
					if !found {
						t.Error("the boundary is not drawn")
					}
				})
			}
		}
	}
}

func TestOutsideGDALFindsThePlaceOnEveryMapOfASet(t *testing.T) {
	for name, opt := range map[string]Options{"the whole set": {Sheets: Sheets(), Paper: A4}, "a layout on several sheets": {Tile: true, Scale: 1000, Paper: A4}} {
		t.Run(name, func(t *testing.T) { placesOnEveryMap(t, opt) })
	}
}

func placesOnEveryMap(t *testing.T, opt Options) {
	in := analysed(t)
	var b bytes.Buffer
	info, err := Print(&b, in, opt)
	if err != nil {
		t.Fatal(err)
	}
	f, path := readPDF(t, b.Bytes()), onDisk(t, b.Bytes())
	corners := in.Plan.Of(model.KindBoundary)[0].Geometry.(orb.Polygon)[0]
	heavy := drawing.NewTheme(drawing.Medium{Paper: true}).Style(drawing.Boundary).Pen.Width
	maps := 0
	for n, p := range f.pages {
		var line []orb.Point
		for _, s := range p.strokes {
			if len(s.points) == len(corners) && s.points[0] == s.points[len(corners)-1] && math.Abs(s.width-heavy) < 0.01 {
				line = s.points
			}
		}
		if line == nil {
			continue // a page without a map, or with a part of it
		}
		if !strings.Contains(p.dict, "/Subtype /GEO") {
			t.Errorf("page %d has a map that is not registered", n+1)
			continue
		}
		maps++
		l := locate(t, path, n+1, p.box)
		scale := math.Abs(l.gt[1]) * l.pixels[0] / l.width * 1000
		for i, c := range corners {
			if off := apart(c, l.at(line[i]), int(scale)); off > 0.1 {
				t.Errorf("page %d, 1:%.0f: corner %d at %v is read as %v, %.3f mm off on paper", n+1, scale, i, c, l.at(line[i]), off)
			}
		}
	}
	// One sheet of a tiling may show a pattern alone.
	if want := max(2, len(info.Tiles)); maps < want {
		t.Errorf("%d pages with a map, want %d at least", maps, want)
	}
}
