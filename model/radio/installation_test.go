package radio

import (
	"math"
	"testing"
)

func TestTheDefaultTermsAddUpToThePlansDefaults(t *testing.T) {
	for _, row := range []struct {
		kind Kind
		want float64
	}{{Sensor, 6}, {Repeater, 6}, {Receiver, 0}} {
		terms := DefaultTerms(row.kind)
		if got := TermSum(terms); got != row.want || len(terms) != len(Topics()) {
			t.Errorf("kind %d: %v dB in %d terms, want %v: %+v", row.kind, got, len(terms), row.want, terms)
		}
	}
}

func TestEveryTermSaysWhereItIsFrom(t *testing.T) {
	for _, topic := range Topics() {
		before := -1.0
		for _, c := range topic.Choices {
			if c.Source == "" || c.Name == "" || c.DB <= before {
				t.Errorf("%s: %+v", topic.Name, c)
			}
			before = c.DB
		}
	}
}

func TestOutsideTermsOfTheAntennaAreThoseOfTheirAngles(t *testing.T) {
	const source = "Malus's law, 20·log10(cos)"
	for _, row := range []struct{ deg, want, tol float64 }{{0, 0, 0}, {25, 0.9, 0.05}, {45, 3.0103, 0.0001}, {60, 6.0206, 0.0001}, {135, 3.0103, 0.0001}, {90, MaxMismatchDB, 0}, {-85, MaxMismatchDB, 0}} {
		closeTo(t, "Mismatch", Mismatch(row.deg), row.want, row.tol, source)
	}
}

func TestOutsideMesh(t *testing.T) {
	const source = "inductive wire grid (formula from memory), worked outside the program: 50 mm mesh of 2.5 mm wire"
	closeTo(t, "868 MHz", MeshLoss(0.05, 0.00125, 868), 6.5, 0.05, source)
	closeTo(t, "434 MHz", MeshLoss(0.05, 0.00125, 434), 12, 0.4, source)
	if got := MeshLoss(0.005, 0.00125, 868); !math.IsInf(got, 1) {
		t.Errorf("a mesh closer than its wires are thick loses %v dB", got)
	}
}
