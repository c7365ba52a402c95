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
	fence = ring{{-200, -95}, {-20, -105}, {150, -88}, {208, -60}, {214, 45}, {170, 100}, {40, 112}, {-60, 88}, {-190, 80}}

	premises = ring{{-206, -117}, {-150, -119}, {20, -125}, {150, -125}, {222, -129}, {219, -60}, {224, 40}, {234, 100}, {205, 128},
		{165, 121}, {40, 119}, {-61, 95}, {-196, 87}}

	lane     = line{{-800, -176}, {-520, -146}, {-330, -131}, {-150, -128}, {20, -134}, {150, -134}, {280, -142}, {420, -161}, {800, -236}}
	laneW    = 5.6
	yardRoad = line{{-57, -129.6}, {-57, -101.5}, {-57, -70}, {-62, -36}, {-20, -28}, {170, -26}}
	yardW    = 8.0
	footway  = line{{204, -137}, {212, -250}, {236, -420}, {246, -800}}
	footW    = 1.8

	rails  = line{{800, 112}, {600, 52}, {450, 20}, {330, 2}, {214, -6}, {120, -9}, {-40, -10}}
	stream = line{{214, 262}, {230, 190}, {260, 140}, {259, 80}, {250, 40}, {256, -4}, {262, -70}, {270, -141}, {285, -230}, {330, -340}, {352, -480}, {380, -800}}

	wood = ring{{-150, 187}, {-95, 176}, {-60, 168}, {-10, 175}, {40, 172}, {90, 184}, {130, 180}, {196, 203}, {226, 262}, {205, 335}, {120, 372},
		{10, 360}, {-90, 392}, {-165, 372}, {-178, 290}, {-160, 240}}
	laneHedge = line{{22, -128.2}, {80, -128.4}, {150, -128.3}, {214, -132}}
	hedgeW    = 2.4

	pond      = ring{{216, 52}, {178, 101.5}, {171, 109}, {174, 117}, {190, 121}, {212, 117}, {229, 100}, {235, 76}, {230, 56}}
	neighbour = ring{{-448, -128}, {-330, -120}, {-209, -118}, {-199, 88}, {-196, 150}, {-300, 167}, {-440, 143}}
	farmyard  = ring{{-345, -10}, {-318, -32}, {-262, -28}, {-250, 20}, {-262, 76}, {-318, 88}, {-352, 60}}
	farmTrack = line{{-300, -126}, {-302, -80}, {-296, -30}}
	garden    = ring{{-400, -22}, {-350, -24}, {-346, 42}, {-404, 40}}

	powerLine = line{{-800, 232}, {-420, 158}, {-190, 126}, {-70, 124}, {60, 144}, {205, 156}, {420, 196}, {800, 260}}

	fuelFence  = line{{158, -58}, {184, -58}, {184, -38}, {158, -38}, {158, -58}}
	fuelStore  = ring{{160, -56}, {182, -56}, {182, -40}, {160, -40}}
	yardWall   = line{{-102, -20}, {-102, -48}, {-84, -50}}
	wallH      = 2.4
	stacks     = rect{pt{84, -58}, 49.5, 15.5, 0}
	stacksH    = 5.2
	mainGate   = line{fenceAt(0, 137.2), fenceAt(0, 148.8)}
	railGate   = line{fenceAt(3, 51), fenceAt(3, 57)}
	excluded   = line{fenceAt(3, 97), {214, 45}, {170, 100}, fenceAt(5, 9)}
	gatehouse  = pt{-73, -89}
	roofRepeat = pt{57, 18}
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
var goodsAngle = math.Atan2(-8, -130) + math.Pi

var buildings = []building{
	{"H1", "Transit shed", rect{pt{12, 31}, 104, 36, 0}, 9.5, steel, 7, 0xA9A9A2, "steel", 11},
	{"H2", "Cold store", rect{pt{122, 33}, 62, 29, 0}, 8, steel, 5, 0xBDBEB9, "steel", 12},
	{"H3", "Workshop", rect{pt{-140, -52}, 38, 19, 0.02}, 7, steel, 14, 0x8E9088, "brick", 13},
	{"H4", "Office", rect{pt{-22, -78}, 32, 13, -0.02}, 6.5, flat, 0, 0x9A978F, "brick", 14},
	{"H5", "Gatehouse", rect{gatehouse, 9, 6, 0}, 3.4, flat, 0, 0xA5A19A, "brick", 15},
	{"H6", "Pump house", rect{pt{-188.6, 24}, 7.4, 9, -0.057}, 3.8, tile, 30, 0x8C6A5C, "brick", 16},
	{"H7", "Old goods shed", rect{fenceInset(7, 66, 7.6), 46, 15.2, goodsAngle}, 8.4, slate, 34, 0x75777A, "stone", 17},
	{"H8", "Farmhouse", rect{pt{-366, 8}, 15, 9.5, 1.25}, 8, tile, 40, 0x8F6A58, "brick", 18},
	{"H9", "Cattle shed", rect{pt{-284, 40}, 46, 21, 1.62}, 7.5, steel, 12, 0x93958F, "steel", 19},
	{"H10", "Hay barn", rect{pt{-330, 58}, 28, 12, 0.12}, 7, barn, 0, 0x8B7468, "steel", 20},
}

// sheds are small buildings of the farm that the plan has no need of.
var sheds = []building{
	{"", "", rect{pt{-331, 2}, 24, 7.5, 1.42}, 5, tile, 38, 0x84685A, "", 31},
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
	{wheat, ring{{-800, -184}, {-520, -154}, {-330, -139}, {-248, -137}, {-262, -330}, {-300, -800}, {-800, -800}}, 1.49, 0x8B9174, 0x7A8566, 101},
	{mown, ring{{-240, -137}, {-150, -136}, {20, -142}, {122, -143}, {141, -300}, {120, -372}, {-60, -352}, {-252, -338}}, 0.06, 0x97997A, 0x868B69, 102},
	{bare, ring{{-256, -346}, {-60, -360}, {118, -380}, {112, -800}, {-292, -800}}, 1.62, 0x9B8873, 0x83715E, 103},
	{barley, ring{{131, -143}, {261, -149}, {277, -232}, {322, -343}, {344, -482}, {372, -800}, {123, -800}, {129, -380}, {150, -300}}, 1.42, 0xB2A37F, 0xA2966F, 104},
	{pasture, ring{{277, -150}, {420, -170}, {800, -245}, {800, -800}, {388, -800}, {360, -478}, {338, -337}, {293, -228}}, 1.2, 0x8A9070, 0x79835F, 105},
	{bare, ring{{-800, -168}, {-520, -138}, {-456, -129}, {-449, 145}, {-476, 206}, {-800, 238}}, 0.02, 0xA89880, 0x95856D, 106},
	{pasture, ring{{-800, 250}, {-468, 220}, {-442, 152}, {-300, 175}, {-193, 158}, {-163, 190}, {-187, 300}, {-172, 420}, {-150, 800}, {-800, 800}}, 0.4, 0x8E9272, 0x7C8461, 107},
	{barley, ring{{-164, 404}, {-90, 404}, {10, 374}, {120, 386}, {215, 347}, {245, 420}, {260, 800}, {-142, 800}}, 0.3, 0xABA07F, 0x989270, 108},
	{wheat, ring{{270, 800}, {256, 420}, {242, 268}, {270, 172}, {292, 62}, {330, 22}, {450, 38}, {600, 68}, {800, 126}, {800, 800}}, 1.05, 0x818B6D, 0x737F60, 109},
	{mown, ring{{268, -10}, {330, -8}, {450, 8}, {600, 38}, {800, 96}, {800, -222}, {420, -148}, {280, -129}, {276, -68}}, 0.19, 0x9A9678, 0x8A8B69, 110},
	{pasture, ring{{-448, -122}, {-330, -113}, {-308, -112}, {-306, -60}, {-330, -40}, {-444, -34}}, 0, 0x919475, 0x818663, 111},
	{pasture, ring{{-296, -112}, {-214, -111}, {-203, 90}, {-201, 145}, {-300, 160}, {-436, 136}, {-440, 50}, {-345, 70}, {-310, 96}, {-252, 80}, {-240, 20}, {-254, -38}, {-294, -40}}, 0, 0x8C9170, 0x7B8361, 112},
}

// hedge is a row of shrubs; trees is how many trees stand in 100 m of it.
type hedge struct {
	line
	width, height, trees, gaps float64
}

var hedges = []hedge{
	{laneHedge, hedgeW, 2.4, 0, 0},
	{line{{-800, -183}, {-520, -153}, {-330, -138}, {-246, -136}}, 2.4, 2.2, 1.2, 0.1},
	{line{{-238, -136}, {-150, -134.6}, {-66, -137.5}}, 2.2, 2, 0.6, 0.12},
	{line{{-48, -138}, {20, -141}, {125, -142}, {196, -144}}, 2.4, 2.3, 1.2, 0.1},
	{line{{212, -146}, {262, -148}}, 2.4, 2.3, 2, 0.1},
	{line{{278, -149}, {420, -169}, {800, -244}}, 2.4, 2.2, 1.3, 0.12},
	{line{{-800, -169}, {-520, -139}, {-448, -128}, {-330, -120}, {-307, -119}}, 2.4, 2.2, 1, 0.12},
	{line{{-292, -119}, {-209, -118}}, 2.2, 2, 1.5, 0.15},
	{line{{284, -130}, {420, -149}, {800, -224}}, 2.2, 2, 1, 0.2},
	{line{{-244, -138}, {-257, -334}, {-274, -560}, {-294, -800}}, 3.2, 3.2, 3.2, 0.12},
	{line{{-257, -342}, {-60, -356}, {119, -376}}, 2.6, 2.6, 2, 0.18},
	{line{{127, -142}, {145, -300}, {124, -376}, {117, -800}}, 3, 3.2, 3, 0.12},
	{line{{-452, -128}, {-446, 143}, {-472, 212}}, 2.6, 2.6, 2.4, 0.15},
	{line{{-800, 244}, {-470, 213}, {-441, 147}, {-300, 170}, {-197, 153}}, 3, 3, 2.6, 0.14},
	{line{{-209, -116}, {-206, -40}}, 2.4, 2.4, 1.2, 0.3},
	{line{{-199, 92}, {-196, 150}, {-163, 184}}, 2.6, 2.6, 2.4, 0.15},
	{line{{-183, 300}, {-168, 400}, {-150, 800}}, 3, 3, 3.4, 0.1},
	{line{{-164, 398}, {-90, 397}, {8, 367}}, 2.4, 2.4, 1, 0.2},
	{line{{220, 345}, {250, 420}, {264, 800}}, 2.8, 3, 3, 0.12},
	{line{{338, 14}, {450, 30}, {600, 60}, {800, 119}}, 2.6, 2.6, 1.2, 0.35},
	{line{{-444, -28}, {-404, -30}, {-352, -30}, {-340, -40}}, 1.8, 1.8, 1, 0.1},
	{line{{-404, -24}, {-408, 44}, {-346, 46}}, 1.6, 1.8, 2, 0.1},
	{line{{-440, 48}, {-408, 46}}, 2, 2, 0, 0.2},
}
