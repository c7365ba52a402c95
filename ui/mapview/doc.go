// Package mapview is the map of the window: one widget with one raster, which
// its own renderer fills.
//
// What is shown is kept in layers, each an image: the aerial picture under its
// veil; above it what rests while a device is dragged (drawing.Resting); above
// that everything else of the drawing; last the handles, the outline being drawn
// and what the pointer is over. Each is painted again only when what it shows
// has changed. While the view moves, the finished layers are shifted or scaled
// and painted afresh when it has come to rest.
//
// Layers and Map are used on the goroutine of the window.
package mapview
