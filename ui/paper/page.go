package paper

import (
	"fmt"
	"strconv"
	"strings"
)

// Format is a size of paper.
type Format uint8

// The formats. Auto is the smaller one that takes the same scale on as few
// sheets.
const (
	Auto Format = iota
	A4
	A3
)

// formats holds the trimmed sizes in millimetres, short side first.
//
// Source: ISO 216, A series.
var formats = map[Format]struct {
	name        string
	short, long float64
}{
	A4: {"A4", 210, 297},
	A3: {"A3", 297, 420},
}

// String is the name of the format: "A4", "A3" or "auto".
func (f Format) String() string {
	if s, ok := formats[f]; ok {
		return s.name
	}
	return "auto"
}

// ParseFormat reads "A4", "A3" or "auto", in either case; "" is Auto.
func ParseFormat(s string) (Format, error) {
	switch strings.ToUpper(s) {
	case "", "AUTO":
		return Auto, nil
	case "A4":
		return A4, nil
	case "A3":
		return A3, nil
	}
	return Auto, fmt.Errorf("paper %q is not A4, A3 or auto", s)
}

// Size returns the width and height of the format in millimetres.
func (f Format) Size(landscape bool) (width, height float64) {
	s := formats[f]
	if landscape {
		return s.long, s.short
	}
	return s.short, s.long
}

// Scale is a usual scale, 1 to Ratio.
type Scale struct {
	Ratio int
	ISO   bool // recommended by ISO 5455; the others are usual on maps
}

// Scales are the usual scales, largest first.
//
// Source: ISO 5455:1979, clause 5 (1:2, 1:5 and 1:10, and these times powers of
// ten) for those marked ISO; 1:250, 1:1250 and 1:2500 are common practice on
// site plans.
var Scales = []Scale{
	{200, true}, {250, false}, {500, true}, {1000, true}, {1250, false},
	{2000, true}, {2500, false}, {5000, true}, {10000, true},
}

// Limits of a scale that is asked for: chosen. Nearer than 1:50 a sensor's mark
// is larger than its post; beyond 1:1000000 no boundary can be made out.
const (
	nearest  = 50
	farthest = 1_000_000
)

// usualFrom returns the largest usual scale of at least ratio; beyond the list,
// ratio rounded up to 1, 2 or 5 times a power of ten.
func usualFrom(ratio float64) int {
	for _, s := range Scales {
		if float64(s.Ratio) >= ratio*(1-1e-9) {
			return s.Ratio
		}
	}
	for p := 10000; p < 1e9; p *= 10 {
		for _, m := range []int{1, 2, 5} {
			if float64(p*m) >= ratio*(1-1e-9) {
				return p * m
			}
		}
	}
	return 1e9
}

// Ratio writes a scale as it stands on the sheet: "1:2500".
func ratioText(ratio int) string { return "1:" + strconv.Itoa(ratio) }
