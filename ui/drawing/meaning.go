package drawing

// Meaning is what a primitive stands for. It decides the style.
type Meaning uint8

// The meanings, by layer from the ground up.
const (
	None Meaning = iota

	// The site as surveyed.
	Neighbour
	Premises
	RoadPublic
	RoadPrivate
	Footpath
	FootpathPrivate
	Foliage
	Asset
	Building
	Obstacle
	ObstacleMesh
	Hazard
	CameraView

	// What the sensors see.
	Footprint
	FootprintLookDown
	FootprintSelected
	Screened
	OverspillRoad
	OverspillFootpath
	OverspillNeighbour
	OverspillOpen
	OverspillVehicle

	// The boundary and its state along the chainage.
	Covered
	Overlap
	Shallow
	Excluded
	Boundary
	ChainageTick
	HeadOn
	Gap
	GapAccepted
	Gate

	// How a person would come in.
	WayIn      // it crosses no footprint
	WayInSeen  // it crosses some
	WayCrosses // a boundary
	WayMeets   // a footprint

	// Radio.
	LinkHeld
	LinkThin
	LinkFails
	MarginLine   // places of one margin
	MarginWanted // of the margin that is required
	ProposedRepeater
	ProposedLink // from it to a sensor that it would mend

	// Devices and records.
	Sensor
	SensorFlagged
	Repeater
	Receiver
	Reading
	Finding
	FindingAccepted

	// Editing.
	Draft
	Measure
	WalkLine
	CrossingLine
	AimArm
	AimHandle
	MaskHandle
	VertexHandle
	MidHandle
	ControlPoint
	CrossingCursor

	// The section on an axis.
	SectionGround   // the earth below the surface
	SectionSurface  // the ground's line
	SectionHidden   // below the horizon
	SectionHorizon  // the line below which something hides
	SectionLobe     // between a lobe's limits
	SectionLookDown // the same of a look-down lobe
	SectionEdge     // a lobe's upper or lower limit
	SectionEdgeDown // the same of a look-down lobe
	SectionSeen     // a target where it is seen
	SectionUnseen   // and where it is not
	SectionReach    // the ground on which it is seen
	SectionLevel    // the horizontal through the optical centre
	SectionAxis
	SectionMet // where the axis ends
	SectionMount
	SectionScale
	Dimension

	// The profile of a link.
	LinkZone   // the first Fresnel zone
	LinkWanted // the part of it that is wanted free
	LinkTrees  // foliage that stands on the line

	// Levels read on site against those predicted.
	LevelEqual // read as predicted
	LevelOpenBand
	LevelPastBand
	LevelTreesBand
	LevelOpen
	LevelOpenFit
	LevelPast
	LevelPastFit
	LevelTrees
	LevelTreesFit
	LevelOpenAside
	LevelPastAside
	LevelTreesAside

	// Text.
	DimensionFigure
	DeviceName
	GapNumber
	MarginFigure
	ChainageFigure
	FeatureName
	BarName
	Note

	meanings // the number of them
)

var meaningNames = [meanings]string{
	None:      "none",
	Neighbour: "neighbour", Premises: "premises", RoadPublic: "road-public", RoadPrivate: "road-private",
	Footpath: "footpath", FootpathPrivate: "footpath-private", Foliage: "foliage", Asset: "asset",
	Building: "building", Obstacle: "obstacle", ObstacleMesh: "obstacle-mesh", Hazard: "hazard", CameraView: "view",
	Footprint: "footprint", FootprintLookDown: "footprint-look-down", FootprintSelected: "footprint-selected",
	Screened: "screened", OverspillRoad: "overspill-road", OverspillFootpath: "overspill-footpath",
	OverspillNeighbour: "overspill-neighbour", OverspillOpen: "overspill-open", OverspillVehicle: "overspill-vehicle",
	Covered: "covered", Overlap: "overlap", Shallow: "shallow", Excluded: "excluded", Boundary: "boundary",
	ChainageTick: "chainage-tick", HeadOn: "head-on", Gap: "gap", GapAccepted: "gap-accepted", Gate: "gate",
	WayIn: "way-in", WayInSeen: "way-in-seen", WayCrosses: "way-crosses", WayMeets: "way-meets",
	LinkHeld: "link-held", LinkThin: "link-thin", LinkFails: "link-fails", MarginLine: "margin-line", MarginWanted: "margin-wanted",
	ProposedRepeater: "proposed-repeater", ProposedLink: "proposed-link",
	Sensor: "sensor", SensorFlagged: "sensor-flagged", Repeater: "repeater", Receiver: "receiver",
	Reading: "reading", Finding: "finding", FindingAccepted: "finding-accepted",
	Draft: "draft", Measure: "measure", WalkLine: "walk-line", CrossingLine: "crossing-line",
	AimArm: "aim-arm", AimHandle: "aim-handle", MaskHandle: "mask-handle", VertexHandle: "vertex-handle",
	MidHandle: "mid-handle", ControlPoint: "control-point", CrossingCursor: "crossing-cursor",
	SectionGround: "section-ground", SectionSurface: "section-surface", SectionHidden: "section-hidden", SectionHorizon: "section-horizon",
	SectionLobe: "section-lobe", SectionLookDown: "section-look-down", SectionEdge: "section-edge", SectionEdgeDown: "section-edge-down",
	SectionSeen: "section-seen", SectionUnseen: "section-unseen", SectionReach: "section-reach", SectionLevel: "section-level",
	SectionAxis: "section-axis", SectionMet: "section-met", SectionMount: "section-mount", SectionScale: "section-scale",
	LinkZone: "link-zone", LinkWanted: "link-wanted", LinkTrees: "link-trees",
	LevelEqual: "level-equal", LevelOpenBand: "level-open-band", LevelPastBand: "level-past-band", LevelTreesBand: "level-trees-band",
	LevelOpen: "level-open", LevelOpenFit: "level-open-fit", LevelPast: "level-past", LevelPastFit: "level-past-fit", LevelTrees: "level-trees", LevelTreesFit: "level-trees-fit",
	LevelOpenAside: "level-open-aside", LevelPastAside: "level-past-aside", LevelTreesAside: "level-trees-aside",
	Dimension: "dimension", DimensionFigure: "dimension-figure",
	DeviceName: "device-name", GapNumber: "gap-number", MarginFigure: "margin-figure",
	ChainageFigure: "chainage-figure", FeatureName: "feature-name", BarName: "bar-name", Note: "note",
}

// String is the name of m in text goldens.
func (m Meaning) String() string {
	if m < meanings {
		return meaningNames[m]
	}
	return "unknown"
}

// Layer is the place of a primitive in the stack, back to front.
type Layer uint8

// The layers, back to front. The aerial image lies under all of them and is
// no primitive: the caller paints it.
const (
	SiteLayer     Layer = iota // what stands on the ground
	PatternLayer               // footprints and overspill at rest
	LinkLayer                  // radio links at rest
	LiveLayer                  // footprints, overspill and links of what is selected or dragged
	BoundaryLayer              // the boundary, covered and not
	DeviceLayer                // marks
	LabelLayer                 // text on tags
	HandleLayer                // handles, drafts, cursor
	layers
)

var layerNames = [layers]string{"site", "pattern", "link", "live", "boundary", "device", "label", "handle"}

// String is the name of l in text goldens.
func (l Layer) String() string {
	if l < layers {
		return layerNames[l]
	}
	return "unknown"
}

// LayerSet is a set of layers, one bit each.
type LayerSet uint16

// Resting are the layers that stay as they are while a device is dragged,
// Moving the ones above that are drawn afresh each frame.
const (
	AllLayers LayerSet = 1<<layers - 1
	Resting   LayerSet = 1<<SiteLayer | 1<<PatternLayer | 1<<LinkLayer
	Moving    LayerSet = AllLayers &^ Resting
)

// Layers is the set of the given layers.
func Layers(ls ...Layer) LayerSet {
	var s LayerSet
	for _, l := range ls {
		s |= 1 << l
	}
	return s
}

// Has reports whether l is in s.
func (s LayerSet) Has(l Layer) bool { return s&(1<<l) != 0 }
