package gdal_test

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model/sitegrid"
)

// The site grid's own series against PROJ's transverse Mercator, over sites of
// 3 km all over the range of latitudes, there and back.
func TestOutsideSiteGridAgreesWithPROJ(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	for _, site := range []gdal.SiteGrid{
		{Lon0: 0, Lat0: 0}, {Lon0: -3.2, Lat0: 55.9}, {Lon0: 26.95, Lat0: 60.47}, {Lon0: 175.194, Lat0: -36.796},
		{Lon0: -123.07, Lat0: 44.06}, {Lon0: 179.999, Lat0: 10}, {Lon0: -180, Lat0: -50}, {Lon0: 15, Lat0: 84}, {Lon0: 15, Lat0: -84}, {Lon0: 100, Lat0: 0.001},
	} {
		t.Run(fmt.Sprintf("%g, %g", site.Lon0, site.Lat0), func(t *testing.T) {
			c, err := site.CRS()
			if err != nil {
				t.Fatal(err)
			}
			grid := sitegrid.New(site.Lon0, site.Lat0)
			var plane []orb.Point
			for range 200 {
				plane = append(plane, orb.Point{(r.Float64()*2 - 1) * 3000, (r.Float64()*2 - 1) * 3000})
			}
			lonlat, err := gdal.Transformer{From: c, To: gdal.WGS84}.Points(plane)
			if err != nil {
				t.Fatal(err)
			}
			worst, worstBack := 0.0, 0.0
			for i, p := range lonlat {
				q := grid.ToSite(p)
				worst = math.Max(worst, math.Hypot(q[0]-plane[i][0], q[1]-plane[i][1]))
				back := grid.ToLonLat(plane[i])
				dlon := math.Mod(back[0]-p[0]+540, 360) - 180
				worstBack = math.Max(worstBack, math.Hypot(dlon*math.Cos(p[1]*math.Pi/180), back[1]-p[1])*111_320)
			}
			if worst > 1e-4 || worstBack > 1e-4 {
				t.Errorf("to the site grid %.3g m off, back %.3g m, more than 0.0001: PROJ 9.1.1, +proj=tmerc", worst, worstBack)
			}
		})
	}
}
