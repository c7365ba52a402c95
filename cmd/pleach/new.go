package main

import (
	"io"
)

var newCommand = command{
	name:    "new",
	args:    "[--boundary FILE] [--image FILE] [--terrain FILE] [--buildings FILE] [--roads FILE] [--foliage FILE] -o PLAN",
	summary: "a plan from GIS files",
	help: `At least one of:

  --boundary FILE    GeoJSON: the line to be watched
  --image FILE       aerial picture: GeoTIFF, PNG, JPEG or JPEG 2000
  --terrain FILE     raster of ground heights
  --buildings FILE   GeoJSON
  --roads FILE       GeoJSON: roads and footpaths
  --foliage FILE     GeoJSON: woods and hedges

  --image-crs EPSG:n, --terrain-crs EPSG:n
                     the coordinate reference system of a raster that names none
  -o PLAN            where to; a file that is there already is left alone`,
	run: runNew,
}

func runNew(args []string, out, notes io.Writer) (int, error) {
	return bad, usage("new: not part of this build")
}
