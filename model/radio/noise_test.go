package radio

import "testing"

func TestOutsideReserveInTenPlaces(t *testing.T) {
	const source = "exponential distribution of power, worked outside the program"
	for _, row := range []struct{ share, want float64 }{{0.9, 9.77}, {0.99, 19.98}, {0.999, 30.00}} {
		closeTo(t, "RayleighReserve", RayleighReserve(row.share), row.want, 0.01, source)
	}
}
