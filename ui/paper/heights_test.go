package paper

import (
	"slices"
	"testing"

	"pleach/model"
)

func TestTheNotesSayWhenTheUnitOfTheHeightsIsNotStated(t *testing.T) {
	in := analysed(t)
	p, err := model.Change{Path: "terrain", Value: model.TerrainFile{File: "ground.tif", CRS: "EPSG:32630"}.Value()}.Apply(in.Plan)
	if err != nil {
		t.Fatal(err)
	}
	in.Plan = p
	for unit, want := range map[string]string{
		"":                                   "Heights of the ground: ground.tif, in EPSG:32630.",
		", unit not stated, taken as metres": "Heights of the ground: ground.tif, unit not stated, taken as metres, in EPSG:32630.",
	} {
		in.HeightsUnit = unit
		if got := newSheet(in, Options{}).sources(); !slices.Contains(got, want) {
			t.Errorf("the notes say %q, want %q", got, want)
		}
	}
}
