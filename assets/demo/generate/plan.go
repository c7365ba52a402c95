package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
)

// sensor is one device of the plan: where it stands, and the point its axis
// runs over (both in the site's frame).
type sensor struct {
	id, name, model string
	at, aim         pt
	height, tilt    float64
	antenna         float64 // metres; 0: at the sensor itself
	mount, zone     string
	note            string
}

// in is the usual distance of a post from the fence, metres.
const in = 2.6

// Curtains stand on posts of 3.3 m in chains: each looks past the next, so that
// its neighbour's thin pattern near the post lies in its own full width.
var sensors = []sensor{
	{id: "S1", name: "Main gate, west", model: "curtain-3-100", at: fenceInset(0, 97, in), aim: fenceInset(0, 0, in), zone: "South"},
	{id: "S2", name: "South-west bay", model: "curtain-3-100", at: fenceInset(0, 53, in), aim: fenceInset(0, 180, in), zone: "South"},
	{id: "S3", name: "Gatehouse corner", model: "curtain-3-100", at: fenceInset(0, 131, in), aim: fenceInset(0, 180, in), zone: "South"},
	{id: "S4", name: "South bend", model: "curtain-3-100", at: fenceInset(1, -10, in), aim: fenceInset(1, 100, in), zone: "South"},
	{id: "S5", name: "Stack fence", model: "curtain-3-100", at: fenceInset(1, 67, in), aim: fenceInset(1, 152, in), zone: "South"},
	{id: "S6", name: "South-east bend", model: "curtain-3-100", at: fenceInset(2, -9, in), aim: fenceInset(2, 78, in), zone: "South"},
	{id: "E1", name: "South-east corner", model: "sector-90-25", at: fenceInset(3, 1.5, 1.5), aim: fenceInset(3, 21.5, 19), zone: "East"},
	{id: "E2", name: "Rail gate fence", model: "curtain-3-100", at: fenceInset(3, 3, in), aim: fenceInset(3, 113, in), zone: "East"},
	{id: "N1", name: "Lagoon end", model: "curtain-3-100", at: fenceInset(5, 3, in), aim: fenceInset(5, 100, in), zone: "North"},
	{id: "N2", name: "Trailer park", model: "curtain-3-100", at: fenceInset(5, 80, in), aim: fenceInset(5, 125, in), zone: "North"},
	{id: "N3", name: "North bend", model: "curtain-3-100", at: fenceInset(6, -10, in), aim: fenceInset(6, 100, in), zone: "North"},
	{id: "N4", name: "Shed corner", model: "curtain-3-100", at: fenceInset(6, 68, in), aim: fenceInset(6, 105, in), zone: "North"},
	{id: "N5", name: "Goods shed corner", model: "sector-90-25", at: fenceInset(7, 89.8, 14), aim: fenceInset(7, 101, 0), zone: "North"},
	{id: "N6", name: "North-west corner", model: "sector-90-25", at: fenceInset(7, 129.4, 0.9), aim: fenceInset(7, 109.4, 20.9), zone: "West"},
	{id: "W1", name: "Beyond the pump house", model: "sector-90-25", at: fenceInset(8, 26, 0.9), aim: fenceInset(8, 6, 20.2), zone: "West"},
	{id: "W2", name: "West fence, north", model: "curtain-3-100", at: fenceInset(8, 131.5, in), aim: fenceInset(8, 50, in), zone: "West"},
	{id: "W3", name: "West fence, south", model: "curtain-3-100", at: fenceInset(8, 87.5, in), aim: fenceInset(8, 175, in), zone: "West"},
	{id: "GH1", name: "Gate approach", model: "sector-90-16", at: pt{-68.4, -88}, aim: pt{-58, -78}, mount: "wall bracket", zone: "Gate"},
	{id: "FS1", name: "Fuel store watch", model: "sector-90-25", at: pt{146, -31}, aim: pt{164, -48}, antenna: 5, note: "antenna on a 2 m extension of the post", zone: "Fuel store"},
	{id: "RS1", name: "Rail side", model: "fan-30-40", at: pt{174, 30}, aim: pt{198, 0}, antenna: 5, note: "antenna on a 2 m extension of the post", zone: "Rail gate"},
}

// views are what the camera presets show: from the gatehouse mast, the container
// stack's lamp post and the two corners of the yard.
var views = []struct {
	id, name, preset string
	ring
}{
	{"V1", "Gate camera", "1", ring{{-72, -94}, {-46, -99}, {-42, -68}, {-70, -70}}},
	{"V2", "Fuel camera", "2", ring{{140, -66}, {190, -66}, {184, -22}, {142, -25}}},
	{"V3", "East camera", "3", ring{{176, -74}, {208, -72}, {216, 46}, {166, 46}}},
	{"V4", "West camera", "4", ring{{-209, -112}, {-187, -113}, {-183, -92}, {-162, 50}, {-158, 86}, {-194, 84}}},
}

// outputs are what each zone switches, sends and shows at the receiver.
var outputs = []props{
	{"zone", "South", "type", "relay", "number", 1, "input", "alarm panel 1"},
	{"zone", "East", "type", "relay", "number", 2, "input", "alarm panel 2"},
	{"zone", "North", "type", "relay", "number", 3, "input", "alarm panel 3"},
	{"zone", "West", "type", "relay", "number", 4, "input", "alarm panel 4"},
	{"zone", "Gate", "type", "serial", "number", 17, "preset", 1},
	{"zone", "Fuel store", "type", "ip", "number", 501, "input", "recorder", "preset", 2},
	{"zone", "Rail gate", "type", "ip", "number", 502, "input", "recorder", "preset", 3},
	{"zone", "East", "type", "ip", "number", 503, "input", "recorder", "preset", 3},
	{"zone", "West", "type", "ip", "number", 504, "input", "recorder", "preset", 4},
}

// setting is the usual mount height in metres and tilt in degrees of a model.
var setting = map[string][2]float64{
	"curtain-3-100": {3.3, 2.2},
	"fan-30-40":     {3, 4.5},
	"sector-90-16":  {3, 6},
	"sector-90-25":  {3, 6},
}

// props keeps properties in the order they are written.
type props []any

func (p props) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i := 0; i < len(p); i += 2 {
		if i > 0 {
			b.WriteByte(',')
		}
		v, err := json.Marshal(p[i+1])
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&b, "%q:%s", p[i], v)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// lonLat writes a point of the site's frame as RFC 7946 wants it, to 1 mm.
func lonLat(q pt) []json.Number {
	g := place(q)
	lon, lat := siteGrid(lon0, lat0).inverse(g.x, g.y)
	return []json.Number{json.Number(fmt.Sprintf("%.8f", lon)), json.Number(fmt.Sprintf("%.8f", lat))}
}

func lonLats(ps []pt) (out [][]json.Number) {
	for _, q := range ps {
		out = append(out, lonLat(q))
	}
	return
}

func point(q pt) props   { return props{"type", "Point", "coordinates", lonLat(q)} }
func chain(l line) props { return props{"type", "LineString", "coordinates", lonLats(l)} }
func area(r ring) props {
	return props{"type", "Polygon", "coordinates", [][][]json.Number{lonLats(append(append(ring{}, r...), r[0]))}}
}

// round1 rounds to one decimal.
func round1(x float64) float64 { return math.Round(x*10) / 10 }

// plan returns the plan file.
func plan() []byte {
	var b bytes.Buffer
	put := func(v any) {
		j, err := json.Marshal(v)
		if err != nil {
			panic(err)
		}
		b.Write(j)
	}
	b.WriteString("{\"type\":\"FeatureCollection\",\n\"pleach\":")
	put(props{
		"version", 1,
		"title", "Tallowfold Goods Yard: perimeter detection",
		"reference", "TGY-PD-01",
		"customer", "Tallowfold Goods Yard, Wendmarch (invented)",
		"designer", "H. Averdell (invented)",
		"revision", "B",
		"date", "2026-10-12",
		"base_map", props{"file", "aerial.jpg", "crs", crs},
		"response", props{"time_s", 150, "task_s", 60},
		"quotation", props{"reference", "TGY-Q-118", "valid_until", "2027-01-31"},
		"visit", props{"hours", "Monday to Saturday, 6 to 20; nothing on the rail side while wagons are shunted", "keys", "gatehouse, signed for at the main gate",
			"parking", "beside the workshop, clear of the yard road", "hospital", "Wendmarch General, 14 Quarry Road, Wendmarch (invented)"},
		"contacts", []props{
			{"role", "On site", "name", "P. Quillby, yard foreman (invented)", "phone", "01632 960111"},
			{"role", "Receiving centre", "name", "Oddlestone Watch (invented)", "phone", "01632 960112", "note", "ring before the system is set or unset for work"},
			{"role", "Rail side", "name", "M. Sorrel, shunting (invented)", "phone", "01632 960113"}},
		"duties", []props{
			{"what", "Keep trailers 3 m off the north fence", "from", "2026-11-16"},
			{"what", "Have the lane hedge cut to 2 m, and again every March and August", "from", "2026-11-30"}},
		"revisions", []props{
			{"revision", "A", "date", "2026-09-21", "by", "H. Averdell", "what", "First issue"},
			{"revision", "B", "date", "2026-10-12", "by", "H. Averdell", "what", "Sensor FS1 added at the fuel store; antennas of FS1 and RS1 raised to 5 m"}},
	})
	b.WriteString(",\n\"features\":[")
	first := true
	add := func(id string, geometry props, properties ...any) {
		if !first {
			b.WriteByte(',')
		}
		first = false
		b.WriteByte('\n')
		put(props{"type", "Feature", "id", id, "properties", props(properties), "geometry", geometry})
	}

	add("B1", area(fence), "kind", "boundary", "name", "Yard fence", "height_m", 2.4)
	add("X1", chain(excluded), "kind", "excluded", "reason", "fire-water lagoon against the fence, steep sides, 2.5 m deep")
	add("PR1", area(premises), "kind", "premises")
	add("G1", chain(mainGate), "kind", "gate", "name", "Main gate", "width_m", 11.6)
	add("G2", chain(railGate), "kind", "gate", "name", "Rail gate", "width_m", 6)
	add("A1", area(fuelStore), "kind", "asset", "name", "Fuel store")
	add("R1", chain(cut(lane, -470, 470)), "kind", "road", "name", "Tallowfold Lane", "width_m", laneW)
	add("R2", chain(yardRoad[1:]), "kind", "road", "name", "Yard road", "width_m", yardW, "private", true)
	add("R3", chain(yardRoad[:2]), "kind", "road", "name", "Entrance", "width_m", yardW, "private", true)
	add("FP1", chain(cut(footway, -420, -137)), "kind", "footpath", "name", "Footpath to Oddlestone", "width_m", footW)
	add("NB1", area(neighbour), "kind", "neighbour", "name", "Nethertallow Farm")
	for _, h := range buildings {
		add(h.id, area(h.ring()), "kind", "building", "name", h.name, "height_m", h.height, "material", h.material)
	}
	add("F1", area(wood), "kind", "foliage", "name", "Oddlestone Wood", "height_m", 16, "density", "dense")
	add("F2", area(strip(laneHedge, hedgeW)), "kind", "foliage", "name", "Lane hedge", "height_m", 2.4, "density", "medium")
	add("O1", chain(yardWall), "kind", "obstacle", "name", "Yard wall", "height_m", wallH, "impassable", true)
	add("O2", chain(fuelFence), "kind", "obstacle", "name", "Mesh fence of the fuel store", "height_m", 2.4, "see_through", true, "delay_s", 60)
	add("O3", area(stacks.ring()), "kind", "obstacle", "name", "Container stack", "height_m", stacksH, "impassable", true)
	add("O4", area(pond), "kind", "obstacle", "name", "Fire-water lagoon", "height_m", 0, "see_through", true, "impassable", true)
	add("Z1", chain(powerLine[1:7]), "kind", "hazard", "what", "overhead line", "name", "11 kV overhead line")
	for _, v := range views {
		add(v.id, area(v.ring), "kind", "view", "name", v.name, "preset", v.preset)
	}
	for i, s := range sensors {
		d := place(s.aim).sub(place(s.at))
		bearing := math.Mod(math.Atan2(d.x, d.y)*180/math.Pi+360, 360)
		if s.height == 0 {
			s.height, s.tilt = setting[s.model][0], setting[s.model][1]
		}
		if s.mount == "" {
			s.mount = "post"
		}
		q := []any{"kind", "sensor", "name", s.name, "model", s.model, "mount_height_m", s.height, "bearing_deg", round1(bearing), "tilt_deg", s.tilt,
			"address", 101 + i, "zone", s.zone, "mount", s.mount}
		if s.antenna > 0 {
			q = append(q, "antenna_height_m", s.antenna)
		}
		if s.note != "" {
			q = append(q, "note", s.note)
		}
		add(s.id, point(s.at), q...)
	}
	add("RP1", point(roofRepeat), "kind", "repeater", "name", "Repeater, goods shed roof", "antenna_height_m", repeaterH, "address", 201,
		"supply", props{"capacity_mah", 38000, "cell_v", 3.6, "sleep_ua", 400, "message_mj", 60, "supervision_s", 3600, "self_discharge_per_year", 0.02})
	add("RX", point(gatehouse), "kind", "receiver", "name", "Receiver, gatehouse mast", "antenna_height_m", mastH, "outputs", outputs)
	b.WriteString("\n]}\n")
	return b.Bytes()
}

// cut keeps the part of a line whose first coordinate (or, for a line that runs
// across the site's frame, second) lies between lo and hi.
func cut(l line, lo, hi float64) (out line) {
	key := func(q pt) float64 { return q.x }
	if math.Abs(l[0].x-l[len(l)-1].x) < math.Abs(l[0].y-l[len(l)-1].y) {
		key = func(q pt) float64 { return q.y }
	}
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		t0, t1 := (lo-key(a))/(key(b)-key(a)), (hi-key(a))/(key(b)-key(a))
		t0, t1 = clamp(math.Min(t0, t1), 0, 1), clamp(math.Max(t0, t1), 0, 1)
		if t1 <= t0 {
			continue
		}
		e := b.sub(a)
		if len(out) == 0 {
			out = append(out, a.add(e.mul(t0)))
		}
		out = append(out, a.add(e.mul(t1)))
	}
	return out
}

// strip returns a line as a ring of the given width, with mitred corners.
func strip(l line, width float64) ring {
	var left, right ring
	for i, q := range l {
		a, b := l[max(i-1, 0)], l[min(i+1, len(l)-1)]
		n := b.sub(a).unit().left().mul(width / 2)
		left = append(ring{q.add(n)}, left...)
		right = append(right, q.sub(n))
	}
	return append(right, left...)
}
