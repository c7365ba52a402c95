package paper

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pleach/model"
	"pleach/model/order"
)

const billName = "bill"

var billColumns = []column{
	{head: "Item", give: 2},
	{head: "Code", give: 1},
	{head: "In the plan", right: true},
	{head: "Spares", right: true},
	{head: "To order", right: true},
	{head: "For", give: 3},
}

var batteryColumns = []column{
	{head: "Device"},
	{head: "Name", give: 1},
	{head: "Battery", give: 1},
	{head: "Messages", unit: "a day", right: true},
	{head: "Tries", right: true},
	{head: "Current", unit: "µA", right: true},
	{head: "Life", unit: "years", right: true},
	{head: "Counted from", give: 1},
	{head: "Change by"},
	{head: "Remark", give: 2},
}

// billSheets list what has to be bought, priced where prices were given, and when
// each battery is to be changed.
func (s *sheet) billSheets(title string) ([]leaf, error) {
	f := s.flow(title, true)
	if s.in.Result == nil {
		return f.leaves, nil
	}
	bill, set := order.Bill(s.in.Result), s.in.Plan.Settings
	about := []string{fmt.Sprintf("From the plan alone. Of devices and batteries %s%% more are ordered as spares, rounded up, and at least %d of each: common practice, no published source.",
		figure(100*set.Spares.Share, 1), set.Spares.Least),
		"Not counted: cable, supply of the receiver, the video equipment, foundations, fixings, tools, work."}
	columns := billColumns
	var rows []row
	if s.in.Prices == nil {
		for _, l := range bill {
			rows = append(rows, row{cells: billCells(l)})
		}
	} else {
		lines, total, without, _ := s.in.Prices.Price(bill)
		currency := s.in.Prices.Currency
		columns = append(slices.Clone(billColumns), column{head: "Each", unit: currency, right: true}, column{head: "Sum", unit: currency, right: true})
		for _, l := range lines {
			each, sum := none, none
			if l.Has {
				each, sum = order.Money(l.Each), order.Money(l.Sum)
			}
			rows = append(rows, row{cells: append(billCells(l.Line), each, sum)})
		}
		what := "Total"
		if without != nil {
			what = "Total of what has a price"
		}
		rows = append(rows, row{cells: []string{what, "", "", "", "", "", "", order.Money(total)}, strong: true})
		priced := fmt.Sprintf("Prices are those of %s, and hold tax, carriage and work only where it says so.", s.in.PricesFrom)
		if without != nil {
			priced += fmt.Sprintf(" It has none for %s: the total is of the others.", strings.Join(without, ", "))
		}
		about = append(about, clean(priced), "With prices: for the office and the customer, not for the van.")
	}
	f.add(section{"What is counted", prose{s.look, about}})
	if len(rows) == 0 {
		f.add(section{"Items", prose{s.look, []string{"The plan has no device."}}})
		return f.leaves, nil
	}
	f.add(schedule{look: s.look, heading: "Items", columns: columns, rows: rows, to: len(rows), lines: 8})
	batteries := order.Batteries(s.in.Result)
	if len(batteries) == 0 {
		return f.leaves, nil
	}
	cells := s.batteryRows(batteries)
	f.add(section{"When batteries are changed", prose{s.look, s.batteryNotes(batteries)}},
		schedule{look: s.look, heading: "Batteries, the first to be changed first", columns: batteryColumns, rows: cells, to: len(cells)})
	return f.leaves, nil
}

func billCells(l order.Line) []string {
	return []string{clean(l.Item), clean(l.Code), strconv.Itoa(l.Fitted), strconv.Itoa(l.Spares), strconv.Itoa(l.Quantity()), clean(strings.Join(l.Devices, ", "))}
}

// month is how a date in years to come is told: closer would be false precision.
func month(t time.Time) string { return t.Format("2006-01") }

func (s *sheet) batteryRows(all []order.Schedule) (rows []row) {
	for _, b := range all {
		name := stated(s.in.Plan.Feature(b.Device).Name)
		if name == clean(b.Device) {
			name = none
		}
		cells := []string{clean(b.Device), name, stated(strings.TrimPrefix(b.Battery, "Battery, ")), figure(b.Messages, 0), figure(b.Tries, 1), none, none, none, none, capital(b.Remark())}
		if b.Known() {
			cells[5], cells[6] = figure(b.Current, 0), figure(b.Life, 1)
		}
		if !b.Since.IsZero() {
			cells[7] = b.Since.Format(time.DateOnly)
			if !b.Fitted {
				cells[7] += ", date of the plan"
			}
		}
		if !b.Change.IsZero() {
			cells[8] = month(b.Change)
		}
		rows = append(rows, row{cells: cells, strong: !b.Known()})
	}
	return rows
}

// batteryNotes say how lives are reckoned and which batteries come first.
func (s *sheet) batteryNotes(all []order.Schedule) []string {
	set := s.in.Plan.Settings.Batteries
	out := []string{fmt.Sprintf("Mean current: what is drawn between messages, and the energy of each message sent, its own and those passed on, as often as the link asks for it (1/P tries, at most %g). "+
		"Life: %s%% of the capacity, what cold and age leave of it, with self-discharge, in years of 8766 h, and at most %s years. These shares are common practice, no published source.",
		order.MostTries, figure(100*set.Usable, 0), figure(set.MostYears, 1))}
	if first := all[0]; !first.Change.IsZero() {
		var with []string
		until := first.Change.AddDate(1, 0, 0)
		for _, b := range all {
			if !b.Change.IsZero() && b.Change.Before(until) {
				with = append(with, b.Device)
			}
		}
		if len(with) == 1 {
			out = append(out, clean(fmt.Sprintf("The first is due in %s, at %s; no other within a year of it.", month(first.Change), first.Device)))
		} else {
			out = append(out, clean(fmt.Sprintf("The first is due in %s, at %s; within a year of it %d of %d are due: one visit serves them.", month(first.Change), first.Device, len(with), len(all))))
		}
	}
	return append(out, "What a device reports of its battery goes before any reckoning.")
}

// loads are the batteries a van brings, by what they are called.
func loads(bill []order.Line) (out []fact) {
	for _, l := range bill {
		if l.Kind == order.Cell {
			out = append(out, fact{clean(l.Item), fmt.Sprintf("%d, %s", l.Fitted, count(l.Spares, "spare"))})
		}
	}
	return out
}

// unpowered are the devices whose battery no supply states.
func unpowered(p *model.Plan) (ids []string) {
	for _, f := range p.Of(model.KindSensor, model.KindRepeater) {
		if _, code := order.Battery(order.SupplyOf(p, f)); code == "" {
			ids = append(ids, f.ID)
		}
	}
	return ids
}
