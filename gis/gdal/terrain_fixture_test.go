package gdal

import (
	"testing"

	raw "github.com/lukeroth/gdal"
)

// Heights is a raster of heights made for a test by the library's own writer.
type Heights struct {
	Fixture
	Number        string // type of number: "Float32" (default), "Float64", "Int32", ...
	Unit          string // of the band
	Scale, Offset float64
}

// Write makes the file at path, a GeoTIFF, or fails the test.
func (f Heights) Write(t testing.TB, path string) {
	t.Helper()
	types := map[string]raw.DataType{"": raw.Float32, "Float32": raw.Float32, "Float64": raw.Float64, "Int16": raw.Int16, "Int32": raw.Int32, "Byte": raw.Byte, "CFloat32": raw.CFloat32}
	err := locked(func() error {
		drv, err := raw.GetDriverByName("GTiff")
		if err != nil {
			return err
		}
		ds := drv.Create(path, f.Width, f.Height, max(1, f.Bands), types[f.Number], f.Options)
		if ds.IsNull() {
			return failure("create " + path)
		}
		defer ds.Close()
		if f.WKT != "" {
			if err := ds.SetProjection(f.WKT); err != nil {
				return failure("projection")
			}
		}
		if f.Place != nil {
			if err := ds.SetGeoTransform(*f.Place); err != nil {
				return failure("geotransform")
			}
		}
		band := ds.RasterBand(1)
		if f.NoData != nil {
			if err := band.SetNoDataValue(*f.NoData); err != nil {
				return failure("no data")
			}
		}
		if f.Unit != "" {
			if err := band.SetUnitType(f.Unit); err != nil {
				return failure("unit")
			}
		}
		if f.Scale != 0 {
			if err := band.SetScale(f.Scale); err != nil {
				return failure("scale")
			}
			if err := band.SetOffset(f.Offset); err != nil {
				return failure("offset")
			}
		}
		if f.Pixels == nil {
			return nil
		}
		line := make([]float64, f.Width)
		for row := range f.Height {
			for col := range line {
				line[col] = f.Pixels(1, col, row)
			}
			if err := band.IO(raw.Write, 0, row, f.Width, 1, line, f.Width, 1, 0, 0); err != nil {
				return failure("write")
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
