// Package export writes a plan and its result in the formats other programs
// read, each whole in memory: what is on disk is for the caller.
package export

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pleach/model/analysis"
	"pleach/model/handover"
	"pleach/model/layer"
	"pleach/model/picture"
)

// Formats are the endings of the files that can be written, in the order in
// which they are named.
var Formats = []string{".gpkg", ".kml", ".gpx", ".dxf", ".csv", ".xlsx", ".geojson", ".png", ".svg"}

// Title says what a format is, in words.
func Title(format string) string {
	return map[string]string{".gpkg": "GeoPackage, layers for a GIS", ".kml": "KML, for a globe viewer", ".gpx": "GPX, waypoints for a handheld",
		".dxf": "DXF, a drawing in metres", ".csv": "CSV, schedules as text", ".xlsx": "XLSX, schedules as a workbook", ".geojson": "GeoJSON, results as features",
		".png": "PNG, the map as a picture", ".svg": "SVG, the map as a drawing"}[format]
}

// Input is what is written.
type Input struct {
	Result     *analysis.Result
	Picture    *picture.Picture                // nil: no aerial picture
	GeoPackage func(layer.Set) ([]byte, error) // writes a GeoPackage, which takes a library
	Schedule   string                          // of Schedules: the only one in a CSV; "" for all
	Width      int                             // of a PNG, in pixels, from LeastWidth to MostWidth; 0 for UsualWidth
}

// Schedules are the names of the schedules in CSV and XLSX.
func Schedules() []string {
	return []string{"sensors", "addresses", "zones", "links", "gaps", "bill", "batteries", "readings", "plan"}
}

// Format returns the ending of a file's name as it stands in Formats. The error
// of another one says which there are.
func Format(name string) (string, error) {
	i := strings.LastIndexByte(name, '.')
	ext := ""
	if i >= 0 && !strings.ContainsAny(name[i:], `/\`) {
		ext = strings.ToLower(name[i:])
	}
	if slices.Contains(Formats, ext) {
		return ext, nil
	}
	return "", fmt.Errorf("must end in one of %s", strings.Join(Formats, " "))
}

// WithPicture reports whether a format shows the aerial picture.
func WithPicture(format string) bool { return format == ".png" || format == ".svg" }

// Encode returns the file of a format, one of Formats. The same input gives the
// same bytes.
func Encode(format string, in Input) ([]byte, error) {
	set := func() layer.Set { return styled(handover.Set(in.Result)) }
	switch format {
	case ".gpkg":
		if in.GeoPackage == nil {
			return nil, errors.New("no writer of GeoPackage is at hand")
		}
		return in.GeoPackage(set())
	case ".kml":
		return layer.KML(set()), nil
	case ".gpx":
		s := set()
		i := slices.IndexFunc(s.Layers, func(l layer.Layer) bool { return l.Name == handover.DevicesLayer })
		return layer.GPX(s, s.Layers[i]), nil
	case ".dxf":
		return layer.DXF(set()), nil
	case ".geojson":
		return layer.GeoJSON(set()), nil
	case ".csv":
		tables := handover.Tables(in.Result)
		if in.Schedule != "" {
			tables = slices.DeleteFunc(tables, func(t layer.Table) bool { return t.Name != in.Schedule })
		}
		return layer.CSV(tables...), nil
	case ".xlsx":
		return layer.XLSX(in.Result.Plan.Settings.Title, handover.Date(in.Result.Plan), handover.Tables(in.Result)...)
	case ".png":
		return pngOf(in)
	case ".svg":
		return svg(in)
	}
	return nil, fmt.Errorf("format %q is not one of %s", format, strings.Join(Formats, " "))
}
