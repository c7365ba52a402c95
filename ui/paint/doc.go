// Package paint is the drawing.Canvas on an *image.RGBA: screen, PNG, tests.
//
// A Painter keeps its buffers, masks and text between frames, so it is made
// once and used by one goroutine at a time:
//
//	p := paint.New()
//	p.Paint(rest, list, view, theme, placed, drawing.Resting)  // above the aerial image, kept by the caller
//	copy(frame.Pix, rest.Pix)
//	p.Paint(frame, list, view, theme, placed, drawing.Moving)  // each frame of a drag
//
// The image is premultiplied, as image.RGBA is, its pixels are device pixels:
// drawing.View.Scale of them to a unit.
//
// How it paints. A shape is entered into an accumulation buffer as signed
// areas (the method of the font-rs rasteriser, Raph Levien, 2016), one cell a
// pixel, and the blocks of 16 cells an edge touches are marked in a bitmap. The
// sweep visits the marked blocks only; between them the coverage is constant,
// so the inside of a shape is one plain run and the outside costs nothing,
// whether the shape is a wedge or a thin line across the whole view.
package paint
