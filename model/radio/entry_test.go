package radio

import (
	"fmt"
	"testing"
)

func TestOutsideBuildingEntryLoss(t *testing.T) {
	const (
		workbook = "eeveetza/p2109 validate_p2109.m (ITU-R study group 3 workbook)"
		formula  = "ITU-R P.2109-1 section 3, worked outside the program"
	)
	for _, row := range []struct {
		class             BuildingClass
		mhz, elevation, p float64
		want, tol         float64
		source            string
	}{
		{Traditional, 28000, 0, 0.03162278, 3.958, 0.001, workbook},
		{Traditional, 28000, 0, 0.2398833, 12.041, 0.001, workbook},
		{ThermallyEfficient, 28000, 0, 0.2398833, 28.691, 0.001, workbook},
		{Traditional, 2000, 45, 0.2137962, 15.749, 0.001, workbook},
		{ThermallyEfficient, 2000, 45, 0.03162278, 13.626, 0.001, workbook},
		{Traditional, 868.3, 0, 0.5, 14.2, 0.05, formula},
		{Traditional, 868.3, 0, 0.9, 25.04487, 0.0001, formula},
		{ThermallyEfficient, 868.3, 0, 0.5, 31.2, 0.05, formula},
		{ThermallyEfficient, 868.3, 0, 0.9, 46.54998, 0.0001, formula},
		{Traditional, 433.92, 0, 0.5, 13.9, 0.05, formula},
		{Traditional, 433.92, 0, 0.9, 23.79211, 0.0001, formula},
		{ThermallyEfficient, 433.92, 0, 0.5, 32.7, 0.05, formula},
		{ThermallyEfficient, 433.92, 0, 0.9, 47.36799, 0.0001, formula},
	} {
		t.Run(fmt.Sprintf("class %d at %v MHz, %v degrees, %v", row.class, row.mhz, row.elevation, row.p), func(t *testing.T) {
			closeTo(t, "EntryLoss", EntryLoss(row.class, row.mhz, row.elevation, row.p), row.want, row.tol, row.source)
		})
	}
}

func TestEntryLossGrowsWithTheShareOfPlacesServed(t *testing.T) {
	for _, class := range []BuildingClass{Traditional, ThermallyEfficient} {
		for _, mhz := range []float64{80, 433.92, 868.3, 6000} {
			before := EntryLoss(class, mhz, 0, 0.001)
			for p := 0.01; p < 1; p += 0.01 {
				after := EntryLoss(class, mhz, 0, p)
				if after <= before {
					t.Fatalf("class %d at %v MHz: %v dB for %v, not more than %v", class, mhz, after, p, before)
				}
				before = after
			}
			if up, level := EntryLoss(class, mhz, 30, 0.5), EntryLoss(class, mhz, 0, 0.5); up <= level || up != EntryLoss(class, mhz, -30, 0.5) {
				t.Errorf("class %d at %v MHz: %v dB from 30 degrees, %v level", class, mhz, up, level)
			}
		}
	}
}

func TestAMetalBuildingLetsInAsLittleAsAnInsulatedOne(t *testing.T) {
	for _, row := range []struct {
		name string
		want BuildingClass
	}{{"metal cladding", ThermallyEfficient}, {"brick", Traditional}, {"", Traditional}} {
		m, _ := MaterialNamed(row.name)
		if got := EntryClass(m); got != row.want {
			t.Errorf("%q: class %d, want %d", row.name, got, row.want)
		}
	}
}
