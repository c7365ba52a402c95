// Package published holds check values that were not computed by this program,
// with their sources, and holds results against them in tests. README.md says
// whence they are.
package published

import (
	"embed"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"
)

//go:embed *.csv
var files embed.FS

// Row is one check value.
type Row struct {
	ID        string
	Quantity  string // what it is, of what input
	Value     float64
	Tolerance float64 // in the unit of Value
	Unit      string
	Source    string
}

// Table holds the rows of one file by id.
type Table map[string]Row

// Load reads a table such as "detection.csv".
func Load(t testing.TB, file string) Table {
	t.Helper()
	f, err := files.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	out := Table{}
	for i, l := range lines[1:] {
		r := Row{ID: l[0], Quantity: l[1], Unit: l[4], Source: l[5]}
		if r.Value, err = strconv.ParseFloat(l[2], 64); err != nil {
			t.Fatalf("%s row %d: value %q is not a number", file, i+2, l[2])
		}
		tolerance, percent := strings.CutSuffix(l[3], "%")
		if r.Tolerance, err = strconv.ParseFloat(tolerance, 64); err != nil {
			t.Fatalf("%s row %d: tolerance %q is not a number", file, i+2, l[3])
		}
		if percent {
			r.Tolerance *= math.Abs(r.Value) / 100
		}
		if _, twice := out[r.ID]; twice {
			t.Fatalf("%s row %d: %s stands twice", file, i+2, r.ID)
		}
		out[r.ID] = r
	}
	return out
}

// Check holds a result against the row of the given id, as a subtest.
func (tb Table) Check(t *testing.T, id string, got float64) {
	t.Helper()
	r, ok := tb[id]
	if !ok {
		t.Fatalf("there is no row %s", id)
	}
	t.Run(id, func(t *testing.T) {
		t.Helper()
		if !(math.Abs(got-r.Value) <= r.Tolerance) {
			t.Errorf("%s: got %.6f, want %v within %g %s; source: %s", r.Quantity, got, r.Value, r.Tolerance, r.Unit, r.Source)
		}
	})
}
