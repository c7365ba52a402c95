package radio

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pleach/testdata/opendata"
)

// readTable returns the rows of a CSV file, each by column name.
func readTable(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func readProfile(t *testing.T, path string) Profile {
	t.Helper()
	var p Profile
	for _, row := range readTable(t, path) {
		p.D = append(p.D, 1000*number(t, row["d_km"]))
		p.H = append(p.H, number(t, row["h_m"]))
		p.G = append(p.G, number(t, row["g_m"]))
	}
	if err := p.Check(); err != nil {
		t.Fatal(err)
	}
	return p
}

func polarisation(t *testing.T, s string) Polarisation {
	t.Helper()
	switch s {
	case "V":
		return Vertical
	case "H":
		return Horizontal
	}
	t.Fatalf("polarisation %q", s)
	return 0
}

func closeTo(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6f, want %.6f within %g; source: %s", what, got, want, tolerance, source)
	}
}

func TestOutsideDeltaBullingtonAgreesWithPublishedValues(t *testing.T) {
	testDeltaBullington(t, "delta_bullington_published.csv")
}

func TestOutsideDeltaBullingtonAgreesWithSiteScaleValues(t *testing.T) {
	testDeltaBullington(t, "delta_bullington_site_scale.csv")
}

// testDeltaBullington holds Diffract against every row of a file: each against
// the source the row names, from either end.
func testDeltaBullington(t *testing.T, file string) {
	dir := filepath.Join(opendata.Dir(t), "checks", "radio")
	for _, row := range readTable(t, filepath.Join(dir, file)) {
		t.Run(row["case_id"], func(t *testing.T) {
			p := readProfile(t, filepath.Join(dir, "profiles", row["profile"]+".csv"))
			htg, hrg := number(t, row["htg_m"]), number(t, row["hrg_m"])
			c := Conditions{
				FreqMHz:           1000 * number(t, row["f_ghz"]),
				Polarisation:      polarisation(t, row["pol"]),
				EffectiveRadiusKm: number(t, row["ae_km"]),
				SeaFraction:       number(t, row["sea_fraction"]),
			}
			for _, way := range []struct {
				name string
				got  Diffraction
			}{
				{"forward", Diffract(p, htg, hrg, c)},
				{"back", Diffract(mirrored(p), hrg, htg, c)},
			} {
				for _, q := range []struct {
					column string
					got    float64
				}{
					{"Lbulla_db", way.got.BullingtonDB},
					{"Lbulls_db", way.got.BullingtonSmoothDB},
					{"Ldsph_db", way.got.SphericalDB},
					{"Ld_db", way.got.DeltaBullingtonDB},
				} {
					if row[q.column] == "" {
						continue // the source publishes none
					}
					closeTo(t, way.name+" "+q.column, q.got, number(t, row[q.column]), 0.001, row["source"])
				}
			}
		})
	}
}

// lastDigit returns half a unit of the last digit of a printed number: no
// closer than that is it known, whatever tolerance stands beside it.
func lastDigit(printed string) float64 {
	_, decimals, _ := strings.Cut(printed, ".")
	return 0.5 * math.Pow10(-len(decimals))
}

// TestOutsideScalarChecks holds the small formulas against every row of the
// file whose quantity is built here.
func TestOutsideScalarChecks(t *testing.T) {
	path := filepath.Join(opendata.Dir(t), "checks", "radio", "scalar_checks.csv")
	for _, row := range readTable(t, path) {
		in := map[string]float64{}
		for _, pair := range strings.Split(row["inputs"], ";") {
			name, value, _ := strings.Cut(pair, "=")
			if v, err := strconv.ParseFloat(value, 64); err == nil {
				in[name] = v
			}
		}
		var got float64
		switch row["quantity"] {
		case "free_space_loss":
			rise := in["tx_abs_height_m"] - in["rx_abs_height_m"]
			got = FreeSpaceLoss(math.Hypot(1000*in["d_km"], rise), in["f_mhz"])
		case "knife_edge_J_approx":
			got = KnifeEdge(in["nu"])
		case "knife_edge_J_exact_fresnel":
			got = KnifeEdgeExact(in["nu"])
		case "fresnel_zone_radius":
			got = FresnelRadius(int(in["n"]), 1000*in["d1_km"], 1000*in["d2_km"], in["f_mhz"])
		case "earth_bulge_midpath":
			got = EarthBulge(500*in["d_km"], 500*in["d_km"], in["ae_km"])
		case "eirp_from_erp":
			got = ERPToEIRP(DBm(in["erp_mw"]))
		case "shadow_margin":
			got = in["sigma_db"] * NormalQuantile(in["reliability"])
		default:
			continue // not built here
		}
		t.Run(row["check_id"], func(t *testing.T) {
			tolerance := max(number(t, row["tolerance"]), lastDigit(row["expected"]))
			closeTo(t, fmt.Sprintf("%s(%s)", row["quantity"], row["inputs"]), got, number(t, row["expected"]), tolerance, row["source"])
		})
	}
}
