package main

import "math"

// The invented site. Everything is drawn in a frame of its own, u along the
// yard and v across it, in metres; place turns that frame onto the site grid.
// Painter and plan both read this file, so they cannot disagree.

const (
	lon0, lat0 = -2.943, 52.861 // origin of the site grid, degrees
	utmZone    = 30
	crs        = "EPSG:32630"
	turn       = 10.5 * math.Pi / 180 // of the site's frame against east, anticlockwise
)

var (
	// fence is the line to be watched, anticlockwise.
	fence = ring{{-200, -95}, {-20, -105}, {131.2, -89.9}, {206.1, -68.1}, {212, 45}, {170, 100}, {45, 106}, {-60, 92}, {-190, 80}}

	premises = ring{{-206, -102}, {-190, -102.6}, {-110, -114}, {20, -126.5}, {150, -131}, {222, -135.5}, {223, -63}, {222, 40}, {234, 100}, {205, 128},
		{140, 121}, {30, 117}, {-61, 99}, {-196, 87}}

	lane     = line{{-800, -166}, {-520, -136}, {-330, -115}, {-200, -102.5}, {-110, -117}, {20, -130}, {150, -135}, {280, -143}, {420, -162}, {800, -237}}.smoothed(1)
	laneW    = 5.6
	yardRoad = line{{-57, -122.6}, {-57, -101.5}, {-57, -70}, {-62, -36}, {-20, -28}, {170, -26}}
	yardW    = 8.0
	footway  = line{{204, -138}, {212, -250}, {236, -420}, {246, -800}}
	footW    = 1.8

	rails  = line{{800, 112}, {600, 52}, {450, 20}, {330, 2}, {214, -6}, {120, -9}, {-40, -10}}
	stream = line{{214, 262}, {230, 190}, {260, 140}, {259, 80}, {250, 40}, {256, -4}, {262, -70}, {270, -141}, {285, -230}, {330, -340}, {352, -480}, {380, -800}}

	wood = ring{{-150, 187}, {-95, 176}, {-60, 168}, {-10, 175}, {40, 172}, {90, 184}, {130, 180}, {196, 203}, {226, 262}, {205, 335}, {120, 372},
		{10, 360}, {-90, 392}, {-165, 372}, {-178, 290}, {-160, 240}}
	woodRide  = line{{-190, 268}, {-90, 282}, {10, 262}, {110, 268}, {240, 300}}
	laneHedge = beside(lane, 24, 212, 5.6)
	hedgeW    = 2.4

	pond      = ring{{214.5, 39}, {214.5, 46.5}, {172, 102}, {144, 103.4}, {141, 111}, {150, 119}, {174, 122}, {196, 121}, {214, 115}, {228, 99}, {235, 74}, {229, 48}, {222, 39}}
	neighbour = ring{{-448, -126}, {-330, -111}, {-209, -101}, {-199, 88}, {-196, 150}, {-300, 167}, {-440, 143}}
	farmyard  = ring{{-316, -34}, {-287, -33}, {-286, 4}, {-266, 6}, {-262, 72}, {-300, 75}, {-311, 68}, {-349, 69}, {-350, 49}, {-315, 45}, {-316, 16}, {-343, 18}, {-346, -10}, {-318, -12}}
	apron     = ring{{-301, 8}, {-270, 9}, {-267, 66}, {-300, 67}}
	farmTrack = line{{-300, -113}, {-302, -80}, {-296, -30}}
	garden    = ring{{-400, -22}, {-350, -24}, {-346, 42}, {-404, 40}}

	powerLine = line{{-800, 232}, {-420, 158}, {-190, 126}, {-70, 124}, {60, 144}, {205, 156}, {420, 196}, {800, 260}}

	fuelFence  = line{{158, -58}, {184, -58}, {184, -38}, {158, -38}, {158, -58}}
	fuelStore  = ring{{160, -56}, {182, -56}, {182, -40}, {160, -40}}
	yardWall   = line{{-102, -20}, {-102, -48}, {-84, -50}}
	wallH      = 2.4
	stacks     = rect{pt{84, -58}, 49.5, 15.5, 0}
	stacksH    = 5.2
	mainGate   = line{fenceAt(0, 137.2), fenceAt(0, 148.8)}
	railGate   = line{fenceAt(3, 59.6), fenceAt(3, 65.6)}
	excluded   = line{fenceAt(3, 102.5), {212, 45}, {170, 100}, fenceAt(5, 25.5)}
	gatehouse  = pt{-73, -89}
	mastH      = 12.0
	repeaterH  = 10.5
	roofRepeat = fenceInset(7, 50, 7.6)
)

// roof is the kind of a building's roof.
type roof int

const (
	steel roof = iota
	slate
	tile
	flat
	barn
)

type building struct {
	id, name string
	rect
	height   float64 // of the ridge, metres
	roof     roof
	pitch    float64 // degrees
	tint     uint32
	material string
	seed     uint32
}

// goodsAngle is the direction of the fence edge on which the goods shed stands.
var goodsAngle = math.Atan2(-12, -130) + math.Pi

var buildings = []building{
	{"H1", "Transit shed", rect{pt{12, 31}, 104, 36, 0}, 9.5, steel, 7, 0xA9A9A2, "steel", 11},
	{"H2", "Cold store", rect{pt{122, 33}, 62, 29, 0}, 8, steel, 5, 0xDFDFDA, "steel", 12},
	{"H3", "Workshop", rect{pt{-140, -52}, 38, 19, 0.02}, 7, steel, 14, 0x8E9088, "brick", 13},
	{"H4", "Office", rect{pt{-22, -78}, 32, 13, -0.02}, 6.5, flat, 0, 0x9A978F, "brick", 14},
	{"H5", "Gatehouse", rect{gatehouse, 9, 6, 0}, 3.4, flat, 0, 0xA5A19A, "brick", 15},
	{"H6", "Pump house", rect{fenceInset(8, 41.5, 3.8), 6, 7, -0.057}, 3.8, tile, 30, 0x86705F, "brick", 16},
	{"H7", "Old goods shed", rect{fenceInset(7, 66, 7.6), 46, 15.2, goodsAngle}, 8.4, slate, 34, 0x75777A, "stone", 17},
	{"H8", "Farmhouse", rect{pt{-366, 8}, 15, 9.5, 1.25}, 8, tile, 40, 0x867065, "brick", 18},
	{"H9", "Cattle shed", rect{pt{-284, 40}, 46, 21, 1.62}, 7.5, steel, 12, 0x93958F, "steel", 19},
	{"H10", "Hay barn", rect{pt{-330, 58}, 28, 12, 0.12}, 7, barn, 0, 0x85756B, "steel", 20},
}

// sheds are small buildings of the farm that the plan has no need of.
var sheds = []building{
	{"", "", rect{pt{-331, 2}, 24, 7.5, 1.42}, 5, tile, 38, 0x7F6C62, "", 31},
	{"", "", rect{pt{-305, -14}, 14, 8, 0.05}, 4.5, steel, 10, 0xA29E93, "", 32},
	{"", "", rect{pt{-386, -14}, 4.5, 3.2, 0.4}, 2.6, tile, 25, 0x6E6A60, "", 33},
	{"", "", rect{pt{-372, 26}, 7, 4.2, 1.25}, 3.6, slate, 35, 0x777470, "", 34},
}

// fenceAt returns the point s metres along edge i of the fence.
func fenceAt(i int, s float64) pt { return fenceInset(i, s, 0) }

// fenceInset is fenceAt moved inward by inset metres.
func fenceInset(i int, s, inset float64) pt {
	a, b := fence[i], fence[(i+1)%len(fence)]
	e := b.sub(a).unit()
	return a.add(e.mul(s)).add(e.left().mul(inset))
}

// beside returns the part of a line between two u, moved off to its left.
func beside(l line, u0, u1, off float64) (out line) {
	for i, q := range cut(l, u0, u1) {
		c := cut(l, u0, u1)
		d := c[min(i+1, len(c)-1)].sub(c[max(i-1, 0)]).unit()
		out = append(out, q.add(d.left().mul(off)))
	}
	return out
}

// centre of the fence's bounding box after the turn, so that the site grid's
// origin is where the plan's readers put it.
var centre = func() pt {
	var t []pt
	for _, q := range fence {
		t = append(t, q.turn(turn))
	}
	b := boxOf(t, 0)
	return pt{(b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2}
}()

// place takes a point of the site's frame to the site grid; unplace back.
func place(q pt) pt   { return q.turn(turn).sub(centre) }
func unplace(q pt) pt { return q.add(centre).turn(-turn) }

// crop is what grows in a field.
type crop int

const (
	pasture crop = iota
	wheat
	barley
	mown
	bare
	rough
)

type field struct {
	crop
	ring
	dir  float64 // of the drill rows, radians in the site's frame
	a, b uint32  // its two main colours
	seed uint32
}

var fields = []field{
	{wheat, ring{{-800, -176}, {-520, -146}, {-330, -123}, {-248, -118}, {-262, -330}, {-300, -800}, {-800, -800}}, 1.49, 0x89926C, 0x6F7D5A, 101},
	{mown, ring{{-240, -118}, {-200, -116.5}, {-110, -125}, {20, -138}, {122, -142}, {141, -300}, {120, -372}, {-60, -352}, {-252, -338}}, 0.06, 0xA3A27E, 0x828B62, 102},
	{bare, ring{{-256, -346}, {-60, -360}, {118, -380}, {112, -800}, {-292, -800}}, 1.62, 0xA08D76, 0x7D6B58, 103},
	{barley, ring{{131, -143}, {261, -149}, {277, -232}, {322, -343}, {344, -482}, {372, -800}, {123, -800}, {129, -380}, {150, -300}}, 1.42, 0xBDAB82, 0x9C9069, 104},
	{pasture, ring{{277, -150}, {420, -170}, {800, -245}, {800, -800}, {388, -800}, {360, -478}, {338, -337}, {293, -228}}, 1.2, 0x85906A, 0x6C7B55, 105},
	{bare, ring{{-800, -160}, {-520, -130}, {-456, -123}, {-449, 145}, {-476, 206}, {-800, 238}}, 0.02, 0xB3A289, 0x917F66, 106},
	{pasture, ring{{-800, 250}, {-468, 220}, {-442, 152}, {-300, 175}, {-193, 158}, {-163, 190}, {-187, 300}, {-172, 420}, {-150, 800}, {-800, 800}}, 0.4, 0x949570, 0x748056, 107},
	{barley, ring{{-164, 404}, {-90, 404}, {10, 374}, {120, 386}, {215, 347}, {245, 420}, {260, 800}, {-142, 800}}, 0.3, 0xB5A681, 0x948D68, 108},
	{wheat, ring{{270, 800}, {256, 420}, {242, 268}, {270, 172}, {292, 62}, {330, 22}, {450, 38}, {600, 68}, {800, 126}, {800, 800}}, 1.05, 0x929676, 0x75825F, 109},
	{mown, ring{{268, -10}, {330, -8}, {450, 8}, {600, 38}, {800, 96}, {800, -222}, {420, -148}, {280, -129}, {276, -68}}, 0.19, 0xABA483, 0x8D8D68, 110},
	{pasture, ring{{-448, -118}, {-330, -105}, {-308, -104}, {-306, -60}, {-330, -40}, {-444, -34}}, 0, 0x999775, 0x7D845D, 111},
	{pasture, ring{{-296, -103}, {-214, -98}, {-203, 90}, {-201, 145}, {-300, 160}, {-436, 136}, {-440, 50}, {-345, 70}, {-310, 96}, {-252, 80}, {-240, 20}, {-254, -38}, {-294, -40}}, 0, 0x8E946D, 0x74805A, 112},
}

// hedge is a row of shrubs; trees is how many trees stand in 100 m of it.
type hedge struct {
	line
	width, height, trees, gaps float64
}

var hedges = []hedge{
	{laneHedge, hedgeW, 2.4, 0, 0},
	{beside(lane, -800, -246, -7), 2.4, 2.2, 1.2, 0.1},
	{beside(lane, -238, -66, -6.8), 2.2, 2, 0.6, 0.12},
	{beside(lane, -48, 196, -7.2), 2.4, 2.3, 1.2, 0.1},
	{beside(lane, 212, 262, -7), 2.4, 2.3, 2, 0.1},
	{beside(lane, 278, 800, -7), 2.4, 2.2, 1.3, 0.12},
	{beside(lane, -800, -307, 7), 2.4, 2.2, 1, 0.12},
	{beside(lane, -292, -240, 7), 2.2, 2, 1.5, 0.15},
	{beside(lane, 284, 800, 10), 2.2, 2, 1, 0.2},
	{line{{-244, -118}, {-257, -334}, {-274, -560}, {-294, -800}}, 3.2, 3.2, 3.2, 0.12},
	{line{{-257, -342}, {-60, -356}, {119, -376}}, 2.6, 2.6, 2, 0.18},
	{line{{127, -142}, {145, -300}, {124, -376}, {117, -800}}, 3, 3.2, 3, 0.12},
	{line{{-452, -128}, {-446, 143}, {-472, 212}}, 2.6, 2.6, 2.4, 0.15},
	{line{{-800, 244}, {-470, 213}, {-441, 147}, {-300, 170}, {-197, 153}}, 3, 3, 2.6, 0.14},
	{line{{-210, -92}, {-206, -40}}, 2.4, 2.4, 1.2, 0.3},
	{line{{-199, 92}, {-196, 150}, {-163, 184}}, 2.6, 2.6, 2.4, 0.15},
	{line{{-183, 300}, {-168, 400}, {-150, 800}}, 3, 3, 3.4, 0.1},
	{line{{-164, 398}, {-90, 397}, {8, 367}}, 2.4, 2.4, 1, 0.2},
	{line{{220, 345}, {250, 420}, {264, 800}}, 2.8, 3, 3, 0.12},
	{line{{338, 14}, {450, 30}, {600, 60}, {800, 119}}, 2.6, 2.6, 1.2, 0.35},
	{line{{-444, -28}, {-404, -30}, {-352, -30}, {-340, -40}}, 1.8, 1.8, 1, 0.1},
	{line{{-404, -24}, {-408, 44}, {-346, 46}}, 1.6, 1.8, 2, 0.1},
	{line{{-440, 48}, {-408, 46}}, 2, 2, 0, 0.2},
}
