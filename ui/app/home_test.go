package app

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/model"
)

// The heights lie about 504000 E, 5858000 N in UTM zone 30, the demo's picture
// within them.
func TestAPlanWithoutFeaturesLiesWhereItsPictureOrItsTerrainDoes(t *testing.T) {
	picture := fmt.Sprintf(`,"base_map":{"file":%q,"crs":"EPSG:32630"}`, demoPicture(t))
	terrain := fmt.Sprintf(`,"terrain":{"file":%q,"crs":"EPSG:32630"}`, heights(t))
	for name, settings := range map[string]string{"both": picture + terrain, "terrain alone": terrain} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "p.geojson")
			if err := os.WriteFile(path, []byte(`{"type":"FeatureCollection","pleach":{"version":1`+settings+`},"features":[]}`), 0o644); err != nil {
				t.Fatal(err)
			}
			w := open(t, path)
			if said := w.status.Text(); said != nextStep(w.ed.Plan()) {
				t.Errorf("the status line says %q", said)
			}
			if s := dialogText(w); s != "" {
				t.Errorf("a dialog says %q", s)
			}
			sc := w.an.last.Scene
			if sc.Terrain == nil || math.Abs(sc.Ground(orb.Point{})-12.5) > 1e-6 {
				t.Error("the plan is not laid on its terrain")
			}
			at, known, err := elevation.Home(w.folder(), w.ed.Plan())
			if g := w.ed.Grid(); !known || err != nil || g.Lon0 != at[0] || g.Lat0 != at[1] {
				t.Errorf("the grid is about %v, %v, not %v (%v)", g.Lon0, g.Lat0, at, err)
			}
		})
	}
}

func TestAPlanEmptiedOfItsFeaturesStaysWhereItsPictureIs(t *testing.T) {
	w := open(t, demoCopy(t))
	var ids []string
	for _, f := range w.ed.Plan().Features {
		ids = append(ids, f.ID)
	}
	if err := w.ed.Do(model.Delete{IDs: ids}); err != nil {
		t.Fatal(err)
	}
	at, known, err := elevation.Home(w.folder(), w.ed.Plan())
	if g := w.ed.Grid(); !known || err != nil || g.Lon0 != at[0] || g.Lat0 != at[1] {
		t.Errorf("the grid is about %v, %v, not %v (%v)", g.Lon0, g.Lat0, at, err)
	}
}
