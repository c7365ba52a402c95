package gdal

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	raw "github.com/lukeroth/gdal"
)

// A bandPlan says which bands of an image make its colours.
type bandPlan struct {
	kind   colourKind
	colour []int // band numbers from 1: one or three
	alpha  int   // band number that the library does not already treat as the mask; 0 for none
	bits   int   // of a Byte band, where under 8; else 8
	wide   bool  // numbers of more than 8 bits: stretched to 0..255
}

type colourKind int

const (
	gray colourKind = iota
	rgb
	palette
)

// words says how the bands are read.
func (p bandPlan) words() string {
	var s string
	switch p.kind {
	case gray:
		s = fmt.Sprintf("band %d as grey", p.colour[0])
	case palette:
		s = fmt.Sprintf("band %d by its colour table", p.colour[0])
	case rgb:
		s = fmt.Sprintf("bands %d, %d, %d as red, green and blue", p.colour[0], p.colour[1], p.colour[2])
	}
	if p.wide {
		s += ", the darkest and brightest 2 % of the values cut off"
	}
	return s
}

// chooseBands reads the meaning of the bands off the file where it states one.
// Three or more bands without a stated meaning are red, green, blue and
// whatever follows (near infrared in most aerial surveys: not drawn), the usual
// order; one or two are grey.
func chooseBands(ds raw.Dataset) (bandPlan, error) {
	n := ds.RasterCount()
	at := map[raw.ColorInterp]int{}
	var plain []int // bands that are neither alpha nor hue, saturation and the like
	for i := 1; i <= n; i++ {
		c := ds.RasterBand(i).ColorInterp()
		if at[c] == 0 {
			at[c] = i
		}
		switch c {
		case raw.CI_HueBand, raw.CI_SaturationBand, raw.CI_LightnessBand,
			raw.CI_YCbCr_YBand, raw.CI_YCbCr_CbBand, raw.CI_YCbCr_CrBand,
			raw.CI_CyanBand, raw.CI_MagentaBand, raw.CI_YellowBand, raw.CI_BlackBand:
			return bandPlan{}, fmt.Errorf("band %d holds %s: save it in red, green and blue", i, c.Name())
		case raw.CI_AlphaBand:
		default:
			plain = append(plain, i)
		}
	}
	p := bandPlan{bits: 8}
	switch {
	case len(plain) == 0:
		return p, errors.New("has no band to draw but transparency")
	case at[raw.CI_PaletteIndex] > 0 && ds.RasterBand(at[raw.CI_PaletteIndex]).ColorTable().EntryCount() > 0:
		p.kind, p.colour = palette, []int{at[raw.CI_PaletteIndex]}
	case at[raw.CI_RedBand] > 0 && at[raw.CI_GreenBand] > 0 && at[raw.CI_BlueBand] > 0:
		p.kind, p.colour = rgb, []int{at[raw.CI_RedBand], at[raw.CI_GreenBand], at[raw.CI_BlueBand]}
	case len(plain) >= 3:
		p.kind, p.colour = rgb, plain[:3]
	default:
		p.kind, p.colour = gray, plain[:1]
	}
	for _, i := range p.colour {
		b := ds.RasterBand(i)
		t := b.RasterDataType()
		if t.IsComplex() != 0 || t == raw.Unknown {
			return p, fmt.Errorf("band %d holds numbers of type %s, which make no picture", i, t.Name())
		}
		if t != raw.Byte {
			p.wide = true
		}
	}
	if p.kind == palette && p.wide && ds.RasterBand(p.colour[0]).RasterDataType() != raw.UInt16 {
		return p, fmt.Errorf("band %d has a colour table but numbers of type %s", p.colour[0], ds.RasterBand(p.colour[0]).RasterDataType().Name())
	}
	if p.kind == palette {
		p.wide = false
	}
	first := ds.RasterBand(p.colour[0])
	if bits, err := strconv.Atoi(first.MetadataItem("NBITS", "IMAGE_STRUCTURE")); err == nil && bits > 0 && bits < 8 {
		p.bits = bits
	}
	if a := at[raw.CI_AlphaBand]; a > 0 && first.GetMaskFlags()&raw.GMF_ALPHA == 0 && ds.RasterBand(a).RasterDataType() == raw.Byte {
		p.alpha = a
	}
	return p, nil
}

// colourTable returns a palette as premultiplied red, green, blue, alpha.
// Numbers beyond it are transparent.
func colourTable(b raw.RasterBand) [][4]uint8 {
	ct := b.ColorTable()
	n := min(ct.EntryCount(), 1<<16)
	out := make([][4]uint8, n)
	for i := range out {
		e := ct.Entry(i)
		r, g, b, a := e.Get()
		out[i] = [4]uint8{mul255(r, a), mul255(g, a), mul255(b, a), a}
	}
	return out
}

func mul255(c, a uint8) uint8 { return uint8((uint32(c)*uint32(a) + 127) / 255) }

// A stretch takes numbers of any range to 0..255.
type stretch struct{ low, scale float64 }

func (s stretch) byte(v float32) uint8 {
	f := (float64(v) - s.low) * s.scale
	switch {
	case f <= 0:
		return 0
	case f >= 255:
		return 255
	}
	return uint8(f + 0.5)
}

// stretchOf puts the 2nd percentile of the sample at 0 and the 98th at 255
// (common practice, no published source). The bands of a picture share one
// stretch, so that its colours keep their balance. A picture of one value
// comes out mid grey.
func stretchOf(sample []float32) stretch {
	if len(sample) == 0 {
		return stretch{0, 1}
	}
	slices.Sort(sample)
	at := func(q float64) float64 { return float64(sample[int(math.Round(q*float64(len(sample)-1)))]) }
	low, high := at(0.02), at(0.98)
	if high <= low {
		low, high = float64(sample[0]), float64(sample[len(sample)-1])
	}
	if high <= low {
		return stretch{low - 128, 1}
	}
	return stretch{low, 255 / (high - low)}
}
