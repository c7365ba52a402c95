package report

import (
	"strings"

	"pleach/model"
	"pleach/model/radio"
)

// settings writes every setting in force, laid out as in a plan, and what holds
// where a feature states nothing. Member "chosen" lists the paths of figures
// that are judgement and not a standard, "stated" those the plan itself states.
func (j *jsonReport) settings() {
	p := j.r.Plan
	s := p.Settings
	values := SettingValues(s)
	j.open('{')
	group := ""
	for _, row := range model.SettingsTable {
		head, tail, nested := strings.Cut(row.Path, ".")
		if !nested {
			head, tail = "", row.Path
		}
		if head != group {
			if group == "radio" {
				j.radioSettings(s)
			}
			if group != "" {
				j.close('}')
			}
			if head != "" {
				j.line()
				j.key(head)
				j.open('{')
			}
			group = head
		}
		j.key(tail)
		j.value(values[row.Path])
	}
	if group != "" {
		j.close('}')
	}
	j.line()
	j.key("postures")
	j.open('[')
	for _, q := range s.Postures {
		j.open('{')
		j.keyText("name", q.Name)
		j.keyNumber("height_m", q.Height)
		j.keyNumber("min_visible", q.MinVisible)
		j.close('}')
	}
	j.close(']')
	j.line()
	j.files(s)
	j.key("models")
	j.open('[')
	for _, m := range p.Models() {
		j.line()
		j.raw(m.JSON())
	}
	j.close(']')
	j.line()
	j.key("accepted")
	j.open('[')
	for _, a := range s.Accepted {
		j.accepted(a)
	}
	j.close(']')
	j.line()
	j.defaults()
	var chosen, stated []string
	sort := func(path string, judgement bool) {
		switch {
		case p.Stated(path):
			stated = append(stated, path)
		case judgement:
			chosen = append(chosen, path)
		}
	}
	for _, row := range model.SettingsTable {
		sort(row.Path, row.Chosen)
	}
	sort("postures", true)
	j.line()
	j.key("chosen")
	j.texts(chosen)
	j.key("stated")
	j.texts(stated)
	j.close('}')
}

// radioSettings writes what of the radio's settings is no single figure.
func (j *jsonReport) radioSettings(s model.Settings) {
	j.key("rules")
	if s.Rules == nil {
		j.null()
	} else {
		j.text(s.Rules.ID)
	}
	c := s.Calibration
	j.key("calibration")
	j.open('{')
	j.key("use")
	j.flag(c.Use)
	j.key("saturated_dbm")
	j.maybe(c.Saturated)
	j.key("limit_db")
	j.maybe(c.Limit)
	j.key("least")
	if c.Least == 0 {
		j.null()
	} else {
		j.integer(c.Least)
	}
	j.close('}')
}

// value writes a setting's value: text, a number, a whole number or null.
func (j *jsonReport) value(v any) {
	switch v := v.(type) {
	case string:
		j.text(v)
	case int:
		j.integer(v)
	case float64:
		j.number(v)
	case *float64:
		j.maybe(v)
	}
}

// SettingValues returns the settings of model.SettingsTable by path: a string, an
// int, a float64 or a *float64, nil where it was not stated.
func SettingValues(s model.Settings) map[string]any {
	return map[string]any{
		"title": s.Title, "reference": s.Reference, "customer": s.Customer, "designer": s.Designer, "revision": s.Revision, "date": s.Date, "time_zone": s.TimeZone,
		"target.height_m": s.Target.Height, "target.min_visible": s.Target.MinVisible,
		"crossing.depth_m": s.CrossingDepth, "crossing.min_path_m": s.MinPath,
		"overspill.min_visible": s.OverspillMinVisible, "overspill.vehicle_height_m": s.VehicleHeight, "overspill.vehicle_range_factor": s.VehicleRangeFactor,
		"radio.frequency_mhz": s.Frequency, "radio.polarisation": s.Polarisation, "radio.effective_radius_km": s.EffectiveRadius,
		"radio.shadowing_sd_db": s.ShadowingSD, "radio.reliability": s.Reliability, "radio.required_margin_db": s.RequiredMargin, "radio.max_hops": s.MaxHops,
		"radio.message_s": s.Traffic.Message, "radio.copies": s.Traffic.Copies, "radio.bandwidth_khz": s.Traffic.Bandwidth,
		"radio.storm_alarms": s.Traffic.StormAlarms, "radio.storm_s": s.Traffic.StormWindow,
		"addresses.switches": s.Addresses.Switches, "addresses.order": s.Addresses.Order, "addresses.base": s.Addresses.Base, "addresses.reserved": s.Addresses.ReservedText(),
		"spares.share": s.Spares.Share, "spares.least": s.Spares.Least, "batteries.usable": s.Batteries.Usable, "batteries.most_years": s.Batteries.MostYears,
		"north.declination_deg": s.Declination, "north.on": s.DeclinationOn, "national_grid.crs": s.NationalGrid,
		"way_in.probability": s.WayIn.Probability, "way_in.width_m": s.WayIn.Width,
		"response.time_s": s.Response.Time, "response.sd_share": s.Response.SDShare, "response.communication": s.Response.Communication,
		"response.speed_m_s": s.Response.Speed, "response.task_s": s.Response.Task,
		"quotation.reference": s.Quotation.Reference, "quotation.valid_until": s.Quotation.ValidUntil,
		"visit.hours": s.Visit.Hours, "visit.keys": s.Visit.Keys, "visit.parking": s.Visit.Parking, "visit.hospital": s.Visit.Hospital,
	}
}

// files writes the base map and the terrain, null for none.
func (j *jsonReport) files(s model.Settings) {
	j.key("base_map")
	if m := s.BaseMap; m == nil {
		j.null()
	} else {
		j.open('{')
		j.keyText("file", m.File)
		j.keyText("crs", m.CRS)
		j.key("control")
		j.open('[')
		for _, c := range m.Control {
			j.open('{')
			j.key("pixel")
			j.open('[')
			j.number(c.Pixel[0])
			j.number(c.Pixel[1])
			j.close(']')
			j.key("at")
			j.lonLat(c.At)
			j.close('}')
		}
		j.close(']')
		j.close('}')
	}
	j.key("terrain")
	if t := s.Terrain; t == nil {
		j.null()
	} else {
		j.open('{')
		j.keyText("file", t.File)
		j.keyText("crs", t.CRS)
		j.keyText("unit", t.Unit)
		j.close('}')
	}
	j.line()
}

// defaults writes what holds where a feature states nothing, by kind.
func (j *jsonReport) defaults() {
	j.key("defaults")
	j.open('{')
	for _, k := range model.Catalogue {
		any := false
		for _, p := range k.Properties {
			if p.Default == nil {
				continue
			}
			if !any {
				j.key(string(k.Kind))
				j.open('{')
				any = true
			}
			j.key(p.Name)
			switch v := p.Default.(type) {
			case float64:
				j.number(v)
			case bool:
				j.flag(v)
			case string:
				j.text(v)
			}
		}
		if any {
			j.close('}')
		}
	}
	j.key("radio")
	j.open('{')
	for _, k := range []model.Kind{model.KindSensor, model.KindRepeater, model.KindReceiver} {
		d := model.RadioDefaults(k)
		j.key(string(k))
		j.open('{')
		j.keyNumber("erp_dbm", d.ERP)
		j.keyNumber("sensitivity_dbm", d.Sensitivity)
		j.keyNumber("antenna_gain_dbi", d.AntennaGain)
		j.keyNumber("feeder_loss_db", d.FeederLoss)
		j.keyNumber("installation_loss_db", d.Installation)
		j.close('}')
	}
	j.close('}')
	j.key("shadowing_sd_db")
	j.open('{')
	j.keyNumber("open", radio.OpenSDDB)
	j.keyNumber("obstructed", radio.ObstructedSDDB)
	j.close('}')
	j.key("required_margin_db")
	j.open('{')
	for _, row := range []struct {
		name       string
		obstructed bool
	}{{"open", false}, {"obstructed", true}} {
		s := j.r.Plan.Settings
		sd := radio.ShadowingSD(s.ShadowingSD, row.obstructed)
		j.keyNumber(row.name, radio.RequiredMargin(s.RequiredMargin, sd, s.Reliability))
	}
	j.close('}')
	j.key("import")
	j.open('{')
	j.keyNumber("building_height_m", model.AssumedBuilding)
	j.keyNumber("storey_height_m", model.AssumedStorey)
	j.keyNumber("foliage_height_m", model.AssumedFoliage)
	j.close('}')
	j.close('}')
}
