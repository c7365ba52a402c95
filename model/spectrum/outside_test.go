package spectrum

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pleach/testdata/opendata"
)

// TestOutsideScalarChecks holds what is worked out here against every row of
// the file whose quantity it is.
func TestOutsideScalarChecks(t *testing.T) {
	f, err := os.Open(filepath.Join(opendata.Dir(t), "checks", "radio", "scalar_checks.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) float64 {
		total, per, isRatio := strings.Cut(s, "/")
		v, err := strconv.ParseFloat(total, 64)
		if err != nil {
			t.Fatal(err)
		}
		if isRatio {
			d, err := strconv.ParseFloat(per, 64)
			if err != nil {
				t.Fatal(err)
			}
			v /= d
		}
		return v
	}
	checked := map[string]int{}
	for _, row := range rows[1:] {
		id, quantity, want, tolerance, source := row[0], row[1], number(row[3]), number(row[5]), row[7]
		in := func(name string) float64 {
			for _, pair := range strings.Split(row[2], ";") {
				if value, ok := strings.CutPrefix(pair, name+"="); ok {
					return number(value)
				}
			}
			t.Fatalf("%s: no %s in %q", id, name, row[2])
			return 0
		}
		var got float64
		switch quantity {
		case "eirp_from_field_strength":
			got = EIRPFromField(in("E_uv_per_m"), in("d_m"))
		case "pure_aloha_success":
			got = AlohaSuccess(int(in("devices")), in("messages_per_device_per_s"), in("airtime_s"))
		case "duty_cycle_airtime_per_hour":
			breaches := Band{MaxERPDBm: 30, Duty: in("duty")}.breaches(Use{AirtimeS: 3600})
			if len(breaches) != 1 {
				t.Fatalf("%s: %+v", id, breaches)
			}
			got = breaches[0].Limit
		default:
			continue
		}
		checked[quantity]++
		t.Run(id, func(t *testing.T) { closeTo(t, quantity+"("+row[2]+")", got, want, tolerance, source) })
	}
	if len(checked) != 3 {
		t.Errorf("rows of %v alone", checked)
	}
}
