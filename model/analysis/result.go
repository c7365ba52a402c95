// Package analysis is the one door to the engine: a plan in, a Result with
// findings out. One rule, one file.
package analysis

import (
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/radio"
	"pleach/model/scene"
	"pleach/model/sun"
)

// Result is everything the analysis says of a plan. Places and shapes are on
// the site grid of Scene, in metres, unless said otherwise.
type Result struct {
	Plan       *model.Plan
	Scene      *scene.Scene
	Boundaries []Boundary
	Sensors    []Sensor // sound sensors, in file order
	Links      []Link
	Ways       *Ways  // nil unless WithWays was asked, and for a plan without asset
	Study      *Study // of the radio net; nil unless WithRadioStudy was asked, and for a plan without sensor or receiver
	// Calibration is what the plan's readings of signal say; nil for a plan without,
	// and where no link is corrected by them unless WithRadioStudy was asked.
	Calibration *Calibration
	Sun         *Sunlight       // what Sensor.LowSun is reckoned with
	Findings    []model.Finding // faults first, then warnings, then notes; by rule and subject within

	Laid      int // sensors that had to be looked from afresh
	Rated     int // links that had to be rated afresh
	Explained int // gaps whose cause had to be asked for afresh

	fences    []*coverage.Fence
	bare      []*coverage.Fence // the same without buildings and obstacles
	outside   *outside
	gatesOff  []float64 // for each gate, metres from the nearest boundary
	works     []*work
	net       net
	since     *since // while it is worked out
	asked     []*asked
	numbered  []numbered          // by place in asked
	along     []sights            // by boundary
	stretched [toldRules][][]told // by rule and boundary
	angles    [][]*model.Finding  // by boundary and sensor: half a degree opens a gap
	owned     []owned             // by rule: what is said of sensors one by one
	addresses []model.Finding     // of ruleAddress
	wiring    []model.Finding     // of ruleOutputs
	assumed   []model.Finding     // of ruleAssumed
	indoors   [][2]string         // device, building it stands in below the top
}

// Boundary is what holds along one boundary.
type Boundary struct {
	ID       string
	Length   float64 // metres
	Closed   float64 // metres that need no detection
	Target   Coverage
	Postures []Coverage // in the plan's order
	Spans    []SensorSpans
}

// SensorSpans are the stretches of a boundary one sensor covers for the target.
type SensorSpans struct {
	ID    string
	Spans []coverage.Span
}

// Coverage is what holds for one target.
type Coverage struct {
	Name      string // of the posture
	Covered   float64
	Share     *float64 // of what is not closed; nil when all is closed
	Overlap   float64
	Stretches []coverage.Stretch // the whole boundary in order of chainage
	Overlaps  []coverage.Span
	Gaps      []Gap
}

// Gap is a maximal stretch covered by no sensor and not closed.
type Gap struct {
	coverage.Span
	Length float64
	Cause  coverage.Cause
	By     []string // what hides or screens it
	Middle orb.Point
}

// Sensor is what one sensor sees.
type Sensor struct {
	ID        string
	At        orb.Point        // the optical centre, after fixing to a wall
	Height    float64          // of the optical centre, metres, in the height system of the ground
	Fixed     string           // id of the building or obstacle it is fixed to, "" for a post
	Footprint orb.MultiPolygon // for the target
	Area      float64          // of the footprint, square metres
	Near, Far *float64         // metres from the optical centre; nil for an empty footprint
	Clear     orb.MultiPolygon // the part of the footprint that foliage does not screen
	Screened  orb.MultiPolygon // the part that it does
	LookDown  orb.MultiPolygon // the part that look-down lobes see, where it is given; ask Result.LookDown
	Buried    string           // id of what it stands too deep inside to see anything
	Foliage   float64          // square metres of foliage in the pattern
	// FoliageAt25 is the area in square metres that would count as much if all of
	// that foliage stood 25 m away: near foliage counts more, by 1/R²; see
	// pattern.Looker.Foliage.
	FoliageAt25 float64
	FoliageOn   []string // ids of that foliage
	Overspill   []Overspill
	Tilts       []Tilt      // half a degree up, as planned, half a degree down
	Route       []string    // nil when there is none
	Margin      *float64    // dB, of the route's weakest link
	LowSun      []sun.Spell // when the low sun stands in the pattern, by first day and hour
}

// Overspill is the part of a pattern on one class of ground outside.
type Overspill struct {
	Class string   // "road", "footpath", "neighbour" or "open"
	On    string   // id, "" for open land
	For   string   // "person" or "vehicle"
	Area  float64  // square metres
	Depth *float64 // metres beyond the line; nil at an open line
	Shape orb.MultiPolygon
	At    orb.Point // a place in it

	inside bool // some of it lies inside the line
}

// Link is one radio link, rated by its weaker direction.
type Link struct {
	From, To     string
	A, B         orb.Point // antenna places
	Distance     float64   // metres, antenna to antenna
	FreeSpace    float64   // dB
	Diffraction  float64
	SingleEdge   float64
	Vegetation   float64
	Building     float64 // what the ways past obstacles other than over them take or give back, and the way into buildings
	Installation float64
	Loss         float64
	Clearance    float64 // fraction of the first Fresnel zone
	ClearanceAt  orb.Point
	Received     float64 // dBm
	Margin       float64 // dB
	Required     float64 // dB, margin asked of this link
	Probability  float64
	SD           float64   // dB, shadowing
	Weaker       string    // id of the transmitting end of the rated direction
	There, Back  Direction // from From to To, and from To to From
	InUse        bool
	Past         *Past   // nil where nothing stands in the way
	Class        string  // of the links that are corrected alike
	Corrected    bool    // by the readings of its class
	Correction   float64 // dB, in Received and Margin; 0 where there is none
}

// Direction is what one direction of a link comes to, with its own power,
// sensitivity, gain and losses.
type Direction struct {
	Rated       bool    // false where the receiving end only transmits; the rest is 0 then
	Received    float64 // dBm
	Margin      float64 // dB
	Probability float64
}

// Directions returns the directions of a link that are rated, each with the ids
// of its transmitting and its receiving end.
func (l *Link) Directions() (out []RatedDirection) {
	if l.There.Rated {
		out = append(out, RatedDirection{l.From, l.To, l.There})
	}
	if l.Back.Rated {
		out = append(out, RatedDirection{l.To, l.From, l.Back})
	}
	return out
}

// RatedDirection is a direction of a link and its ends.
type RatedDirection struct {
	From, To string
	Direction
}

// Past is how a link passes what stands in its way.
type Past struct {
	Ways      radio.Ways // where something hides one end from the other; else the zero value
	Obstacles []string   // ids of what does, from the first end
	Worst     string     // id of the obstacle at Link.ClearanceAt, "" for the ground
	Foliage   []string   // ids of the foliage the direct line runs through
	InTrees   float64    // metres of it, along the slope
	Through   float64    // dB through the foliage, whichever way is taken
	Entry     float64    // dB into the buildings that the antennas stand in
}

// Holds reports whether the link has its required margin.
func (l Link) Holds() bool { return l.Margin >= l.Required }
