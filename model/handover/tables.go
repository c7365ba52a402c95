package handover

import (
	"cmp"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"pleach/model"
	"pleach/model/address"
	"pleach/model/analysis"
	"pleach/model/layer"
	"pleach/model/order"
)

// Tables returns the schedules of a plan: sensors, addresses, zones and their
// outputs, links, gaps by chainage, the bill of materials, batteries, what was read
// on site, and what plan they are of.
func Tables(r *analysis.Result) []layer.Table {
	h := &hand{r: r}
	return []layer.Table{h.sensorTable(), h.addressTable(), h.zoneTable(), h.linkTable(), h.gapTable(), h.billTable(), h.batteryTable(), h.readingTable(), h.planTable()}
}

// columns is a list of columns as heading and decimals by turns.
func columns(pairs ...any) (out []layer.Column) {
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, layer.Column{Head: pairs[i].(string), Decimals: pairs[i+1].(int)})
	}
	return out
}

func (h *hand) sensorTable() layer.Table {
	t := layer.Table{Name: "sensors", Title: "Sensors", Columns: columns("Id", 0, "Name", 0, "Model", 0, "Zone", 0, "Address", 0, "Mount", 0, "Mount height m", 2,
		"Bearing true °", 1, "Bearing magnetic °", 1, "Tilt °", 1, "Antenna height m", 2, "Longitude °", 7, "Latitude °", 7, "East m", 2, "North m", 2, "Ground m", 2,
		"Fixed to", 0, "Pattern m²", 0, "Near m", 1, "Far m", 1, "Route", 0, "Margin dB", 0, "Note", 0)}
	sensors := h.sensors()
	for _, d := range h.r.Scene.Devices {
		v, ok := d.Feature.Value.(*model.Sensor)
		if !ok {
			continue
		}
		var ground, magnetic any
		if h.r.Scene.Terrain != nil {
			ground = h.r.Scene.Ground(d.At)
		}
		if h.r.Plan.Stated("north.declination_deg") {
			magnetic = turn(v.Bearing - h.r.Plan.Settings.Declination)
		}
		row := []any{d.Feature.ID, text(d.Feature.Name), v.Model, text(v.Zone), whole(v.Address), text(v.Mount), v.MountHeight, v.Bearing, magnetic, v.Tilt, v.Antenna,
			d.Feature.Geometry.Bound().Min[0], d.Feature.Geometry.Bound().Min[1], d.At[0], d.At[1], ground, nil, nil, nil, nil, nil, nil, text(v.Note)}
		if s := sensors[d.Feature.ID]; s != nil {
			copy(row[16:], []any{text(s.Fixed), s.Area, figure(s.Near), figure(s.Far), route(s.Route), figure(s.Margin)})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// turn brings a bearing into [0, 360).
func turn(v float64) float64 {
	for v < 0 {
		v += 360
	}
	for v >= 360 {
		v -= 360
	}
	return v
}

func (h *hand) addressTable() layer.Table {
	t := layer.Table{Name: "addresses", Title: "Addresses", Columns: columns("Address", 0, "Switches on", 0, "Device", 0, "Kind", 0, "Name", 0, "Zone", 0)}
	setting := func(a *int) any {
		if a == nil {
			return nil
		}
		on, ok := address.Switches(*a, h.r.Plan.Settings.Addresses)
		if !ok {
			return "beyond the switches"
		}
		var up []string
		for i, yes := range on {
			if yes {
				up = append(up, strconv.Itoa(i+1))
			}
		}
		if up == nil {
			return "none"
		}
		return strings.Join(up, ", ")
	}
	for _, d := range h.r.Scene.Devices {
		switch v := d.Feature.Value.(type) {
		case *model.Sensor:
			t.Rows = append(t.Rows, []any{whole(v.Address), setting(v.Address), d.Feature.ID, "sensor", text(d.Feature.Name), text(v.Zone)})
		case *model.Repeater:
			t.Rows = append(t.Rows, []any{whole(v.Address), setting(v.Address), d.Feature.ID, "repeater", text(d.Feature.Name), nil})
		}
	}
	// In order of the address; devices without one stand last.
	slices.SortStableFunc(t.Rows, func(a, b []any) int {
		x, hasX := a[0].(int)
		y, hasY := b[0].(int)
		switch {
		case hasX && hasY:
			return cmp.Compare(x, y)
		case hasX:
			return -1
		case hasY:
			return 1
		}
		return 0
	})
	return t
}

func (h *hand) zoneTable() layer.Table {
	t := layer.Table{Name: "zones", Title: "Zones and outputs", Columns: columns("Zone", 0, "Sensors", 0, "Receiver", 0, "Output", 0, "Number", 0, "Input", 0, "Camera preset", 0, "Remark", 0)}
	w := h.r.Plan.Wiring()
	row := func(zone, sensors any, o model.WiredOutput, remark any) {
		t.Rows = append(t.Rows, []any{zone, sensors, text(o.Receiver), text(o.TypeWord()), text(o.Number), text(o.Input), text(o.Preset), remark})
	}
	slices.SortStableFunc(w.Zones, func(a, b model.WiredZone) int { return cmp.Compare(a.Name, b.Name) })
	for _, z := range w.Zones {
		sensors := text(strings.Join(z.Sensors, ", "))
		for _, i := range z.Outputs {
			o := w.Outputs[i]
			var remark []string
			if sensors == nil {
				remark = append(remark, "no sensor is in this zone")
			}
			if o.Rivals != nil {
				remark = append(remark, "zone "+strings.Join(o.Rivals, ", ")+" leads to it too")
			}
			row(z.Name, sensors, o, text(strings.Join(remark, "; ")))
		}
		if z.Outputs == nil {
			row(z.Name, sensors, model.WiredOutput{}, "no output for this zone")
		}
	}
	for _, o := range w.Outputs {
		if o.Zone == "" {
			row(nil, nil, o, "no zone leads to it")
		}
	}
	if w.Loose != nil {
		row(nil, strings.Join(w.Loose, ", "), model.WiredOutput{}, "in no zone")
	}
	return t
}

func (h *hand) linkTable() layer.Table {
	t := layer.Table{Name: "links", Title: "Radio links", Columns: columns("From", 0, "To", 0, "In use", 0, "Distance m", 1, "Free space dB", 1, "Diffraction dB", 1,
		"Vegetation dB", 1, "Building dB", 1, "Path loss dB", 1, "Installation dB", 1, "Clearance", 2, "Received dBm", 0, "Margin dB", 0, "Required dB", 0, "Holds", 0, "Probability", 2, "Received there dBm", 0, "Margin there dB", 0, "Received back dBm", 0, "Margin back dB", 0)}
	for _, k := range h.r.Links {
		t.Rows = append(t.Rows, []any{k.From, k.To, k.InUse, k.Distance, k.FreeSpace, k.Diffraction, k.Vegetation, k.Building, k.Loss, k.Installation, k.Clearance,
			k.Received, k.Margin, k.Required, k.Holds(), k.Probability, nil, nil, nil, nil})
		row := t.Rows[len(t.Rows)-1]
		for i, d := range []analysis.Direction{k.There, k.Back} {
			if d.Rated {
				row[16+2*i], row[17+2*i] = d.Received, d.Margin
			}
		}
	}
	return t
}

func (h *hand) gapTable() layer.Table {
	t := layer.Table{Name: "gaps", Title: "Gaps by chainage", Columns: columns("Boundary", 0, "Name", 0, "Posture", 0, "Gap", 0, "From m", 2, "To m", 2, "Length m", 2,
		"Cause", 0, "By", 0, "Longitude °", 7, "Latitude °", 7, "Accepted by", 0, "Reason", 0)}
	for _, b := range h.r.Boundaries {
		add := func(c analysis.Coverage, posture, shown string) {
			for n, g := range c.Gaps {
				at := h.r.Scene.Grid.ToLonLat(g.Middle)
				row := []any{b.ID, h.title(b.ID), shown, n + 1, g.From, g.To, g.Length, string(g.Cause), text(strings.Join(g.By, ", ")), at[0], at[1], nil, nil}
				if a := h.accepted(b.ID, posture, g); a != nil {
					row[11], row[12] = text(a.By), text(a.Reason)
				}
				t.Rows = append(t.Rows, row)
			}
		}
		add(b.Target, "", "target")
		for _, c := range b.Postures {
			add(c, c.Name, c.Name)
		}
	}
	return t
}

// billTable lists what has to be bought, from the plan alone: no prices.
func (h *hand) billTable() layer.Table {
	t := layer.Table{Name: "bill", Title: "Bill of materials", Columns: columns("Code", 0, "Item", 0, "Kind", 0, "Model", 0, "In the plan", 0, "Spares", 0, "Quantity", 0, "Devices", 0)}
	for _, l := range order.Bill(h.r) {
		t.Rows = append(t.Rows, []any{l.Code, l.Item, l.Kind, text(l.Model), l.Fitted, l.Spares, l.Quantity(), strings.Join(l.Devices, ", ")})
	}
	return t
}

// batteryTable says when each battery has to be changed.
func (h *hand) batteryTable() layer.Table {
	t := layer.Table{Name: "batteries", Title: "Batteries", Columns: columns("Device", 0, "Name", 0, "Kind", 0, "Battery", 0, "Messages a day", 0, "Tries", 1, "Mean current µA", 0,
		"Life years", 1, "Counted from", 0, "Change by", 0, "Remark", 0)}
	day := func(d time.Time) any {
		if d.IsZero() {
			return nil
		}
		return d.Format(time.DateOnly)
	}
	for _, b := range order.Batteries(h.r) {
		row := []any{b.Device, h.title(b.Device), string(b.Kind), text(b.Battery), b.Messages, b.Tries, nil, nil, day(b.Since), day(b.Change), text(b.Remark())}
		if b.Known() {
			row[6], row[7] = b.Current, b.Life
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// readingTable lists what was read on site; levels beside those predicted, where the
// result holds them against each other.
func (h *hand) readingTable() layer.Table {
	t := layer.Table{Name: "readings", Title: "Readings on site", Columns: columns("Id", 0, "What", 0, "Of", 0, "Value", 1, "Unit", 0, "At", 0, "By", 0, "Class of link", 0,
		"Predicted dBm", 0, "Difference dB", 0, "Set aside", 0)}
	of, why := h.r.Calibration.ByReading()
	for _, f := range h.r.Plan.Of(model.KindReading) {
		m := f.Value.(*model.Reading)
		var value any
		if v, ok := f.Number("value"); ok {
			value = v
		} else if raw, ok := f.Property("value"); ok {
			s := string(raw)
			_ = json.Unmarshal(raw, &s) // what is no text stands as it is written
			value = text(s)
		}
		row := []any{f.ID, text(m.What), text(strings.Join(m.Of, ", ")), value, text(m.Unit), text(m.At), text(m.By), nil, nil, nil, text(why[f.ID])}
		if r, ok := of[f.ID]; ok {
			row[7], row[8], row[9] = text(r.Class), r.PredictedDBm, r.Error()
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (h *hand) planTable() layer.Table {
	s := h.r.Plan.Settings
	grid := h.r.Scene.Grid
	return layer.Table{Name: "plan", Title: "Plan", Columns: columns("What", 0, "Value", 7), Rows: [][]any{
		{"Title", text(s.Title)}, {"Reference", text(s.Reference)}, {"Customer", text(s.Customer)}, {"Designer", text(s.Designer)},
		{"Revision", text(s.Revision)}, {"Date", text(s.Date)},
		{"Origin of the site grid, longitude °", grid.Lon0}, {"Origin of the site grid, latitude °", grid.Lat0},
		{"Caution", "Predicted, for planning: the system is proved by walk test and signal readings on site."},
	}}
}
