package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"

	"pleach/gis/planfile"
	"pleach/model/analysis"
	"pleach/model/radio"
	"pleach/model/report"
)

var linkCommand = command{
	name:    "link",
	args:    "PROFILE.csv --mhz F --from H --to H [OPTIONS]\n  pleach link PLAN --from ID --to ID [--profile OUT.csv] [--json]",
	summary: "the losses of one radio link, over a ground profile or between two devices of a plan",
	help: `PROFILE.csv has the columns d_km,h_m,g_m: distance, bare ground, and ground with
what stands on it. All of it counts as one link between antennas above the
ground of its first and last row.

  --mhz F            frequency, 30 to 6000 MHz
  --from H, --to H   antenna heights above the ground, above 0 to 3000 m
  --pol V            polarisation, V (as is) or H
  --radius-km 8500   effective Earth radius
  --sea-fraction 0   part of the path that runs over sea, 0 to 1
  --json             members as in the links of check --json

Of a PLAN the devices are named by id, and the plan's settings hold.

  --from ID, --to ID   sensor, repeater or receiver
  --profile OUT.csv    writes the profile, to be read by the form above
  --json               as above`,
	run: runLink,
}

// linkOptions are the options of both forms of link.
type linkOptions struct {
	from, to, mhz, pol, radius, sea, profile string
	json                                     bool
}

func runLink(args []string, out, said io.Writer) (int, error) {
	o := linkOptions{pol: "V", radius: "8500", sea: "0"}
	forProfile := []*option{text("--mhz", &o.mhz), text("--pol", &o.pol), text("--radius-km", &o.radius), text("--sea-fraction", &o.sea)}
	forPlan := []*option{text("--profile", &o.profile)}
	both := []*option{text("--from", &o.from), text("--to", &o.to), toggle("--json", &o.json)}
	rest, err := parse("link", args, append(append(both, forProfile...), forPlan...)...)
	if err != nil {
		return bad, err
	}
	path, err := one("link", "the profile or plan", rest)
	if err != nil {
		return bad, err
	}
	isPlan, err := isPlanFile(path)
	if err != nil {
		return bad, err
	}
	foreign, why := forPlan, "is for a plan, and this is a profile"
	if isPlan {
		foreign, why = forProfile, "is for a profile: a plan says it in its settings"
	}
	for _, f := range foreign {
		if f.given {
			return bad, usage("link: %s %s", f.name, why)
		}
	}
	if isPlan {
		return linkInPlan(path, o, out, said)
	}
	return linkOverProfile(path, o, out)
}

// isPlanFile reports whether the file holds JSON rather than a table.
func isPlanFile(path string) (bool, error) {
	data, err := planfile.Load(path)
	if err != nil {
		return false, err
	}
	text := bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")))
	return bytes.HasPrefix(text, []byte("{")), nil
}

// maxAntennaOverProfile is the greatest antenna height over a given profile in
// metres, by the contract.
const maxAntennaOverProfile = 3000

// linkOverProfile rates one link over a table of heights.
func linkOverProfile(path string, o linkOptions, out io.Writer) (int, error) {
	for _, need := range []struct{ name, value, what string }{{"--mhz", o.mhz, "the frequency, 30 to 6000 MHz"}, {"--from", o.from, "the first antenna's height, above 0 to 3000 m"}, {"--to", o.to, "the last antenna's height, above 0 to 3000 m"}} {
		if need.value == "" {
			return bad, usage("link: %s is missing: %s", need.name, need.what)
		}
	}
	c := radio.Conditions{}
	var err error
	var from, to float64
	for _, n := range []struct {
		name, value string
		low, high   float64
		above       bool
		v           *float64
	}{
		{"--mhz", o.mhz, 30, 6000, false, &c.FreqMHz},
		{"--from", o.from, 0, maxAntennaOverProfile, true, &from},
		{"--to", o.to, 0, maxAntennaOverProfile, true, &to},
		{"--radius-km", o.radius, 0, 1e6, true, &c.EffectiveRadiusKm},
		{"--sea-fraction", o.sea, 0, 1, false, &c.SeaFraction},
	} {
		if *n.v, err = number("link", n.name, n.value, n.low, n.high, n.above); err != nil {
			return bad, err
		}
	}
	switch o.pol {
	case "V", "v":
	case "H", "h":
		c.Polarisation = radio.Horizontal
	default:
		return bad, usage("link: --pol %s is not V or H", o.pol)
	}
	p, err := readProfile(path)
	if err != nil {
		return bad, err
	}
	l := rateProfile(p, from, to, c)
	if o.json {
		return done, writeJSON(out, l)
	}
	return done, l.write(out, c.FreqMHz)
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// linkInPlan rates the link between two devices of a plan.
func linkInPlan(path string, o linkOptions, out, said io.Writer) (int, error) {
	if o.from == "" || o.to == "" {
		return bad, usage("link: --from ID and --to ID say between which devices of the plan")
	}
	if o.profile != "" {
		if old, err := os.ReadFile(o.profile); err == nil && len(old) > 0 && !bytes.HasPrefix(old, []byte(profileHead)) {
			return bad, fmt.Errorf("%s: is there already and is no profile: name another file", o.profile)
		}
	}
	p, err := readPlan(path)
	if err != nil {
		return bad, err
	}
	sc, err := layScene(path, p, said)
	if err != nil {
		return bad, err
	}
	k, profile, d, err := analysis.LinkBetween(sc, o.from, o.to)
	if err != nil {
		return bad, fmt.Errorf("%s: %w", path, err)
	}
	if k.A == k.B {
		return bad, fmt.Errorf("%s: %s and %s stand in one place, so that no path lies between them to be rated: move one of them", path, o.from, o.to)
	}
	r, err := analysis.RunOn(context.Background(), sc, nil)
	if err != nil {
		return bad, err
	}
	if r, err = analysis.WithRadioStudy(context.Background(), r); err != nil {
		return bad, err
	}
	at := slices.IndexFunc(r.Links, func(l analysis.Link) bool {
		return l.InUse && (l.From == k.From && l.To == k.To || l.From == k.To && l.To == k.From)
	})
	k.InUse = at >= 0
	l := ofPlan(k, d)
	if at >= 0 {
		l.Worst = report.WorstOf(r.WorstOf(at))
	}
	l.FromAntenna, l.ToAntenna = analysis.AntennaHeight(p.Feature(o.from)), analysis.AntennaHeight(p.Feature(o.to))
	l.Notes = notes(profile, l.FromAntenna, l.ToAntenna)
	l.passes = r.PastWords(k)
	for _, id := range []string{k.From, k.To} {
		for _, t := range report.TermsOf(analysis.InstallationTerms(p, p.Feature(id))) {
			l.Terms = append(l.Terms, endTerm{id, t})
		}
	}
	if slices.ContainsFunc(l.Terms, func(t endTerm) bool { return t.DB != 0 && t.Source != analysis.Stated }) {
		l.Notes = append(l.Notes, "installation losses that the plan does not state are defaults, from memory: installation_terms in the radio of a device says what holds for it")
	}
	if k.Received > analysis.Overloaded {
		l.Notes = append(l.Notes, fmt.Sprintf("%.0f dBm arrive: above %.0f dBm (from memory) a radio may no longer follow what it hears", k.Received, analysis.Overloaded))
	}
	if b := p.Settings.Traffic.Bandwidth; b != nil {
		l.Notes = append(l.Notes, fmt.Sprintf("the noise of a receiver %s kHz wide is %.0f dBm (k·T·B and %.0f dB of its own, from memory); no sensitivity lies below it unless the radio spreads its signal",
			short(*b), radio.NoiseFloor(*b*1000, radio.NoiseFigureDB), radio.NoiseFigureDB))
	}
	if at, unknown := analysis.UnknownGround(sc, k.A, k.B); unknown {
		q := sc.Grid.ToLonLat(at)
		l.Notes = append(l.Notes, fmt.Sprintf("from longitude %.6f, latitude %.6f on the link runs over ground the terrain model does not know: the nearest known height is taken there", q[0], q[1]))
	}
	if o.profile != "" {
		if err := planfile.Replace(o.profile, profileCSV(profile)); err != nil {
			return bad, fmt.Errorf("%s: not written: %w", o.profile, err)
		}
	}
	if o.json {
		return done, writeJSON(out, l)
	}
	return done, l.write(out, p.Settings.Frequency)
}
