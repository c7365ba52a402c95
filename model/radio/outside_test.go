package radio

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
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
		in, word := map[string]float64{}, map[string]string{}
		for _, pair := range strings.Split(row["inputs"], ";") {
			name, value, _ := strings.Cut(pair, "=")
			word[name] = value
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
		case "noise_floor":
			if in["T_k"] != noiseKelvins {
				t.Fatalf("%s: at %v K", row["check_id"], in["T_k"])
			}
			got = NoiseFloor(in["bandwidth_hz"], in["noise_figure_db"])
		case "rayleigh_fade_margin_below_mean":
			got = RayleighReserve(in["reliability"])
		case "two_ray_breakpoint_4h1h2_over_lambda":
			got = Breakpoint(in["h1_m"], in["h2_m"], in["f_mhz"])
		case "plane_earth_loss":
			got = PlaneEarthLoss(in["d_m"], in["h1_m"], in["h2_m"], 868.3)
		case "two_ray_excess_over_free_space":
			got = TwoRayExcess(in["d_m"], in["h1_m"], in["h2_m"], in["f_mhz"], polarisation(t, word["pol"]), Soil{in["eps_r"], in["sigma_s_m"]})
		case "p2109_building_entry_loss":
			class, known := map[string]BuildingClass{"traditional": Traditional, "thermally_efficient": ThermallyEfficient}[word["class"]]
			if !known {
				t.Fatalf("%s: class %q", row["check_id"], word["class"])
			}
			got = EntryLoss(class, 1000*in["f_ghz"], in["elev_deg"], in["prob_percent"]/100)
		case "p833_woodland_one_terminal":
			got = saturating(in["gamma_db_m"]*in["depth_m"], in["Am_db"])
			if own := ThroughTrees([]Trees{{Depth: in["depth_m"], InLeaf: true}}, in["f_mhz"]); math.Abs(own-got) > 1e-9 {
				t.Errorf("%s: medium trees in leaf lose %v dB, by the row's parameters %v", row["check_id"], own, got)
			}
		case "weissberger_modified_exponential_decay":
			got = Weissberger(in["depth_m"], 1000*in["f_ghz"])
		case "p2040_slab_normal_incidence":
			m, known := MaterialNamed(word["material"])
			if !known || m.A != in["a"] || m.B != in["b"] || m.C != in["c"] || m.D != in["d"] {
				t.Errorf("%s: %s is %+v; source: %s", row["check_id"], word["material"], m, row["source"])
			}
			got = m.Slab(in["thickness_m"], 1000*in["f_ghz"])
		case "p2040_conductivity":
			got = Material{C: in["c"], D: in["d"]}.Conductivity(1000 * in["f_ghz"])
		default:
			continue // not built here
		}
		t.Run(row["check_id"], func(t *testing.T) {
			tolerance := max(number(t, row["tolerance"]), lastDigit(row["expected"]))
			closeTo(t, fmt.Sprintf("%s(%s)", row["quantity"], row["inputs"]), got, number(t, row["expected"]), tolerance, row["source"])
		})
	}
}

type relayInstance struct {
	Name     string  `json:"name"`
	Required float64 `json:"required_margin_db"`
	MaxHops  int     `json:"max_hops"`
	Nodes    []struct{ ID, Kind string }
	Links    []struct {
		A, B   string
		Margin float64 `json:"margin_db"`
	}
	MinConnected   int      `json:"min_relays_connected"`
	MinSurviving   int      `json:"min_relays_surviving_any_one_relay_failure"`
	CountConnected int      `json:"number_of_optimal_sets_connected"`
	CountSurviving int      `json:"number_of_optimal_sets_surviving"`
	SetConnected   []string `json:"one_optimal_set_connected"`
	SetSurviving   []string `json:"one_optimal_set_surviving"`
}

// A relayNet is an instance with a choice of its candidates built.
type relayNet struct {
	kinds      []Kind
	candidates []int // nodes
	index      map[string]int
	links      []Link
	maxHops    int
}

func (in relayInstance) net(t *testing.T) relayNet {
	t.Helper()
	net := relayNet{index: map[string]int{}, maxHops: in.MaxHops}
	for i, node := range in.Nodes {
		net.index[node.ID] = i
		switch node.Kind {
		case "base":
			net.kinds = append(net.kinds, Receiver)
		case "candidate":
			net.kinds = append(net.kinds, Repeater)
			net.candidates = append(net.candidates, i)
		case "sensor":
			net.kinds = append(net.kinds, Sensor)
		default:
			t.Fatalf("%s: node %s of kind %q", in.Name, node.ID, node.Kind)
		}
	}
	for _, l := range in.Links {
		net.links = append(net.links, Link{A: net.index[l.A], B: net.index[l.B], MarginDB: l.Margin, RequiredDB: in.Required})
	}
	return net
}

// built returns the links between nodes that are there when only the chosen
// candidates are built.
func (net relayNet) built(chosen []int) []Link {
	there := make([]bool, len(net.kinds))
	for v, kind := range net.kinds {
		there[v] = kind != Repeater
	}
	for _, v := range chosen {
		there[v] = true
	}
	var links []Link
	for _, l := range net.links {
		if there[l.A] && there[l.B] {
			links = append(links, l)
		}
	}
	return links
}

func (net relayNet) nodes(ids []string) []int {
	var out []int
	for _, id := range ids {
		out = append(out, net.index[id])
	}
	return out
}

// connected reports whether every sensor is served with the chosen candidates.
func (net relayNet) connected(chosen []int) bool {
	for s, ok := range Served(net.kinds, net.built(chosen), net.maxHops) {
		if net.kinds[s] == Sensor && !ok {
			return false
		}
	}
	return true
}

// survives reports whether every sensor is served with the chosen candidates
// and still is when any one of them fails.
func (net relayNet) survives(chosen []int) bool {
	if !net.connected(chosen) {
		return false
	}
	lost := Lost(net.kinds, net.built(chosen), net.maxHops)
	for _, v := range chosen {
		if len(lost[v]) > 0 {
			return false
		}
	}
	return true
}

// count returns how many choices of k candidates are good.
func (net relayNet) count(k int, good func([]int) bool) int {
	n := 0
	var choose func(from int, chosen []int)
	choose = func(from int, chosen []int) {
		if len(chosen) == k {
			if good(chosen) {
				n++
			}
			return
		}
		for i := from; i <= len(net.candidates)-(k-len(chosen)); i++ {
			choose(i+1, append(chosen, net.candidates[i]))
		}
	}
	choose(0, make([]int, 0, k))
	return n
}

// TestOutsideRelayInstances proves the siting problems anew with the route code
// here: the given sets are good, no smaller set is, and there are as many good
// ones of that size as the file says. Supersets of a good set are good, so one
// size less is all that has to be tried.
func TestOutsideRelayInstances(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(opendata.Dir(t), "checks", "radio", "relay_instances.json"))
	if err != nil {
		t.Fatal(err)
	}
	var instances []relayInstance
	if err := json.Unmarshal(data, &instances); err != nil {
		t.Fatal(err)
	}
	const source = "relay_instances.json, solved exhaustively and verified by a second program"
	for _, in := range instances {
		t.Run(in.Name, func(t *testing.T) {
			net := in.net(t)
			for _, q := range []struct {
				what     string
				good     func([]int) bool
				set      []string
				size     int
				sizeGood int
			}{
				{"connected", net.connected, in.SetConnected, in.MinConnected, in.CountConnected},
				{"surviving", net.survives, in.SetSurviving, in.MinSurviving, in.CountSurviving},
			} {
				set := net.nodes(q.set)
				if len(set) != q.size || !q.good(set) {
					t.Errorf("the set %v is not %s; source: %s", q.set, q.what, source)
				}
				for i := range set {
					if less := slices.Delete(slices.Clone(set), i, i+1); q.good(less) {
						t.Errorf("the set %v without %s is still %s; source: %s", q.set, q.set[i], q.what, source)
					}
				}
				if got := net.count(q.size, q.good); got != q.sizeGood {
					t.Errorf("%d sets of %d are %s, want %d; source: %s", got, q.size, q.what, q.sizeGood, source)
				}
				if got := net.count(q.size-1, q.good); got != 0 {
					t.Errorf("%d sets of %d are %s, want none; source: %s", got, q.size-1, q.what, source)
				}
			}

			// A sensor has a route that holds exactly where it is served.
			set := net.nodes(in.SetConnected)
			for s, r := range Routes(net.kinds, net.built(set), net.maxHops) {
				if net.kinds[s] == Sensor && (r == nil || r.MarginDB < in.Required || len(r.Nodes)-1 > in.MaxHops) {
					t.Errorf("sensor %s has route %+v, want one of at least %v dB in %d links; source: %s", in.Nodes[s].ID, r, in.Required, in.MaxHops, source)
				}
			}
		})
	}
}
