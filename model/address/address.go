// Package address gives devices the addresses that their switches are set to: in
// walking order, so that whoever sets them goes round the site once.
//
// The walking order runs along each boundary in file order by chainage, past
// every device whose nearest boundary it is and that stands within Beside of it;
// then from device to nearest device among those away from any boundary.
// Sensors and repeaters share one space of addresses.
package address

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// Beside is the greatest distance in metres from a boundary at which a device is
// met on the walk along it. Chosen: farther than posts and the walls of buildings
// at the line stand, nearer than what is guarded inside.
const Beside = 20.0

// A Device is a sensor or repeater on the walk.
type Device struct {
	Feature  *model.Feature
	At       orb.Point // on the site grid
	Boundary string    // id of that it is met on; "" for one away from any
	Chainage float64   // metres along it
	Was      *int      // its address in the plan; nil for none
	Address  int       // the one it has now; of no meaning where there is none
	Given    bool      // Address is another than in the plan
}

// Options say how addresses are given. The zero value gives one to each device
// that has none, counting up by 1.
type Options struct {
	All      bool                 // every device anew; else those without one alone
	Start    *int                 // the first number; nil: the lowest in use, else the one after all switches off
	Step     int                  // from one number to the next; 0 means 1
	Reserved []model.AddressRange // left out, with those the plan reserves
}

// Walk returns the sound sensors and repeaters of a scene in walking order, with
// the addresses they have.
func Walk(sc *scene.Scene) []Device {
	lanes := make([][]Device, len(sc.Boundaries))
	var away []Device
	for _, d := range sc.Devices {
		now := Device{Feature: d.Feature, At: d.At}
		switch v := d.Feature.Value.(type) {
		case *model.Sensor:
			now.Was = v.Address
		case *model.Repeater:
			now.Was = v.Address
		default:
			continue
		}
		if now.Was != nil {
			now.Address = *now.Was
		}
		lane, nearest := -1, math.Inf(1)
		for i, b := range sc.Boundaries {
			if s, far := b.Nearest(d.At); far < nearest && far <= Beside {
				lane, nearest = i, far
				now.Boundary, now.Chainage = b.Feature.ID, s
			}
		}
		if lane < 0 {
			away = append(away, now)
			continue
		}
		lanes[lane] = append(lanes[lane], now)
	}
	var out []Device
	for _, l := range lanes {
		slices.SortStableFunc(l, func(a, b Device) int {
			switch {
			case a.Chainage < b.Chainage:
				return -1
			case a.Chainage > b.Chainage:
				return 1
			}
			return 0
		})
		out = append(out, l...)
	}
	for len(away) > 0 {
		k, nearest := 0, math.Inf(1)
		for i, d := range away {
			if len(out) == 0 {
				break
			}
			last := out[len(out)-1].At
			if far := math.Hypot(d.At[0]-last[0], d.At[1]-last[1]); far < nearest {
				k, nearest = i, far
			}
		}
		out = append(out, away[k])
		away = slices.Delete(away, k, k+1)
	}
	return out
}

// Assign returns the devices in walking order with the addresses they are to
// have: each that is given is one that the switches can set, that is not reserved
// and that no other device has. It returns an error where there are not enough
// such numbers, and where an option is out of range.
func Assign(sc *scene.Scene, o Options) ([]Device, error) {
	set := sc.Plan.Settings.Addresses
	low, high := set.Range()
	switch {
	case o.Step == 0:
		o.Step = 1
	case o.Step < 0 || o.Step > high:
		return nil, fmt.Errorf("step %d is not between 1 and %d", o.Step, high)
	}
	if o.Start != nil && (*o.Start < low || *o.Start > high) {
		return nil, fmt.Errorf("start %d is not between %d and %d, which is what %s can set", *o.Start, low, high, switches(set.Switches))
	}
	walk := Walk(sc)
	onWalk := map[*model.Feature]bool{}
	wanting, first := 0, math.MaxInt
	for i, d := range walk {
		onWalk[d.Feature] = true
		if d.Was != nil && *d.Was >= low && *d.Was <= high {
			first = min(first, *d.Was)
		}
		if o.All || d.Was == nil {
			walk[i].Given = true
			wanting++
		}
	}
	// Numbers that are out of reach: of devices that keep theirs, flawed ones too.
	taken := map[int]bool{}
	for _, f := range sc.Plan.Features {
		if f.Kind != model.KindSensor && f.Kind != model.KindRepeater || o.All && onWalk[f] {
			continue
		}
		if v, ok := f.Number("address"); ok {
			taken[int(v)] = true
		}
	}
	free := func(v int) bool {
		return !taken[v] && !set.IsReserved(v) && !model.Addresses{Reserved: o.Reserved}.IsReserved(v)
	}
	var numbers []int
	count := func(from, to int) {
		for v := from; v <= to; v += o.Step {
			if free(v) {
				numbers = append(numbers, v)
			}
		}
	}
	usual := min(low+1, high) // all off is what switches stand at that nobody set
	switch {
	case o.Start != nil:
		count(*o.Start, high)
	case first <= high:
		count(first, high)
		if len(numbers) < wanting {
			count(usual, first-1)
		}
	default:
		count(usual, high)
	}
	if len(numbers) < wanting {
		return nil, tooFew(set, o, wanting, len(numbers))
	}
	for i := range walk {
		d := &walk[i]
		if !d.Given {
			continue
		}
		d.Address, numbers = numbers[0], numbers[1:]
		d.Given = d.Was == nil || *d.Was != d.Address
	}
	return walk, nil
}

// tooFew says that the switches cannot hold so many devices, and what helps.
func tooFew(set model.Addresses, o Options, wanting, found int) error {
	low, high := set.Range()
	from := "left"
	if o.Start != nil {
		from = fmt.Sprintf("left from %d on", *o.Start)
	}
	if o.Step > 1 {
		from += fmt.Sprintf(" in steps of %d", o.Step)
	}
	var help []string
	if o.Start != nil && *o.Start > low {
		help = append(help, "start lower")
	}
	if o.Step > 1 {
		help = append(help, "take a smaller step")
	}
	if len(set.Reserved)+len(o.Reserved) > 0 {
		help = append(help, "reserve fewer")
	}
	if o.Start == nil {
		help = append(help, fmt.Sprintf("start at %d, where all switches are off", low))
	}
	help = append(help, "or state more switches (addresses.switches)")
	return fmt.Errorf("%d need an address and %s %s: %s can set %d to %d: %s", wanting, plural(found, "address is", "addresses are"), from,
		switches(set.Switches), low, high, strings.Join(help, ", "))
}

func switches(n int) string { return plural(n, "switch", "switches") }

func plural(n int, one, many string) string {
	if n == 1 {
		return strconv.Itoa(n) + " " + one
	}
	return strconv.Itoa(n) + " " + many
}

// Edit returns the step that writes the addresses that are given into the plan;
// ok is false where there is none to write.
func Edit(walk []Device) (e model.Edit, ok bool) {
	step := model.Together{}
	for _, d := range walk {
		if d.Given {
			step.Edits = append(step.Edits, model.Set{ID: d.Feature.ID, Values: []model.Value{{Property: "address", Value: d.Address}}})
		}
	}
	step.Name = "give " + plural(len(step.Edits), "address", "addresses")
	return step, len(step.Edits) > 0
}

// Switches returns the positions of the switches that set an address, from switch
// 1 on, true for on; ok is false for an address they cannot set.
func Switches(v int, set model.Addresses) (on []bool, ok bool) {
	if low, high := set.Range(); v < low || v > high {
		return nil, false
	}
	on = make([]bool, set.Switches)
	for i := range on {
		bit := set.Switches - 1 - i
		if set.Order == model.LowestFirst {
			bit = i
		}
		on[i] = (v-set.Base)>>bit&1 == 1
	}
	return on, true
}

// Digits writes switches from switch 1 on, 1 for on.
func Digits(on []bool) string {
	b := make([]byte, len(on))
	for i, up := range on {
		b[i] = '0'
		if up {
			b[i] = '1'
		}
	}
	return string(b)
}
