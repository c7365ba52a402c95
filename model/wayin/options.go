package wayin

import (
	"fmt"
	"math"
)

// Options are the figures the search works with. The zero value of a member
// stands for its default.
type Options struct {
	Probability float64 // of detecting a person who crosses Width metres of a footprint; above 0, below 1; default 0.9, chosen
	Width       float64 // metres, above 0 to 1000; default 10, chosen
	Person      float64 // metres: what is narrower is no passage; 0.1 to 2; default 0.4, chosen
	Base        float64 // cost a metre where nothing sees, so that the shorter of equal routes is taken; above 0 to 0.001; default 1e-6, chosen: 1 km weighs as much as 4 mm of a footprint
	Cells       int     // greatest number of cells a side; 50 to 8000; default 2000
	Cell        float64 // metres, least side of a cell; 0.01 to 10; default a quarter of a metre or, on a site of less than 200 m, an 800th of it, chosen
}

// Defaults returns the options with which Find works where none are set; Cell
// stays 0, it is chosen by the site's size.
func Defaults() Options { return Options{}.withDefaults() }

func (o Options) withDefaults() Options {
	set := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	set(&o.Probability, 0.9)
	set(&o.Width, 10)
	set(&o.Person, 0.4)
	set(&o.Base, 1e-6)
	if o.Cells == 0 {
		o.Cells = 2000
	}
	return o
}

func (o Options) check() error {
	cell := o.Cell
	if cell == 0 { // chosen later
		cell = 1
	}
	for _, c := range []struct {
		name        string
		v, low, top float64
		open        bool // low and top themselves are not allowed
	}{
		{"crossing probability", o.Probability, 0, 1, true},
		{"reference width (m)", o.Width, 0, 1000, false},
		{"person's width (m)", o.Person, 0.1, 2, false},
		{"base cost a metre", o.Base, 0, 0.001, false},
		{"cells a side", float64(o.Cells), 50, 8000, false},
		{"cell (m)", cell, 0.01, 10, false},
	} {
		if !(c.v >= c.low && c.v <= c.top) || c.v == 0 || c.open && c.v == c.top {
			return fmt.Errorf("way in: %s %v is not between %v and %v", c.name, c.v, c.low, c.top)
		}
	}
	return nil
}

// Rate returns the detection rate a metre, -ln(1-p)/w, of a sensor that detects
// a crossing of w metres with probability p; p is at least 0 and below 1, w
// above 0.
func Rate(p, w float64) float64 { return -math.Log1p(-p) / w }

// Probability returns the chance of being detected at least once on a route of
// the given cost, 1-exp(-cost).
func Probability(cost float64) float64 { return -math.Expm1(-cost) }
