package analysis_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
)

// said lists findings of some rules, one a line.
func said(list []model.Finding) string {
	var out []string
	for _, f := range list {
		out = append(out, fmt.Sprintf("%s %s %s: %s", f.Severity, f.Rule, strings.Join(f.Subject, "+"), f.Text))
	}
	return strings.Join(out, "\n")
}

func TestAnAddressBeyondTheSwitchesIsTold(t *testing.T) {
	for _, row := range []struct {
		addresses any
		want      string
	}{
		{nil, "warning address S3: S3 has address 300; the switches can set 0 to 255."},
		{map[string]any{"switches": 8}, "fault address S3: S3 has address 300; the switches can set 0 to 255."},
		{map[string]any{"switches": 10}, ""},
		{map[string]any{"base": 64}, "fault address S1: S1 has address 5; the switches can set 64 to 319."},
		{map[string]any{"switches": 10, "reserved": "1-9"}, "warning address S1: S1 has address 5, which is kept for other equipment."},
	} {
		s := new(site.Site)
		if row.addresses != nil {
			s.Set("addresses", row.addresses)
		}
		for i, a := range []int{5, 255, 300} {
			s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{float64(10 * i), 0}, "sector-90-16", 3, 0, 2, model.Prop("address", a))
		}
		if got := said(of(study(t, s), "address")); got != row.want {
			t.Errorf("%v:\n%s\nwant\n%s", row.addresses, got, row.want)
		}
	}
}

func TestZonesAndOutputsAreHeldAgainstEachOtherBothWays(t *testing.T) {
	all := func(outputs ...map[string]any) string {
		s := new(site.Site)
		for i, zone := range []string{"North", "North", "South", ""} {
			s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{float64(10 * i), 0}, "sector-90-16", 3, 0, 2, model.Prop("zone", zone))
		}
		s.Add(model.KindReceiver, "RX", orb.Point{0, 20}, model.Prop("antenna_height_m", 4), model.Prop("outputs", outputs))
		r := study(t, s)
		return said(slices.Concat(of(r, "zone-without-output"), of(r, "output-without-sensor"), of(r, "shared-output")))
	}
	out := func(zone, typ, number, preset string) map[string]any {
		return map[string]any{"zone": zone, "type": typ, "number": number, "preset": preset}
	}
	const loose = "warning zone-without-output S4: S4 is in no zone, so no output tells of it."
	for _, row := range []struct {
		name    string
		outputs []map[string]any
		want    string
	}{
		{"no outputs", nil, "warning zone-without-output RX: Zones North and South lead to no output: no receiver has any."},
		{"all as it should be, a preset for both zones", []map[string]any{out("North", "relay", "1", "P1"), out("South", "relay", "2", "P1"), out("South", "serial", "1", "")}, loose},
		{"a zone is left out", []map[string]any{out("South", "relay", "2", "")}, "warning zone-without-output S1+S2: Zone North leads to no output of a receiver; in it: S1 and S2.\n" + loose},
		{"a zone without a sensor", []map[string]any{out("North", "relay", "1", ""), out("South", "relay", "2", ""), out("West", "ip", "7", "4")},
			loose + "\nwarning output-without-sensor RX: RX, IP 7, camera preset 4: no sensor is in its zone West."},
		{"an output of no zone", []map[string]any{out("North", "relay", "1", ""), out("South", "relay", "2", ""), out("", "relay", "3", "")},
			loose + "\nwarning output-without-sensor RX: RX, relay 3: names no zone."},
		{"two zones on one number", []map[string]any{out("North", "relay", "1", ""), out("South", "relay", "1", "")},
			loose + "\nwarning shared-output RX: RX, relay 1: zones North and South lead to it, and whoever sees it cannot tell which."},
		{"outputs without a number are not the same", []map[string]any{out("North", "relay", "", ""), out("South", "relay", "", "")}, loose},
	} {
		if got := all(row.outputs...); got != row.want {
			t.Errorf("%s:\n%s\nwant\n%s", row.name, got, row.want)
		}
	}
}
