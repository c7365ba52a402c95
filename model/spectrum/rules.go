// Package spectrum holds what a country lets radio devices without a licence
// do, as data a user can edit, and works out what a site's devices do: how long
// each is on the air, and how many messages get through when many speak at
// once.
//
// The binding check is that of repeaters: they send what all the sensors behind
// them send.
//
// No rule text was read: every rule set names where its figures come from and
// its date, and those written down from memory say so. The licence conditions of
// the country hold, not these.
package spectrum

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
)

// Rules is a rule set: the sub-bands of one country on one date.
type Rules struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Country string `json:"country"`
	Date    string `json:"date"` // when the figures were taken down: year, month
	Source  string `json:"source"`
	Bands   []Band `json:"bands"`
}

// Uses a band may be kept for.
const (
	Any          = "any"
	Alarms       = "alarms"
	SocialAlarms = "social alarms" // a person's call for help: not intruder alarms
	Hopping      = "hopping"       // devices that change their frequency all the time
	Wide         = "wide"          // devices that fill a wide channel
)

// A Band is one way to be let on the air in a stretch of frequencies. Several
// may hold for one frequency; keeping to any one is enough.
type Band struct {
	FromMHz float64      `json:"from_mhz"`
	ToMHz   float64      `json:"to_mhz"`
	Except  [][2]float64 `json:"except,omitempty"` // MHz, from and to: not in these

	// Greatest power. FieldUVm is the field in µV/m at 3 m at either end of the
	// band, on a straight line between, in place of MaxERPDBm where it is stated.
	MaxERPDBm float64     `json:"max_erp_dbm"`
	FieldUVm  *[2]float64 `json:"field_uv_m,omitempty"`

	Duty            float64 `json:"duty,omitempty"`                   // greatest share of an hour on the air; 0 is no limit
	SupervisionS    float64 `json:"supervision_s_per_hour,omitempty"` // seconds an hour of messages that are no alarm; 0 is no limit
	LongestS        float64 `json:"longest_s,omitempty"`              // seconds one transmission may last; 0 is no limit
	MaxBandwidthKHz float64 `json:"max_bandwidth_khz,omitempty"`      // 0 is no limit
	Use             string  `json:"use"`                              // one of the uses above
	Condition       string  `json:"condition,omitempty"`              // what else is asked, in words
	FromMemory      bool    `json:"from_memory,omitempty"`            // at least one figure is from memory
	Source          string  `json:"source"`
}

//go:embed rules.json
var builtinJSON []byte

// Builtin returns the rule sets the program brings, in a fixed order.
var Builtin = sync.OnceValue(func() []Rules {
	var out []Rules
	if err := json.Unmarshal(builtinJSON, &out); err != nil {
		panic("rules.json: " + err.Error())
	}
	for _, r := range out {
		if err := r.Check(); err != nil {
			panic("rules.json: " + err.Error())
		}
	}
	return out
})

// Named returns the built-in rule set with that id.
func Named(id string) (Rules, bool) {
	for _, r := range Builtin() {
		if r.ID == id {
			return r, true
		}
	}
	return Rules{}, false
}

// Parse reads a rule set a user has written, and checks it. Errors name the band
// (counted from 1), the member, its value and the range allowed. A member it does
// not know is an error: a limit misspelt would be no limit.
func Parse(data []byte) (Rules, error) {
	var r Rules
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&r); err != nil {
		return Rules{}, fmt.Errorf("rules: %w", plain(err))
	}
	if _, err := d.Token(); err != io.EOF {
		return Rules{}, errors.New("rules: more than one value")
	}
	if err := r.Check(); err != nil {
		return Rules{}, err
	}
	return r, nil
}

// plain says of a value of the wrong type which it is and what it must be.
func plain(err error) error {
	var wrong *json.UnmarshalTypeError
	if !errors.As(err, &wrong) {
		if name, unknown := strings.CutPrefix(err.Error(), "json: unknown field "); unknown {
			return fmt.Errorf("%s is no member of a rule set: correct its name or take it out", name)
		}
		return err
	}
	must := map[reflect.Kind]string{reflect.String: "text", reflect.Slice: "a list", reflect.Struct: "an object", reflect.Bool: "true or false"}[wrong.Type.Kind()]
	if must == "" {
		must = "a number"
	}
	kind, _, _ := strings.Cut(wrong.Value, " ") // "number 1e999" says which as well
	is, known := map[string]string{"string": "text", "array": "a list", "object": "an object", "bool": "true or false"}[kind]
	if !known {
		is = "a " + wrong.Value
	}
	if wrong.Field == "" {
		return fmt.Errorf("is %s: it must be the name of a rule set, or a rule set written out", is)
	}
	return fmt.Errorf("%s is %s: it must be %s", wrong.Field, is, must)
}

// Check returns what is wrong with a rule set, all of it.
func (r Rules) Check() error {
	var all []error
	for _, m := range [][2]string{{"id", r.ID}, {"name", r.Name}, {"country", r.Country}, {"date", r.Date}, {"source", r.Source}} {
		if strings.TrimSpace(m[1]) == "" {
			all = append(all, fmt.Errorf("rules: %s is missing", m[0]))
		}
	}
	if len(r.Bands) == 0 {
		all = append(all, errors.New("rules: bands is empty: a rule set needs at least one"))
	}
	for i, b := range r.Bands {
		for _, err := range b.check() {
			all = append(all, fmt.Errorf("rules: band %d: %w", i+1, err))
		}
	}
	return errors.Join(all...)
}

func (b Band) check() (all []error) {
	within := func(name string, v, least, most float64) {
		if !(v >= least && v <= most) {
			all = append(all, fmt.Errorf("%s %v is not between %v and %v", name, v, least, most))
		}
	}
	within("from_mhz", b.FromMHz, 30, 6000)
	within("to_mhz", b.ToMHz, math.Max(b.FromMHz, 30), 6000)
	for _, e := range b.Except {
		within("except", e[0], b.FromMHz, b.ToMHz)
		within("except", e[1], e[0], b.ToMHz)
	}
	within("max_erp_dbm", b.MaxERPDBm, -50, 60)
	if b.FieldUVm != nil {
		within("field_uv_m", b.FieldUVm[0], 1, 1e8)
		within("field_uv_m", b.FieldUVm[1], 1, 1e8)
	}
	within("duty", b.Duty, 0, 1)
	within("supervision_s_per_hour", b.SupervisionS, 0, 3600)
	within("longest_s", b.LongestS, 0, 3600)
	within("max_bandwidth_khz", b.MaxBandwidthKHz, 0, 1e6)
	if uses := []string{Any, Alarms, SocialAlarms, Hopping, Wide}; !slices.Contains(uses, b.Use) {
		all = append(all, fmt.Errorf("use %q is not one of %s", b.Use, strings.Join(uses, ", ")))
	}
	return all
}

// Holds reports whether the band holds for freqMHz.
func (b Band) Holds(freqMHz float64) bool {
	if freqMHz < b.FromMHz || freqMHz > b.ToMHz {
		return false
	}
	return !slices.ContainsFunc(b.Except, func(e [2]float64) bool { return e[0] < freqMHz && freqMHz < e[1] })
}

// MaxERP returns the greatest effective radiated power the band allows at
// freqMHz, dBm.
func (b Band) MaxERP(freqMHz float64) float64 {
	if b.FieldUVm == nil {
		return b.MaxERPDBm
	}
	s := 0.0
	if b.ToMHz > b.FromMHz {
		s = (freqMHz - b.FromMHz) / (b.ToMHz - b.FromMHz)
	}
	return EIRPFromField(b.FieldUVm[0]+s*(b.FieldUVm[1]-b.FieldUVm[0]), 3) - dipoleGainDBi
}

// dipoleGainDBi is the gain of a half-wave dipole over the isotropic antenna.
const dipoleGainDBi = 2.15

// EIRPFromField returns the power in dBm that an isotropic antenna would have to
// radiate for a field of uvm µV/m at distance metres: E²d²/(30 Ω).
//
// Source: the free-space field of an isotropic antenna, ITU-R P.525 (from
// memory).
func EIRPFromField(uvm, distance float64) float64 {
	v := uvm * 1e-6 * distance
	return 10*math.Log10(v*v/30) + 30
}
