package signal

import (
	"cmp"
	"slices"
	"time"

	"pleach/model/contrast"
)

// Hours is what a temperature series says of low contrast.
type Hours struct {
	From, To time.Time     // of the series
	Known    time.Duration // that it tells of
	Low      time.Duration // of low contrast
	Measured bool          // every reading states the background; else the air stands in

	ByMonth, KnownByMonth [12][24]time.Duration // by month and hour of the day
	Longest               []contrast.Spell      // longest first
}

// longest is how many of the longest spells are told.
const longest = 5

// LowHours returns the low-contrast hours of a series, which is not empty: those in
// which a target so clothed is within threshold kelvin of its background; months and
// hours as clocks show them in zone, UTC where it is nil.
func LowHours(series []contrast.Reading, clothing, threshold float64, zone *time.Location) Hours {
	target := contrast.Target{Body: contrast.Skin, Clothing: clothing}
	spells, known := contrast.LowContrast(series, target, threshold)
	always, _ := contrast.LowContrast(series, target, 1e9)
	h := Hours{From: series[0].Time, To: series[len(series)-1].Time, Known: known,
		Measured:     !slices.ContainsFunc(series, func(r contrast.Reading) bool { return !r.Measured }),
		ByMonth:      contrast.ByMonthAndHour(spells, zone),
		KnownByMonth: contrast.ByMonthAndHour(always, zone)}
	for _, s := range spells {
		h.Low += s.Duration()
	}
	h.Longest = slices.DeleteFunc(slices.Clone(spells), func(s contrast.Spell) bool { return s.Duration() <= 0 })
	slices.SortStableFunc(h.Longest, func(a, b contrast.Spell) int { return cmp.Compare(b.Duration(), a.Duration()) })
	h.Longest = h.Longest[:min(len(h.Longest), longest)]
	return h
}

// Share returns the share of the known time with low contrast, 0 to 1.
func (h Hours) Share() float64 {
	if h.Known <= 0 {
		return 0
	}
	return float64(h.Low) / float64(h.Known)
}

// Month returns the sum over one month's hours.
func (h Hours) Month(m time.Month) (low, known time.Duration) {
	for k := range 24 {
		low += h.ByMonth[m-1][k]
		known += h.KnownByMonth[m-1][k]
	}
	return low, known
}
