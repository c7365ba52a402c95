package paper

import (
	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// compose is what the sheet draws. Devices are named by their ids, which the
// schedule explains: full names would cover the map.
func compose(in Input) *drawing.List {
	list := drawing.Compose(drawing.Input{Scene: in.Scene, Result: in.Result})
	for i := range list.Items {
		if it := &list.Items[i]; it.Meaning == drawing.DeviceName && it.ID != "" {
			it.Text = it.ID
		}
	}
	return list
}

// extentOf is the box round an item's geometry, metres.
func extentOf(it *drawing.Item) orb.Bound {
	switch {
	case it.Kind == drawing.AreaKind && len(it.Area) > 0:
		return it.Area.Bound()
	case it.Kind == drawing.LineKind && len(it.Line) > 0:
		return it.Line.Bound()
	}
	return orb.Bound{Min: it.At, Max: it.At}
}
