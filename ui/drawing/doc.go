// Package drawing says what is drawn: a plan and its result become a List of
// primitives on the site grid (metres, x east, y north), back to front.
//
// Three ideas hold the package together.
//
// Style by meaning. A primitive carries a Meaning (Gap, Footprint, LinkThin),
// never a colour or a width. One table, NewTheme, turns a Meaning into pen,
// fill, hatch, dots, mark and legend line for a Medium: the light or dark
// screen, the sheet, the sheet without colour, the installer's sheet. The
// legend (Theme.Legend) is drawn from the same rows, so it cannot lie.
//
// One renderer, several back ends. Render walks a List and draws it on a
// Canvas: five calls (Fill, Hatch, Dots, Stroke, Text) in the units of the
// medium. On the screen the unit is the device-independent pixel, on paper the
// millimetre; y runs down from the upper left corner of the View. Package
// ui/paint is the Canvas on an image, ui/paper the Canvas in a PDF. Marks,
// casings, bands, ticks, halos, tags and leaders are all resolved here, so
// screen and paper cannot differ.
//
// What can be picked is what is drawn. Each primitive names the feature it
// stands for; List.Hit finds them by place, marks before lines before areas,
// small before large.
//
// The shape of it:
//
//	list := drawing.Compose(drawing.Input{Scene: sc, Result: r, Selected: ids, Live: dragged})
//	theme := drawing.NewTheme(drawing.Medium{Dark: true})
//	view := drawing.View{Centre: c, MetresPerUnit: 0.5, Width: 1600, Height: 1000, Scale: 2}
//	placed := drawing.PlaceLabels(list, view, theme)
//	drawing.Render(canvas, list, view, theme, placed, drawing.AllLayers)
//	hits := list.Hit(view.ToGrid(pointer), 6*view.MetresPerUnit, view.MetresPerUnit)
//
// Handles, drafts and the like are added by whoever has them (List.With, or a
// second list above the first). A back end that keeps pictures of marks and
// labels is a Stamper.
//
// During a drag the caller keeps an image of the layers that rest (Resting)
// and each frame paints only Moving above a copy. Beside the map, Unroll draws
// the straight-line diagram of a boundary, Theme.Legend and Theme.Sample the
// legend; both are lists, rendered as any other.
//
// List.String prints a list as lines of text, for goldens.
package drawing
