package spectrum

import (
	"fmt"
	"strings"
)

// A Use of the air is what one device does.
type Use struct {
	FreqMHz      float64
	ERPDBm       float64
	AirtimeS     float64 // seconds an hour on the air, all messages
	SupervisionS float64 // of these, seconds an hour of messages that are no alarm
	LongestS     float64 // the longest transmission, seconds
	BandwidthKHz float64 // 0 where it is not known: then it breaks no limit
	Hopping      bool
	Wide         bool // digital modulation at least 500 kHz wide
}

// A Breach is a limit that a use does not keep.
type Breach struct {
	What           string // in words, with its unit: "power, dBm"
	Is, Limit      float64
	Band           Band
	FromMHz, ToMHz float64
}

// A Verdict is what a rule set says to a use.
type Verdict struct {
	Allowed  bool
	By       Band     // where allowed: the first band, in the order stated, that lets it
	Breaches []Breach // where not: those of the band it comes nearest to; none where no band holds
	Held     bool     // whether any band open to intruder alarms holds for the frequency
}

// Judge returns whether the rules let a device do what it does. Bands kept for
// social alarms, for hopping or wide devices that this is not, are passed over.
// Where none lets it, the breaches are those of the band with the fewest, at a
// tie the one stated first.
func (r Rules) Judge(u Use) Verdict {
	var v Verdict
	for _, b := range r.Bands {
		if !b.Holds(u.FreqMHz) || b.Use == SocialAlarms || b.Use == Hopping && !u.Hopping || b.Use == Wide && !u.Wide {
			continue
		}
		breaches := b.breaches(u)
		if len(breaches) == 0 {
			return Verdict{Allowed: true, By: b, Held: true}
		}
		if !v.Held || len(breaches) < len(v.Breaches) {
			v.Breaches = breaches
		}
		v.Held = true
	}
	return v
}

func (b Band) breaches(u Use) (out []Breach) {
	limit := func(what string, is, most float64) {
		if is > most+1e-9*most {
			out = append(out, Breach{what, is, most, b, b.FromMHz, b.ToMHz})
		}
	}
	// Powers are stated in whole milliwatts: a hundredth of a decibel is rounding.
	if most := b.MaxERP(u.FreqMHz); u.ERPDBm > most+0.01 {
		out = append(out, Breach{"power, dBm", u.ERPDBm, most, b, b.FromMHz, b.ToMHz})
	}
	if b.Duty > 0 {
		limit("time on the air, s an hour", u.AirtimeS, 3600*b.Duty)
	}
	if b.SupervisionS > 0 {
		limit("supervision messages, s an hour", u.SupervisionS, b.SupervisionS)
	}
	if b.LongestS > 0 {
		limit("longest transmission, s", u.LongestS, b.LongestS)
	}
	if b.MaxBandwidthKHz > 0 {
		limit("bandwidth, kHz", u.BandwidthKHz, b.MaxBandwidthKHz)
	}
	return out
}

// Quote returns the rule as a finding quotes it, with where it is from:
// "869.3 to 869.4 MHz: 10 dBm, 1 % of the time, 25 kHz, for alarms (CEPT, 2026-11)".
func (r Rules) Quote(b Band) string {
	var parts []string
	if b.FieldUVm == nil {
		parts = append(parts, fmt.Sprintf("%.3g dBm ERP", b.MaxERPDBm))
	} else if b.FieldUVm[0] == b.FieldUVm[1] {
		parts = append(parts, fmt.Sprintf("%g µV/m at 3 m", b.FieldUVm[0]))
	} else {
		parts = append(parts, fmt.Sprintf("%g to %g µV/m at 3 m", b.FieldUVm[0], b.FieldUVm[1]))
	}
	if b.Duty > 0 {
		parts = append(parts, fmt.Sprintf("%g %% of the time", 100*b.Duty))
	}
	if b.SupervisionS > 0 {
		parts = append(parts, fmt.Sprintf("%g s an hour of supervision", b.SupervisionS))
	}
	if b.LongestS > 0 {
		parts = append(parts, fmt.Sprintf("%g s a transmission", b.LongestS))
	}
	if b.MaxBandwidthKHz > 0 {
		parts = append(parts, fmt.Sprintf("%g kHz", b.MaxBandwidthKHz))
	}
	if b.Use != Any {
		parts = append(parts, "for "+map[string]string{Hopping: "hopping devices", Wide: "wide modulation"}[b.Use]+map[string]string{Alarms: Alarms, SocialAlarms: SocialAlarms}[b.Use])
	}
	memory := ""
	if b.FromMemory {
		memory = ", from memory"
	}
	return fmt.Sprintf("%g to %g MHz: %s (%s, %s%s)", b.FromMHz, b.ToMHz, strings.Join(parts, ", "), r.Country, r.Date, memory)
}
