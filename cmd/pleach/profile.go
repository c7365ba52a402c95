package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"pleach/gis/planfile"
	"pleach/model/analysis"
	"pleach/model/radio"
	"pleach/model/report"
)

// profileColumns are the columns of a profile: distance in kilometres, bare
// ground and ground with what stands on it in metres.
var profileColumns = []string{"d_km", "h_m", "g_m"}

// profileHead is the first line of a profile that is written.
const profileHead = "d_km,h_m,g_m\n"

// readProfile returns the profile in a CSV file. Its first line names the
// columns; further columns are passed over. What is wrong is one error with the
// line and the remedy.
func readProfile(path string) (radio.Profile, error) {
	data, err := planfile.Load(path)
	if err != nil {
		return radio.Profile{}, err
	}
	p, err := parseProfile(data)
	if err != nil {
		return radio.Profile{}, fmt.Errorf("%s: %w", path, err)
	}
	return p, nil
}

func parseProfile(data []byte) (radio.Profile, error) {
	var p radio.Profile
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(bytes.TrimSpace(data)) == 0 {
		return p, errors.New("is empty: a profile has the columns d_km,h_m,g_m")
	}
	if !utf8.Valid(data) {
		return p, errors.New("is not text in UTF-8: save the table as CSV in UTF-8")
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	head, err := r.Read()
	if err != nil {
		return p, csvError(err)
	}
	at, err := columns(head)
	if err != nil {
		return p, err
	}
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return p, csvError(err)
		}
		line, _ := r.FieldPos(0)
		if len(row) != len(head) {
			return p, fmt.Errorf("line %d: has %d values, and the first line names %d columns: separate values by commas and write decimals with a point", line, len(row), len(head))
		}
		var v [3]float64
		for i, name := range profileColumns {
			if v[i], err = height(row[at[i]]); err != nil {
				return p, fmt.Errorf("line %d: %s %w", line, name, err)
			}
		}
		if err := follows(p, v); err != nil {
			return p, fmt.Errorf("line %d: %w", line, err)
		}
		p.D, p.H, p.G = append(p.D, v[0]*1000), append(p.H, v[1]), append(p.G, v[2])
	}
	if n := len(p.D); n < 2 {
		return p, fmt.Errorf("has %s of heights: a profile needs at least 2, one at each antenna", []string{"no row", "1 row"}[n])
	}
	return p, p.Check()
}

// columns returns where each of profileColumns stands in the first line.
func columns(head []string) (at [3]int, err error) {
	for i, name := range profileColumns {
		at[i] = -1
		for j, h := range head {
			if strings.TrimSpace(h) != name {
				continue
			}
			if at[i] >= 0 {
				return at, fmt.Errorf("line 1: the column %s stands twice", name)
			}
			at[i] = j
		}
		if at[i] < 0 {
			found := strings.Join(head, ",")
			for _, by := range [][2]string{{";", "semicolons"}, {"\t", "tabs"}} {
				if strings.Contains(found, profileColumns[0]+by[0]) {
					return at, fmt.Errorf("line 1: values are separated by %s: separate them by commas and write decimals with a point", by[1])
				}
			}
			if r := []rune(found); len(r) > 60 {
				found = string(r[:60]) + "…"
			}
			return at, fmt.Errorf("line 1: %q has no column %s: the first line must be d_km,h_m,g_m", found, name)
		}
	}
	return at, nil
}

// height reads one number of a profile.
func height(s string) (float64, error) {
	s = strings.TrimSpace(s)
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case err != nil && !errors.Is(err, strconv.ErrRange):
		return 0, fmt.Errorf("%q is not a number: write a finite one, with a decimal point", s)
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, fmt.Errorf("%s is not a finite number", s)
	}
	return v, nil
}

// follows reports a row that cannot come next: its kilometres, ground and top.
func follows(p radio.Profile, v [3]float64) error {
	n := len(p.D)
	switch {
	case n == 0 && v[0] != 0:
		return fmt.Errorf("d_km %s is not 0: the first row stands at the first antenna", short(v[0]))
	case n > 0 && v[0]*1000 == p.D[n-1]:
		return fmt.Errorf("d_km %s stands twice: every distance stands once", short(v[0]))
	case n > 0 && v[0]*1000 < p.D[n-1]:
		return fmt.Errorf("d_km %s is less than the %s before it: distances must rise", short(v[0]), short(p.D[n-1]/1000))
	case v[2] < v[1]:
		return fmt.Errorf("g_m %s is below h_m %s: ground with what stands on it cannot lie below the bare ground", short(v[2]), short(v[1]))
	}
	return nil
}

func csvError(err error) error {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		if errors.Is(pe.Err, csv.ErrQuote) || errors.Is(pe.Err, csv.ErrBareQuote) {
			return fmt.Errorf("line %d: a quotation mark stands alone: numbers need none", pe.Line)
		}
		return fmt.Errorf("line %d: %w", pe.Line, pe.Err)
	}
	return err
}

// profileCSV returns a profile as a table, every number as exact as it is held.
func profileCSV(p radio.Profile) []byte {
	b := []byte(profileHead)
	for i := range p.D {
		b = strconv.AppendFloat(b, p.D[i]/1000, 'g', -1, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, p.H[i], 'g', -1, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, p.G[i], 'g', -1, 64)
		b = append(b, '\n')
	}
	return b
}

// A ratedLink is what link prints: the members of a link in the check report
// and the parts of the diffraction loss. What needs radios is nil where only a
// profile is known.
type ratedLink struct {
	From             *string       `json:"from"`
	To               *string       `json:"to"`
	FromAntenna      float64       `json:"from_antenna_m"` // above the ground
	ToAntenna        float64       `json:"to_antenna_m"`
	Distance         float64       `json:"distance_m"`
	FreeSpace        float64       `json:"free_space_db"`
	Diffraction      float64       `json:"diffraction_db"`
	SingleEdge       float64       `json:"single_edge_db"`
	Vegetation       float64       `json:"vegetation_db"`
	Building         float64       `json:"building_db"`
	Installation     *float64      `json:"installation_db"`
	Terms            []endTerm     `json:"installation_terms,omitempty"`
	Loss             float64       `json:"loss_db"` // without installation
	Clearance        float64       `json:"clearance"`
	ClearanceAt      float64       `json:"clearance_at_m"`
	Received         *float64      `json:"received_dbm"`
	Margin           *float64      `json:"margin_db"`
	Required         *float64      `json:"required_margin_db"`
	Probability      *float64      `json:"probability"`
	InUse            *bool         `json:"in_use"`
	Directions       []direction   `json:"directions,omitempty"`
	Bullington       float64       `json:"bullington_db"`
	BullingtonSmooth float64       `json:"bullington_smooth_db"`
	Spherical        float64       `json:"spherical_db"`
	Class            string        `json:"class,omitempty"`
	Calibration      *float64      `json:"calibration_db,omitempty"`
	Worst            *report.Worst `json:"worst_case,omitempty"`
	Past             *report.Past  `json:"past,omitempty"`
	Notes            []string      `json:"notes"`

	passes string // Past in words
}

// endTerm is a part of the installation loss and the device it is lost at.
type endTerm struct {
	At string `json:"at"`
	report.Term
}

// direction is what one direction of a link comes to.
type direction struct {
	From        string  `json:"from"`
	To          string  `json:"to"`
	Received    float64 `json:"received_dbm"`
	Margin      float64 `json:"margin_db"`
	Probability float64 `json:"probability"`
}

// rateProfile returns the losses over p between antennas from and to metres
// above its ends.
func rateProfile(p radio.Profile, from, to float64, c radio.Conditions) ratedLink {
	d := radio.Diffract(p, from, to, c)
	n := len(p.D) - 1
	slant := math.Hypot(p.D[n], p.H[0]+from-p.H[n]-to)
	l := ratedLink{
		FromAntenna: from, ToAntenna: to, Distance: slant, FreeSpace: radio.FreeSpaceLoss(slant, c.FreqMHz),
		Diffraction: d.DeltaBullingtonDB, SingleEdge: d.SingleEdgeDB,
		Clearance: d.Clearance, ClearanceAt: d.ClearanceAt,
		Bullington: d.BullingtonDB, BullingtonSmooth: d.BullingtonSmoothDB, Spherical: d.SphericalDB,
	}
	l.Loss = l.FreeSpace + l.Diffraction
	l.Notes = notes(p, from, to)
	return l
}

// ofPlan returns a rated link of a plan.
func ofPlan(k analysis.Link, d radio.Diffraction) ratedLink {
	l := ratedLink{
		From: &k.From, To: &k.To, Distance: k.Distance, FreeSpace: k.FreeSpace, Diffraction: k.Diffraction, SingleEdge: k.SingleEdge,
		Vegetation: k.Vegetation, Building: k.Building, Installation: &k.Installation, Loss: k.Loss,
		Clearance: k.Clearance, ClearanceAt: d.ClearanceAt, Received: &k.Received, Margin: &k.Margin, Required: &k.Required,
		Probability: &k.Probability, InUse: &k.InUse, Past: report.PastOf(k.Past), Bullington: d.BullingtonDB, BullingtonSmooth: d.BullingtonSmoothDB, Spherical: d.SphericalDB,
		Class: k.Class,
	}
	for _, d := range k.Directions() {
		l.Directions = append(l.Directions, direction{d.From, d.To, d.Received, d.Margin, d.Probability})
	}
	if k.Corrected {
		l.Calibration = &k.Correction
	}
	return l
}

// notes says what the losses over p between antennas from and to metres above
// its ends rest on.
func notes(p radio.Profile, from, to float64) []string {
	out := []string{}
	if radio.Extrapolated(p.D[len(p.D)-1], from, to) {
		out = append(out, "the method is stated for 0.25 to 3000 km and antennas from 1 m up: this link is an extrapolation")
	}
	return out
}

// write prints the link as text.
func (l ratedLink) write(w io.Writer, mhz float64) error {
	var b bytes.Buffer
	row := func(what string, v float64, unit, note string) {
		fmt.Fprintf(&b, "  %-34s %8.1f %s%s\n", what, rounded(v, 1), unit, note)
	}
	ends := "Link"
	if l.From != nil && l.To != nil {
		ends = "Link " + *l.From + " to " + *l.To
	}
	fmt.Fprintf(&b, "%s at %s MHz\n\n", ends, short(mhz))
	fmt.Fprintf(&b, "  %-34s %8s m and %s m above the ground\n", "Antennas", short(l.FromAntenna), short(l.ToAntenna))
	row("Distance, antenna to antenna", l.Distance, "m", "")
	row("Free space", l.FreeSpace, "dB", "")
	row("Diffraction", l.Diffraction, "dB", fmt.Sprintf("   (Bullington %.1f, smooth %.1f, spherical Earth %.1f)", l.Bullington, l.BullingtonSmooth, l.Spherical))
	if l.Vegetation != 0 {
		row("Trees", l.Vegetation, "dB", "")
	}
	if l.Building != 0 {
		row("Ways round and through, buildings", l.Building, "dB", "")
	}
	if l.Installation == nil {
		row("Path loss", l.Loss, "dB", "")
	} else {
		row("Path loss, without installation", l.Loss, "dB", "")
		for _, t := range l.Terms {
			if t.DB != 0 {
				row("Installation, "+t.At, t.DB, "dB", "   ("+t.What+")")
			}
		}
		row("Installation, both ends together", *l.Installation, "dB", "")
		row("Loss with installation", l.Loss+*l.Installation, "dB", "")
	}
	if l.Calibration != nil {
		row("Readings of such links", *l.Calibration, "dB", "   (in what follows)")
	}
	for _, d := range l.Directions {
		row("Received by "+d.To+" from "+d.From, d.Received, "dBm", fmt.Sprintf("   (margin %.0f dB, %s)", rounded(d.Margin, 0), analysis.Percent(d.Probability)))
	}
	if l.Margin != nil {
		note := ""
		if l.Required != nil {
			note = fmt.Sprintf("   (%.0f dB required)", rounded(*l.Required, 0))
		}
		if l.Probability != nil {
			note = ", " + analysis.Percent(*l.Probability) + note
		}
		what := "Margin"
		if len(l.Directions) > 1 {
			what = "Margin, weaker direction"
		}
		fmt.Fprintf(&b, "  %-34s %8.0f dB%s\n", what, rounded(*l.Margin, 0), note)
	}
	if w := l.Worst; w != nil && w.Name != analysis.AsPlanned {
		fmt.Fprintf(&b, "  %-34s %8.0f dB, %s   (%s)\n", "Margin, worst case", rounded(w.Margin, 0), analysis.Percent(w.Probability), w.Name)
	}
	fmt.Fprintf(&b, "\n  Over the main edge alone: %.1f dB, an optimistic figure.\n", l.SingleEdge)
	fmt.Fprintf(&b, "  %s\n", clearance(l.Clearance, l.ClearanceAt))
	if l.passes != "" {
		fmt.Fprintf(&b, "  It runs %s.\n", l.passes)
	}
	for _, n := range l.Notes {
		fmt.Fprintf(&b, "  Note: %s.\n", n)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// clearance says in words how free the direct line is.
func clearance(share, at float64) string {
	switch {
	case share >= radio.MaxClearance:
		return "Nothing stands near the direct line."
	case share < 0:
		return fmt.Sprintf("The direct line is blocked, by %.2f of the first Fresnel zone, %.0f m from the first antenna.", -share, at)
	case share < 0.6:
		return fmt.Sprintf("The direct line is free, but only %.2f of the first Fresnel zone is, %.0f m from the first antenna; 0.6 is wanted.", share, at)
	}
	return fmt.Sprintf("The direct line is free with %.2f of the first Fresnel zone.", share)
}
