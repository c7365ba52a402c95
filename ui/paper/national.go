package paper

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// A NationalGrid is a grid in which paper gives places beside the site grid.
type NationalGrid interface {
	// Name is its code and name: "EPSG:27700, OSGB36 / British National Grid".
	Name() string
	// Stated is whether the plan names it, rather than UTM being taken.
	Stated() bool
	// Accuracy is how well it is tied to WGS 84 at the site, in metres; false
	// where that is not known.
	Accuracy() (metres float64, known bool)
	// Tie says the same in words.
	Tie() string
	// Axes are the directions in which its two coordinates grow, and their unit.
	Axes() (first, second, unit string)
	// Places returns longitudes and latitudes on WGS 84 as its coordinates.
	Places(lonlat []orb.Point) ([]orb.Point, error)
}

// inNational is a place on the site grid in the national grid, false where there
// is none or it has no place there.
func (s *sheet) inNational(p orb.Point) (text string, ok bool) {
	if s.in.National == nil {
		return "", false
	}
	if s.national == nil {
		s.national = map[orb.Point]orb.Point{}
		s.toNational(orb.Point{}, s.ground.Center())
		var posts []orb.Point
		for _, d := range s.in.Scene.Devices {
			posts = append(posts, d.At)
		}
		s.toNational(posts...)
	}
	at, ok := s.national[p]
	if !ok {
		s.toNational(p)
		if at, ok = s.national[p]; !ok {
			return "", false
		}
	}
	first, second, u := s.in.National.Axes()
	decimals := s.nationalDecimals()
	return first + " " + figureAll(at[0], decimals) + string(hardSpace) + u + ", " + second + " " + figureAll(at[1], decimals) + string(hardSpace) + u, true
}

// toNational takes places to the national grid, together: finding the way there
// is most of the work. Those of a call of which one has no place are left out.
func (s *sheet) toNational(places ...orb.Point) {
	var lonlat []orb.Point
	for _, p := range places {
		lonlat = append(lonlat, s.in.Scene.Grid.ToLonLat(p))
	}
	if at, err := s.in.National.Places(lonlat); err == nil {
		for i, p := range places {
			s.national[p] = at[i]
		}
	}
}

// middleNational is the middle of the map in the national grid.
func (s *sheet) middleNational() string { return s.placeNational(s.ground.Center()) }

// placeNational is a place on the site grid in the national grid, with its accuracy
// and name; "" where there is none.
func (s *sheet) placeNational(p orb.Point) string {
	text, ok := s.inNational(p)
	if !ok {
		return ""
	}
	return text + s.nationalWithin() + " (" + brief(s.in.National.Name()) + ")"
}

// nationalWithin is the accuracy of the national grid, to be put behind a place.
func (s *sheet) nationalWithin() string {
	switch m, known := s.in.National.Accuracy(); {
	case !known:
		return ", accuracy unknown"
	case m > 0:
		return ", ±" + string(hardSpace) + unit(m, 2, "m")
	}
	return ""
}

// nationalDecimals is how finely a place is given: no finer than its accuracy
// deserves, but so that neighbours are told apart.
func (s *sheet) nationalDecimals() int {
	if m, known := s.in.National.Accuracy(); known && m < 0.1 {
		return 2
	}
	return 1
}

// brief is the part of a name before the first comma: its code.
func brief(name string) string {
	for i, r := range name {
		if r == ',' {
			return name[:i]
		}
	}
	return name
}

// nationalNote says which grids places are given in.
func (s *sheet) nationalNote() string {
	g := s.in.National
	if g == nil {
		return "National grid: none; places are given on the site grid and in longitude and latitude."
	}
	note := fmt.Sprintf("National grid: %s, %s.", g.Name(), g.Tie())
	if !g.Stated() {
		note = fmt.Sprintf("National grid: the plan states none (national_grid.crs); places are also given in %s, %s.", g.Name(), g.Tie())
	}
	if text, ok := s.inNational(orb.Point{}); ok {
		note += " The origin of the site grid lies " + text + "."
	}
	if a, ok := s.nationalNorth(); ok {
		switch side := "west"; {
		case math.Abs(a) < 0.005:
			note += " Its north is true north there."
		default:
			if a > 0 {
				side = "east"
			}
			note += " Its north lies " + angle(math.Abs(a), 2) + " " + side + " of true north there."
		}
	}
	return note
}

// nationalNorth is the angle in degrees, clockwise positive, from true north to
// the national grid's at the origin of the site grid, where the two known
// directions of its coordinates tell it.
func (s *sheet) nationalNorth() (degrees float64, ok bool) {
	o := s.in.Scene.Grid.ToLonLat(orb.Point{})
	at, err := s.in.National.Places([]orb.Point{o, {o[0], o[1] + 0.001}})
	if err != nil {
		return 0, false
	}
	var east, north float64
	first, second, _ := s.in.National.Axes()
	for i, axis := range []string{first, second} {
		d := at[1][i] - at[0][i]
		switch axis {
		case "east":
			east = d
		case "west":
			east = -d
		case "north":
			north = d
		case "south":
			north = -d
		}
	}
	return -math.Atan2(east, north) * 180 / math.Pi, east != 0 || north != 0
}
