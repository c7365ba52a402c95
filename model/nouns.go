package model

// Sector is a span of azimuths in degrees relative to a sensor's bearing,
// clockwise from From to To.
type Sector struct{ From, To float64 }

// Sensor is a passive-infrared detector on a post or a wall.
type Sensor struct {
	Model       string
	MountHeight float64 // metres from the ground at the post to the optical centre
	Bearing     float64 // degrees clockwise from true north, in [0, 360)
	Tilt        float64 // degrees, depression of the axis below the horizontal
	Masked      []Sector
	Antenna     float64 // metres above the ground at the post
	Address     *int
	Radio       Radio // what differs from its model's
	Zone        string
	Mount       string
	Note        string
}

// Radio is what a device radiates and hears; a nil member was not stated.
type Radio struct {
	ERP          *float64 // dBm, radiated
	Sensitivity  *float64 // dBm; nil with TransmitOnly false means not stated
	TransmitOnly bool     // sensitivity_dbm is null: it hears nothing
	AntennaGain  *float64 // dBi
	FeederLoss   *float64 // dB
	Installation *float64 // dB; the sum of Terms where they are stated
	Terms        []InstallationTerm
}

// Repeater forwards messages of sensors and other repeaters.
type Repeater struct {
	Antenna float64 // metres above the ground at the post
	Address *int
	Radio   Radio
	Supply  *Supply // nil where none is stated
	Note    string
}

// Output is one of a receiver's outputs.
type Output struct {
	Zone   string
	Type   string // "relay", "serial" or "ip"
	Number string
	Input  string
	Preset string
}

// Receiver is where the radio messages arrive.
type Receiver struct {
	Antenna float64 // metres above the ground at the spot
	Radio   Radio
	Outputs []Output
	Note    string
}

// Boundary is the line to be watched.
type Boundary struct{ Height float64 }

// Excluded is a stretch of boundary that needs no detection.
type Excluded struct{ Reason string }

// Gate is an opening in a boundary.
type Gate struct{ Width float64 }

// Way is a road or a footpath.
type Way struct {
	Width   float64 // metres, of a line
	Private bool
}

// Building stands about the site; its top is level.
type Building struct {
	Height   float64 // metres above the mean ground of its outline's vertices
	Material string
}

// Density classes of foliage.
const (
	Light  = "light"
	Medium = "medium"
	Dense  = "dense"
)

// Foliage is a stand of trees or shrubs.
type Foliage struct {
	Height  float64 // metres above the ground
	Density string
	InLeaf  bool
}

// Obstacle is a wall, a fence, a stack.
type Obstacle struct {
	Height     float64 // metres above the ground
	SeeThrough bool    // mesh: hides nothing from sensors or radio
	Impassable bool    // stops a person
	Delay      float64 // seconds to get past it
}

// Hazard is something the installer must know of.
type Hazard struct{ What string }

// View is what one camera preset shows.
type View struct{ Preset string }

// Place is a feature that only has a name: premises, asset, neighbour.
type Place struct{}

// Reading is a measurement made on site.
type Reading struct {
	Of   []string
	What string // "signal", "walk-test", "soak" or "as-fitted"
	Unit string
	At   string
	By   string

	// Of a walk test, nil where it is not stated.
	Distance   *float64 // metres, horizontal, from the sensor
	Speed      *float64 // metres a second
	Heading    *float64 // degrees to the line of sight: 90 across it, 0 towards the sensor
	Air        *float64 // degrees Celsius
	Background *float64 // degrees Celsius, of the surface behind the walker
	Clothing   *float64 // 0 bare skin to 1 as warm as the air

	// Of a signal, "" or nil where it is not stated.
	LeafState    string   // "in leaf", "bare" or "wet"
	SenderHeight *float64 // metres, of the antenna that sent
	ReaderHeight *float64 // metres, of the antenna that read
	Attenuator   *float64 // dB, put in while messages still arrived; the level is read without it
}

// Lobe is one solid sector of a detection pattern.
type Lobe struct {
	Azimuth float64 // degrees, centre relative to the bearing
	Width   float64 // degrees, full horizontal width
	Up      float64 // degrees above the axis plane
	Down    float64 // degrees below the axis plane
	Range   float64 // metres, slant reach
}

// Optics is what is known of a sensor's fan of zones and of its amplifier; a nil
// member was not stated.
type Optics struct {
	ZoneWidth  *float64 // degrees, of one zone
	ZoneHeight *float64 // degrees, of one zone
	ZonePeriod *float64 // degrees from one positive zone to the next, across
	LowHz      *float64 // lower corner of the band-pass
	HighHz     *float64 // upper corner
}

// SensorModel describes a type of sensor.
type SensorModel struct {
	ID       string
	Name     string
	MountMin float64 // metres
	MountMax float64 // metres
	Lobes    []Lobe
	Radio    Radio
	Supply   *Supply // nil where none is stated
	Optics   Optics
	raw      Object
}
