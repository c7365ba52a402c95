package gdal_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
)

// The EPSG register (as PROJ 9.1.1 carries it): accuracies of the operations to
// WGS 84. Where a grid file is installed the better one holds.
func TestOutsideTheTieToWGS84IsAsGoodAsTheRegisterSays(t *testing.T) {
	for _, row := range []struct {
		crs      string
		lon, lat float64
		accuracy float64 // without grid files
		file     string  // part of the name of the better way's, "" if there is none
		better   float64
	}{
		{"EPSG:27700", -3, 55, 2, "OSTN15", 1}, // OSGB36 to WGS 84 (6), EPSG:1314
		{"EPSG:2193", 175, -36, 1, "", -1},     // NZGD2000 to WGS 84 (1), EPSG:1565
		{"EPSG:25832", 12, 55, 1, "", -1},      // ETRS89 to WGS 84 (1), EPSG:1149
		{"EPSG:4326", 1, 1, 0, "", -1},
	} {
		t.Run(row.crs, func(t *testing.T) {
			near := orb.Point{row.lon, row.lat}.Bound().Pad(0.01)
			d, err := gdal.DatumOf(crs(t, row.crs), near)
			if err != nil {
				t.Fatal(err)
			}
			if row.file != "" && d.Missing == "" && d.Accuracy <= row.better {
				t.Skipf("the grid file %s is installed here", row.file)
			}
			if d.Accuracy != row.accuracy || !strings.Contains(d.Missing, row.file) || d.Better != row.better {
				t.Errorf("%s, want accuracy %v m, and %v m by a file like %q", fmt.Sprintf("%+v", d), row.accuracy, row.better, row.file)
			}
		})
	}
}
