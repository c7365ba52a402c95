package drawing_test

import (
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
)

func TestAnAssetIsNamedEvenWhereItsNameDoesNotFitInside(t *testing.T) {
	g := sitegrid.New(8, 47)
	at := func(x, y float64) orb.Point { return g.ToLonLat(orb.Point{x, y}) }
	square := func(x float64) orb.Polygon {
		return orb.Polygon{{at(x, 0), at(x+6, 0), at(x+6, 6), at(x, 6), at(x, 0)}}
	}
	p, err := model.Add{Features: []*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", orb.Polygon{{at(-50, -50), at(50, -50), at(50, 50), at(-50, 50), at(-50, -50)}}),
		model.NewFeature(model.KindAsset, "A1", square(-20), model.Prop("name", "Transformer")),
		model.NewFeature(model.KindBuilding, "H1", square(20), model.Prop("name", "Substation"), model.Prop("height_m", 3)),
	}}.Apply(model.NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	list := drawing.Compose(drawing.Input{Scene: scene.New(p)})
	named := map[string]bool{}
	for _, l := range drawing.PlaceLabels(list, drawing.View{MetresPerUnit: 0.5, Width: 400, Height: 400}, drawing.NewTheme(drawing.Medium{})).Labels {
		named[l.Text] = true
	}
	if !named["Transformer"] {
		t.Errorf("the asset has no name: %v", named)
	}
	if named["Substation"] {
		t.Error("the name of a building this small is taken to fit: the test shows nothing")
	}
}
