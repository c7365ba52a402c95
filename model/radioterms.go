package model

import (
	"math"
	"strconv"
)

// InstallationTerm is one loss at a device that no map shows, in decibels. It
// counts both when the device sends and when it hears.
type InstallationTerm struct {
	What string
	DB   float64
}

// sameSum is how far a stated installation loss may lie from the sum of its
// terms, decibels: what decimals take away.
const sameSum = 1e-6

var termProp = num("db", "Loss", "dB", 0, 100).required()

// installation reads a device's installation loss and the terms it is the sum of;
// terms is nil where none are stated.
func (r reader) installation() (loss *float64, terms []InstallationTerm) {
	loss = r.maybe(installationProp)
	list, ok := r.list("installation_terms")
	if !ok {
		return loss, nil
	}
	terms = []InstallationTerm{}
	sum := 0.0
	for _, t := range list {
		term := InstallationTerm{t.text("what", true), t.number(termProp)}
		terms = append(terms, term)
		sum += term.DB
	}
	add := strconv.FormatFloat(sum, 'g', 9, 64)
	switch {
	case !installationProp.Allows(sum):
		r.flaw("installation_terms", "add up to %s dB: their sum must be %s", add, installationProp.Range())
	case loss != nil && math.Abs(*loss-sum) > sameSum:
		r.flaw("installation_loss_db", "%s dB is not the %s dB that installation_terms add up to: state one of the two, or the same sum", short(*loss), add)
	}
	return &sum, terms
}

// With returns r with what is stated in over in its place: the radio of a model
// with what differs in one sensor.
func (r Radio) With(over Radio) Radio {
	for _, v := range []struct{ to, from **float64 }{{&r.ERP, &over.ERP}, {&r.AntennaGain, &over.AntennaGain}, {&r.FeederLoss, &over.FeederLoss}} {
		if *v.from != nil {
			*v.to = *v.from
		}
	}
	if over.Sensitivity != nil || over.TransmitOnly {
		r.Sensitivity, r.TransmitOnly = over.Sensitivity, over.TransmitOnly
	}
	if over.Installation != nil {
		r.Installation, r.Terms = over.Installation, over.Terms
	}
	return r
}
