package siting

import (
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// A place is told along the nearest boundary: by geometry of a square and a line whose
// corners stand in whole metres.
func TestAPlaceIsToldAlongTheNearestBoundary(t *testing.T) {
	ring := orb.LineString{{0, 0}, {100, 0}, {100, 100}, {0, 100}, {0, 0}}
	square := scene.Boundary{Feature: model.NewFeature(model.KindBoundary, "B1", nil, model.Prop("name", "Yard fence")), Line: ring, Closed: true, At: []float64{0, 100, 200, 300, 400}, Left: true}
	open := scene.Boundary{Feature: model.NewFeature(model.KindBoundary, "B2", nil), Line: orb.LineString{{200, 0}, {200, 50}}, At: []float64{0, 50}, Left: true}
	sc := &scene.Scene{Boundaries: []scene.Boundary{square, open}}
	for _, c := range []struct {
		at   orb.Point
		want string
	}{
		{orb.Point{40, 12}, "at 40 m along Yard fence, 12 m inside (40 m east, 12 m north of the grid's origin)"},
		{orb.Point{40, -12}, "at 40 m along Yard fence, 12 m outside (40 m east, 12 m south of the grid's origin)"},
		{orb.Point{100.2, 30}, "at 130 m along Yard fence, on it (100 m east, 30 m north of the grid's origin)"},
		{orb.Point{190, 20}, "at 20 m along B2, 10 m off it (190 m east, 20 m north of the grid's origin)"},
	} {
		if got := Along(sc, c.at); got != c.want {
			t.Errorf("%v: %s, want %s", c.at, got, c.want)
		}
	}
	if got := Along(&scene.Scene{}, orb.Point{-105, -78}); got != "105 m west, 78 m south of the grid's origin" {
		t.Errorf("without a boundary: %s", got)
	}
}
