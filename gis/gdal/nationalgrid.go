package gdal

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// A NationalGrid is a projected coordinate reference system in which places of a
// site are also given.
type NationalGrid struct {
	crs    CRS
	stated bool
	own    bool // it is on WGS 84 itself
	tie    Datum
	axes   [2]string
	unit   string
}

// OpenNationalGrid returns the projected system text ("EPSG:27700", see ParseCRS)
// for a site about the longitude and latitude at, or where text is "" the zone
// of UTM on WGS 84 that at lies in, six degrees wide without the exceptions of
// the far north. It is an error where text is no projected system, or the
// register says that it is not for use there.
func OpenNationalGrid(text string, at orb.Point) (*NationalGrid, error) {
	g := &NationalGrid{stated: strings.TrimSpace(text) != ""}
	if !g.stated {
		text = "EPSG:" + strconv.Itoa(utm(at))
	}
	err := locked(func() (err error) {
		if g.crs, err = parseCRS(text); err != nil {
			return err
		}
		sr, err := newSR(g.crs.text)
		if err != nil {
			return err
		}
		defer sr.Destroy()
		if !sr.IsProjected() {
			return fmt.Errorf("%s is not a grid on a map: name a projected system, such as EPSG:27700", describe(g.crs))
		}
		w, s, e, n, ok := areaOfUse(sr)
		wide := e - w
		if wide < 0 {
			wide += 360 // it runs across the date line
		}
		if ok && g.stated && !(at[1] >= s && at[1] <= n && math.Mod(at[0]-w+720, 360) <= wide) {
			return fmt.Errorf("%s is for use between longitude %g and %g, latitude %g and %g, and the site lies at %.4f, %.4f: name the grid of its country",
				describe(g.crs), w, e, s, n, at[0], at[1])
		}
		switch u := unitOf(sr, "PROJCS"); {
		case u == 1:
			g.unit = "m"
		case math.Abs(u-internationalFoot) < 1e-9:
			g.unit = "ft"
		case math.Abs(u-surveyFoot) < 1e-9:
			g.unit = "US survey ft"
		default:
			g.unit, _ = sr.AttrValue("PROJCS|UNIT", 0)
		}
		key, _ := sr.AttrValue("PROJCS|GEOGCS|AUTHORITY", 1)
		g.own = key == "4326"
		return g.turn(at)
	})
	if err != nil {
		return nil, err
	}
	if g.tie, err = DatumOf(g.crs, at.Bound().Pad(0.01)); err != nil {
		return nil, err
	}
	if g.own {
		g.tie = Datum{} // nothing lies between the two
	}
	return g, nil
}

// utm is the EPSG code of the zone of UTM on WGS 84 that a place lies in.
func utm(at orb.Point) int {
	zone := min(max(int(math.Floor((at[0]+180)/6))+1, 1), 60)
	if at[1] < 0 {
		return 32700 + zone
	}
	return 32600 + zone
}

// turn finds out which way the coordinates grow: some countries count to the
// south or west.
func (g *NationalGrid) turn(at orb.Point) error {
	ct, err := newTransform(WGS84, g.crs)
	if err != nil {
		return err
	}
	defer ct.Destroy()
	const step = 1e-4 // degrees
	pts := []orb.Point{at, {at[0] + step, at[1]}, {at[0], at[1] + step}}
	if transform(ct, pts) >= 0 {
		return failure(fmt.Sprintf("the site at %.4f, %.4f has no place in %s", at[0], at[1], describe(g.crs)))
	}
	for i := range 2 {
		east, north := pts[1][i]-pts[0][i], pts[2][i]-pts[0][i]
		word, grows := [2]string{"east", "west"}, east
		if math.Abs(north)*math.Cos(at[1]*math.Pi/180) > math.Abs(east) {
			word, grows = [2]string{"north", "south"}, north
		}
		g.axes[i] = word[0]
		if grows < 0 {
			g.axes[i] = word[1]
		}
	}
	return nil
}

// Name is the code and the name: "EPSG:27700, OSGB36 / British National Grid".
func (g *NationalGrid) Name() string {
	if strings.HasPrefix(g.crs.text, "EPSG:") {
		return g.crs.text + ", " + g.crs.name
	}
	return g.crs.name
}

// Stated reports whether the grid was named, rather than UTM taken.
func (g *NationalGrid) Stated() bool { return g.stated }

// Accuracy is how well the grid is tied to WGS 84 here, in metres, by the EPSG
// register and the grid files that are installed; false where it does not say.
func (g *NationalGrid) Accuracy() (metres float64, known bool) {
	return g.tie.Accuracy, g.tie.Accuracy >= 0
}

// Tie says in words how well the grid is tied to WGS 84 here.
func (g *NationalGrid) Tie() string {
	switch {
	case g.own:
		return "on WGS 84 itself"
	case g.tie.Accuracy < 0:
		return "accuracy unknown: the EPSG register does not say how well it is tied to WGS 84 here"
	case g.tie.Missing != "" && g.tie.Better >= 0:
		return fmt.Sprintf("tied to WGS 84 to about %g m here by the EPSG register, to %g m were PROJ's grid file %s installed", g.tie.Accuracy, g.tie.Better, g.tie.Missing)
	}
	return fmt.Sprintf("tied to WGS 84 to about %g m here by the EPSG register", g.tie.Accuracy)
}

// Axes are the directions in which the two coordinates grow, "east", "west",
// "north" or "south", and their unit.
func (g *NationalGrid) Axes() (first, second, unit string) { return g.axes[0], g.axes[1], g.unit }

// Places returns longitudes and latitudes on WGS 84 as coordinates of the grid.
func (g *NationalGrid) Places(lonlat []orb.Point) ([]orb.Point, error) {
	return Transformer{From: WGS84, To: g.crs}.Points(lonlat)
}
