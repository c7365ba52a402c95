package gdal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"

	"pleach/model/layer"
)

// packages lets one GeoPackage be written at a time: the date inside it is a
// setting of the whole library.
var packages sync.Mutex

// GeoPackage returns a set of layers as a GeoPackage (OGC 12-128) in longitude
// and latitude on WGS 84: a table a layer, empty ones too, and a table
// layer_styles from which a GIS draws them. Each table has its layer's fields and
// layer.LabelField. The times inside are the set's date, 1970 where it has none,
// so that the same set gives the same bytes.
func GeoPackage(s layer.Set) ([]byte, error) {
	packages.Lock()
	defer packages.Unlock()
	folder, err := os.MkdirTemp("", "pleach-*")
	if err != nil {
		return nil, fmt.Errorf("a folder for work in progress: %s", reason(err))
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "plan.gpkg")
	if err := locked(func() error { return writePackage(path, s) }); err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("the GeoPackage cannot be read back: %s", reason(err))
	}
	return data, nil
}

// writePackage is GeoPackage for a caller that holds the thread.
func writePackage(path string, s layer.Set) (err error) {
	date := "1970-01-01T00:00:00.000Z"
	if !s.Date.IsZero() {
		date = s.Date.UTC().Format("2006-01-02T15:04:05.000Z")
	}
	for k, v := range map[string]string{"OGR_CURRENT_DATE": date, "OGR_SQLITE_SYNCHRONOUS": "OFF"} {
		raw.CPLSetConfigOption(k, v)
	}
	driver, err := raw.GetDriverByName("GPKG")
	if err != nil {
		return errors.New("this GDAL cannot write GeoPackage")
	}
	ds := driver.Create(path, 0, 0, 0, raw.Unknown, nil)
	if ds == (raw.Dataset{}) {
		return failure("make the GeoPackage")
	}
	sr, err := newSR(WGS84.text)
	if err != nil {
		ds.Close()
		return err
	}
	defer sr.Destroy()
	for _, l := range s.Layers {
		if err := writeLayer(ds, sr, s, l); err != nil {
			ds.Close()
			return fmt.Errorf("layer %s: %w", l.Name, err)
		}
	}
	for _, q := range styleQueries(s, date) {
		clearErrors()
		ds.ExecuteSQL(q, raw.Geometry{}, "")
		if msg := lastFailure(); msg != "" {
			ds.Close()
			return fmt.Errorf("layer_styles: %s", oneLine(msg))
		}
	}
	ds.Close()
	if msg := lastFailure(); msg != "" {
		return fmt.Errorf("write the GeoPackage: %s", oneLine(msg))
	}
	return nil
}

func writeLayer(ds raw.Dataset, sr raw.SpatialReference, s layer.Set, l layer.Layer) error {
	shape := map[layer.Shape]raw.GeometryType{layer.Points: raw.GT_Point, layer.Lines: raw.GT_LineString, layer.Areas: raw.GT_MultiPolygon}[l.Shape]
	out := ds.CreateLayer(l.Name, sr, shape, []string{"FID=fid", "GEOMETRY_NAME=geom", "IDENTIFIER=" + l.Title})
	if out == (raw.Layer{}) {
		return failure("make the table")
	}
	for _, f := range append(l.Fields[:len(l.Fields):len(l.Fields)], layer.Field{Name: layer.LabelField, Type: layer.Text}) {
		typ := map[layer.Type]raw.FieldType{layer.Text: raw.FT_String, layer.Real: raw.FT_Real, layer.Whole: raw.FT_Integer, layer.Flag: raw.FT_Integer}[f.Type]
		def := raw.CreateFieldDefinition(f.Name, typ)
		err := out.CreateField(def, false)
		def.Destroy()
		if err != nil {
			return failure("field " + f.Name)
		}
	}
	if err := out.StartTransaction(); err != nil {
		return failure("begin")
	}
	for i, f := range l.Features {
		if f.Label != "" {
			f.Values = append(f.Values[:len(f.Values):len(f.Values)], f.Label)
		}
		if err := writeFeature(out, s, f); err != nil {
			return fmt.Errorf("feature %d: %w", i+1, err)
		}
	}
	if err := out.CommitTransaction(); err != nil {
		return failure("write")
	}
	return nil
}

func writeFeature(out raw.Layer, s layer.Set, f layer.Feature) error {
	feature := out.Definition().Create()
	defer feature.Destroy()
	for i, v := range f.Values {
		switch v := v.(type) {
		case string:
			feature.SetFieldString(i, strings.ReplaceAll(v, "\x00", " "))
		case float64:
			feature.SetFieldFloat64(i, v)
		case int:
			feature.SetFieldInteger(i, v)
		case bool:
			n := 0
			if v {
				n = 1
			}
			feature.SetFieldInteger(i, n)
		}
	}
	g := s.Geographic(f.Geometry)
	if m, ok := g.(orb.MultiPolygon); ok && len(m) == 0 {
		g = nil
	}
	if g != nil {
		b, err := wkb.Marshal(g)
		if err != nil {
			return err
		}
		shape, err := raw.CreateFromWKB(b, raw.SpatialReference{}, len(b))
		if err != nil {
			return failure("its geometry")
		}
		// The feature owns the geometry from here on.
		if err := feature.SetGeometryDirectly(shape); err != nil {
			return failure("its geometry")
		}
	}
	if err := out.Create(feature); err != nil {
		return failure("store it")
	}
	return nil
}

// styleQueries make and fill the table layer_styles, which several GIS read by
// agreement, and enter it among the package's tables.
func styleQueries(s layer.Set, date string) []string {
	text := func(v string) string { return "'" + strings.ReplaceAll(v, "'", "''") + "'" }
	out := []string{
		`CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT(256), f_table_schema TEXT(256), f_table_name TEXT(256), f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30), update_datetime DATETIME)`,
		`INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) VALUES ('layer_styles', 'attributes', 'layer_styles', '', ` + text(date) + `)`,
	}
	for _, l := range s.Layers {
		out = append(out, `INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, owner, ui, update_datetime) VALUES ('', '', `+
			text(l.Name)+`, 'geom', 'drawn', `+text(layer.QML(l))+`, `+text(layer.SLD(l))+`, 1, `+text(l.Title)+`, '', NULL, `+text(date)+`)`)
	}
	return out
}
