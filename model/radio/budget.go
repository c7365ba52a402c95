package radio

// Radio is one end of a link.
type Radio struct {
	ERPDBm             float64  // effective radiated power, dBm
	SensitivityDBm     *float64 // weakest signal it hears, dBm; nil: it transmits only
	AntennaGainDBi     float64  // in reception, over the isotropic antenna
	FeederLossDB       float64  // between antenna and radio, in reception
	InstallationLossDB float64  // fence, post, cabinet: both ways
}

// Budget returns the power that reaches the radio rx from tx over a path that
// loses lossDB decibels, and the margin over what rx needs. It reports false
// where rx transmits only: then there is a power at its antenna but no margin,
// which is 0.
//
//	received = erp_tx + 2.15 - installation_tx - loss + gain_rx - feeder_rx - installation_rx
//	margin   = received - sensitivity_rx
func Budget(tx, rx Radio, lossDB float64) (receivedDBm, marginDB float64, ok bool) {
	receivedDBm = ERPToEIRP(tx.ERPDBm) - tx.InstallationLossDB - lossDB +
		rx.AntennaGainDBi - rx.FeederLossDB - rx.InstallationLossDB
	if rx.SensitivityDBm == nil {
		return receivedDBm, 0, false
	}
	return receivedDBm, receivedDBm - *rx.SensitivityDBm, true
}

// A Direction is one direction of a link.
type Direction struct {
	ReceivedDBm float64
	MarginDB    float64 // 0 where not rated
	Rated       bool    // false where the receiving end transmits only
}

// A Rating is both directions of a link between a first and a second end.
type Rating struct {
	Forward Direction // first to second
	Back    Direction // second to first
}

// Rate returns the budget of both directions over a path that loses lossDB
// decibels either way.
func Rate(first, second Radio, lossDB float64) Rating {
	var r Rating
	r.Forward.ReceivedDBm, r.Forward.MarginDB, r.Forward.Rated = Budget(first, second, lossDB)
	r.Back.ReceivedDBm, r.Back.MarginDB, r.Back.Rated = Budget(second, first, lossDB)
	return r
}

// Weaker returns the direction the link is rated by: the one with the smaller
// margin, the forward one where they are equal, the only one where one end
// transmits only. It reports false where both ends do.
func (r Rating) Weaker() (Direction, bool) {
	if !r.Forward.Rated || r.Back.Rated && r.Back.MarginDB < r.Forward.MarginDB {
		return r.Back, r.Back.Rated
	}
	return r.Forward, true
}

// Standard deviations of the shadowing that no map shows, in decibels, for a
// link not calibrated by readings. Chosen, not a standard; they lie in the
// range of what ITU-R P.1411, P.1812 and P.2108 state for other settings (4 to
// 7 dB).
const (
	OpenSDDB       = 6.0
	ObstructedSDDB = 8.0
)

// ShadowingSD returns the standard deviation of shadowing in decibels: the
// stated one where there is one, else ObstructedSDDB where an obstacle cuts 0.6
// of the first Fresnel zone ([Diffraction.Obstructed]) or the line runs through
// foliage, else OpenSDDB.
func ShadowingSD(stated *float64, obstructed bool) float64 {
	switch {
	case stated != nil:
		return *stated
	case obstructed:
		return ObstructedSDDB
	}
	return OpenSDDB
}

// RequiredMargin returns the margin in decibels a link has to have: the stated
// one where there is one, else sdDB·z, with z the standard normal quantile of
// reliability (above 0, below 1).
//
// Source: the log-normal model of location variability, as in ITU-R P.1546 and
// P.1812 (from memory).
func RequiredMargin(stated *float64, sdDB, reliability float64) float64 {
	if stated != nil {
		return *stated
	}
	return sdDB * NormalQuantile(reliability)
}

// Probability returns the probability that a link of margin marginDB works,
// where shadowing has the standard deviation sdDB: Φ(margin/sd). Without
// shadowing (sdDB 0) it is 1 at margin 0 and above, else 0.
func Probability(marginDB, sdDB float64) float64 {
	if sdDB <= 0 {
		if marginDB < 0 {
			return 0
		}
		return 1
	}
	return NormalCDF(marginDB / sdDB)
}
