package order

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/analysis"
)

// Kinds of lines, in the order of the bill.
const (
	Sensor   = "sensor"
	Repeater = "repeater"
	Receiver = "receiver"
	Cell     = "battery"
	Mask     = "mask"
	Post     = "post"
	Mount    = "mount"
	Output   = "output"
)

var kinds = []string{Sensor, Repeater, Receiver, Cell, Mask, Post, Mount, Output}

// Line is one item of the bill.
type Line struct {
	Code    string // by which a table of prices knows it: "curtain-4-63", "post-3.5"
	Item    string // in words
	Kind    string
	Model   string // of a sensor, else ""
	Fitted  int    // how many stand in the plan
	Spares  int
	Devices []string // ids of what they are for, each once, in file order
}

// Quantity is how many have to be bought.
func (l *Line) Quantity() int { return l.Fitted + l.Spares }

// Devices this close share a post, and one this close to a wall hangs on it,
// metres. Chosen.
const (
	samePost = 0.5
	onWall   = 0.5
)

// postStep is the step in which posts are ordered, metres above the ground. Chosen.
const postStep = 0.5

// Bill counts what the plan needs: devices by kind and model, their batteries,
// masks, posts and wall mounts, and the outputs to be wired. Of sensors,
// repeaters, receivers and batteries spares are added: a share of their number,
// rounded up, and at least a fixed number.
func Bill(r *analysis.Result) []Line {
	b := &bill{spares: r.Plan.Settings.Spares}
	for _, f := range r.Plan.Of(model.KindSensor) {
		v := f.Value.(*model.Sensor)
		item := v.Model
		if m, ok := r.Plan.Model(v.Model); ok {
			if m.Name != "" {
				item = m.Name
			}
		}
		b.add(Line{Code: v.Model, Item: item, Kind: Sensor, Model: v.Model}, f.ID, 1)
		if v.Masked != nil {
			b.add(Line{Code: "mask", Item: "Mask, cut to its sector", Kind: Mask}, f.ID, len(v.Masked))
		}
	}
	for _, f := range r.Plan.Of(model.KindRepeater) {
		b.add(Line{Code: "repeater", Item: "Repeater", Kind: Repeater}, f.ID, 1)
	}
	for _, f := range r.Plan.Of(model.KindReceiver) {
		b.add(Line{Code: "receiver", Item: "Receiver", Kind: Receiver}, f.ID, 1)
		for _, o := range f.Value.(*model.Receiver).Outputs {
			word := model.WiredOutput{Output: o}.TypeWord()
			if word == "" {
				word = "output of no stated type"
			}
			b.add(Line{Code: strings.TrimSuffix("output-"+o.Type, "-"), Item: "To be wired: " + word, Kind: Output}, f.ID, 1)
		}
	}
	for _, f := range r.Plan.Of(model.KindSensor, model.KindRepeater) {
		if name, code := Battery(SupplyOf(r.Plan, f)); code != "" {
			b.add(Line{Code: code, Item: name, Kind: Cell}, f.ID, 1)
		}
	}
	b.fixings(r)
	for i := range b.lines {
		l := &b.lines[i]
		slices.SortStableFunc(l.Devices, func(x, y string) int { return cmp.Compare(b.place(r, x), b.place(r, y)) })
		switch l.Kind {
		case Sensor, Repeater, Receiver, Cell:
			l.Spares = max(b.spares.Least, int(math.Ceil(b.spares.Share*float64(l.Fitted)-1e-9)))
		}
	}
	slices.SortStableFunc(b.lines, func(x, y Line) int {
		return cmp.Compare(slices.Index(kinds, x.Kind), slices.Index(kinds, y.Kind))
	})
	return b.lines
}

// Battery returns what the battery of a supply is called, and its code: both ""
// where the supply does not state one.
func Battery(s *model.Supply) (name, code string) {
	if s == nil || s.Capacity == nil || s.Cell == nil {
		return "", ""
	}
	capacity, cell := strconv.FormatFloat(*s.Capacity, 'f', -1, 64), strconv.FormatFloat(*s.Cell, 'f', -1, 64)
	return fmt.Sprintf("Battery, %s V, %s mAh", cell, capacity), fmt.Sprintf("battery-%sv-%smah", cell, capacity)
}

type bill struct {
	spares model.Spares
	lines  []Line
	order  map[string]int
}

// place is where a device stands in the plan file.
func (b *bill) place(r *analysis.Result, id string) int {
	if b.order == nil {
		b.order = map[string]int{}
		for i, f := range r.Plan.Features {
			b.order[f.ID] = i
		}
	}
	return b.order[id]
}

// add counts n more of an item, for the device id, which is named even where it
// needs none of its own.
func (b *bill) add(l Line, id string, n int) {
	i := slices.IndexFunc(b.lines, func(o Line) bool { return o.Kind == l.Kind && o.Code == l.Code && o.Item == l.Item })
	if i < 0 {
		i = len(b.lines)
		b.lines = append(b.lines, l)
	}
	o := &b.lines[i]
	o.Fitted += n
	if !slices.Contains(o.Devices, id) {
		o.Devices = append(o.Devices, id)
	}
}

// fixings adds what the devices hang on: a wall mount each for those on a
// building or obstacle, posts for the others, one for all that stand together.
func (b *bill) fixings(r *analysis.Result) {
	fixed := map[string]bool{}
	for i := range r.Sensors {
		fixed[r.Sensors[i].ID] = r.Sensors[i].Fixed != ""
	}
	type post struct {
		at      orb.Point
		high    float64
		devices []string
	}
	var posts []*post
	for _, d := range r.Scene.Devices {
		high := 0.0
		wall := false
		switch v := d.Feature.Value.(type) {
		case *model.Sensor:
			high, wall = math.Max(v.MountHeight, v.Antenna), fixed[d.Feature.ID]
		case *model.Repeater:
			high = v.Antenna
			wall = walled(r, d.At, high)
		case *model.Receiver:
			high = v.Antenna
			wall = walled(r, d.At, high)
		}
		if wall {
			b.add(Line{Code: "wall-mount", Item: "Wall mount", Kind: Mount}, d.Feature.ID, 1)
			continue
		}
		i := slices.IndexFunc(posts, func(p *post) bool { return planar.Distance(p.at, d.At) <= samePost })
		if i < 0 {
			i = len(posts)
			posts = append(posts, &post{at: d.At})
		}
		posts[i].high = math.Max(posts[i].high, high)
		posts[i].devices = append(posts[i].devices, d.Feature.ID)
	}
	for _, p := range posts {
		p.high = math.Ceil(p.high/postStep-1e-9) * postStep
	}
	slices.SortStableFunc(posts, func(x, y *post) int { return cmp.Compare(x.high, y.high) })
	for _, p := range posts {
		l := Line{Code: fmt.Sprintf("post-%.1f", p.high), Item: fmt.Sprintf("Post, %.1f m above the ground", p.high), Kind: Post}
		for i, id := range p.devices {
			n := 0
			if i == 0 {
				n = 1
			}
			b.add(l, id, n)
		}
	}
}

// walled reports whether a building stands where an antenna is, or close by, and
// reaches up to it or holds it on its roof.
func walled(r *analysis.Result, at orb.Point, high float64) bool {
	for i := range r.Scene.Buildings {
		s := r.Scene.Buildings[i]
		if !s.Bound.Pad(onWall).Contains(at) {
			continue
		}
		if planar.PolygonContains(s.Shape, at) || s.Top >= r.Scene.Ground(at)+high && planar.DistanceFrom(s.Shape, at) <= onWall {
			return true
		}
	}
	return false
}
