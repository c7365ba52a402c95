package gdal

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// worldFile looks beside an image for a world file with one of the endings
// given and returns what it says as a geotransform of pixel corners, and its
// name; the name is "" where there is none.
//
// A world file is six numbers, one a line: A and D, the step in x and y from one
// column to the next; B and E, the same from one row to the next; C and F, the
// position of the CENTRE of the first pixel (common practice, from Esri's format;
// no standard).
func worldFile(path string, endings []string) (gt [6]float64, name string, err error) {
	stem := strings.TrimSuffix(path, filepath.Ext(path))
	for _, e := range endings {
		for _, e := range []string{e, strings.ToUpper(e)} {
			file := stem + e
			st, err := os.Stat(file)
			if err != nil || !st.Mode().IsRegular() {
				continue
			}
			gt, err := readWorldFile(file)
			return gt, filepath.Base(file), err
		}
	}
	return gt, "", nil
}

func readWorldFile(file string) (gt [6]float64, err error) {
	f, err := os.Open(file)
	if err != nil {
		return gt, fmt.Errorf("%s: %s", shown(file), reason(err))
	}
	defer f.Close()
	const most = 4096 // bytes; six numbers take under 200
	b, err := io.ReadAll(io.LimitReader(f, most))
	if err != nil {
		return gt, fmt.Errorf("%s: %s", shown(file), reason(err))
	}
	words := strings.Fields(strings.TrimPrefix(string(b), "\ufeff"))
	if len(words) < 6 {
		return gt, fmt.Errorf("%s: a world file holds six numbers, this one %d", shown(file), len(words))
	}
	var v [6]float64
	for i := range v {
		v[i], err = strconv.ParseFloat(strings.Replace(words[i], ",", ".", 1), 64)
		if err != nil || !finite(v[i]) {
			return gt, fmt.Errorf("%s: line %d: %q is not a number", shown(file), i+1, brief(words[i]))
		}
	}
	a, d, bb, e, c, ff := v[0], v[1], v[2], v[3], v[4], v[5]
	gt = [6]float64{c - a/2 - bb/2, a, bb, ff - d/2 - e/2, d, e}
	if det := a*e - bb*d; !(math.Abs(det) > 0) || !finite(det) {
		return gt, fmt.Errorf("%s: the pixel has no area (%g, %g; %g, %g): the first and fourth numbers are its width and height", shown(file), a, d, bb, e)
	}
	return gt, nil
}
