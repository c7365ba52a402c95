package gdal

import (
	"testing"

	raw "github.com/lukeroth/gdal"
)

// A Fixture is an image file made for a test by the library's own writer.
// Tests outside the package make theirs through it.
type Fixture struct {
	Driver  string // "GTiff"; others are written as a copy of it
	Width   int
	Height  int
	Bands   int
	Type    string // "Byte" (default), "UInt16", "Float32"
	Colours []string
	NoData  *float64
	WKT     string
	Place   *[6]float64
	Options []string
	Palette [][4]uint
	Pixels  func(band, col, row int) float64

	Overviews []int // factors
}

// Write makes the file at path, or fails the test.
func (f Fixture) Write(t testing.TB, path string) {
	t.Helper()
	err := locked(func() error {
		types := map[string]raw.DataType{"": raw.Byte, "Byte": raw.Byte, "UInt16": raw.UInt16, "Int16": raw.Int16, "Float32": raw.Float32}
		name, options := "GTiff", f.Options
		if f.Driver != "GTiff" && f.Driver != "" {
			name, options = "MEM", nil
		}
		drv, err := raw.GetDriverByName(name)
		if err != nil {
			return err
		}
		ds := drv.Create(path, f.Width, f.Height, f.Bands, types[f.Type], options)
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
		if f.Palette != nil {
			ct := raw.CreateColorTable(raw.PI_RGB)
			defer ct.Destroy()
			for i, c := range f.Palette {
				var e raw.ColorEntry
				e.Set(c[0], c[1], c[2], c[3])
				ct.SetEntry(i, e)
			}
			if err := ds.RasterBand(1).SetColorTable(ct); err != nil {
				return failure("colour table")
			}
		}
		for b := 1; b <= f.Bands; b++ {
			band := ds.RasterBand(b)
			if b <= len(f.Colours) {
				if err := band.SetColorInterp(raw.GetColorInterpretationByName(f.Colours[b-1])); err != nil {
					return failure("colour")
				}
			}
			if f.NoData != nil {
				if err := band.SetNoDataValue(*f.NoData); err != nil {
					return failure("no data")
				}
			}
			if f.Pixels == nil {
				continue
			}
			line := make([]float64, f.Width)
			for row := range f.Height {
				for col := range line {
					line[col] = f.Pixels(b, col, row)
				}
				if err := band.IO(raw.Write, 0, row, f.Width, 1, line, f.Width, 1, 0, 0); err != nil {
					return failure("write")
				}
			}
		}
		if len(f.Overviews) > 0 {
			bands := make([]int, f.Bands)
			for i := range bands {
				bands[i] = i + 1
			}
			if err := ds.BuildOverviews("AVERAGE", len(f.Overviews), f.Overviews, f.Bands, bands, raw.DummyProgress, nil); err != nil {
				return failure("overviews")
			}
		}
		if name != "MEM" {
			return nil
		}
		out, err := raw.GetDriverByName(f.Driver)
		if err != nil {
			return err
		}
		c := out.CreateCopy(path, ds, 0, f.Options, raw.DummyProgress, nil)
		if c.IsNull() {
			return failure("copy to " + f.Driver)
		}
		c.Close()
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// WKTForTest writes a system out as well-known text.
func WKTForTest(c CRS) (wkt string, err error) {
	err = locked(func() error {
		sr, err := newSR(c.text)
		if err != nil {
			return err
		}
		defer sr.Destroy()
		wkt, err = sr.ToWKT()
		return err
	})
	return wkt, err
}
