package model

// RadioFigures are the figures of a radio, all of them known.
type RadioFigures struct {
	ERP          float64 // dBm, radiated
	Sensitivity  float64 // dBm
	AntennaGain  float64 // dBi
	FeederLoss   float64 // dB
	Installation float64 // dB
}

// RadioDefaults returns what holds for the radio of a sensor, repeater or
// receiver where nothing is stated (contract version 1; gains and installation
// losses are chosen).
func RadioDefaults(k Kind) RadioFigures {
	r := RadioFigures{ERP: 10, Sensitivity: -105, Installation: 6}
	switch k {
	case KindSensor:
		r.AntennaGain = -3
	case KindReceiver:
		r.AntennaGain, r.Installation = 2.15, 0
	}
	return r
}
