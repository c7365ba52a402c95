package model

// Figures that are filled in where an imported file states none, in metres;
// chosen, as the contract names them. A road's and a footpath's width are the
// defaults of those kinds. A feature lists what was filled in as assumed.
const (
	AssumedBuilding = 6.0
	AssumedStorey   = 3.0 // times the storeys, where those are stated
	AssumedFoliage  = 10.0
)
