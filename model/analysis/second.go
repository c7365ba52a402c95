package analysis

import (
	"fmt"
	"slices"

	"pleach/model"
	"pleach/model/radio"
)

// hubLinks are the links between hubs that messages can take.
func (n *net) hubLinks() (links []radio.Link) {
	for at, k := range n.between {
		if a, b := n.hubs[at[0]], n.hubs[at[1]]; b.hears() && (a.hears() || b.kind == radio.Receiver) {
			links = append(links, radio.Link{A: at[0], B: at[1], MarginDB: k.Margin, RequiredDB: k.Required})
		}
	}
	return links
}

// link returns the link between two hubs, nil where neither end can hear the other.
func (n *net) link(a, b int) *Link {
	for _, at := range [][2]int{{a, b}, {b, a}} {
		if k, ok := n.between[at]; ok {
			return &k
		}
	}
	return nil
}

// seconds finds the second route of every sensor, by hubs; nil for none.
func (r *Result) seconds() []*radio.Route {
	n := &r.net
	var kinds []radio.Kind
	for _, a := range n.hubs {
		kinds = append(kinds, a.kind)
	}
	links := n.hubLinks()
	best := make([]*radio.Route, len(n.hubs)+len(n.rows))
	for i, row := range n.rows {
		at := len(n.hubs) + i
		kinds = append(kinds, radio.Sensor)
		for j := range row {
			if k := &row[j]; k.From != "" && n.hubs[j].hears() {
				links = append(links, radio.Link{A: at, B: j, MarginDB: k.Margin, RequiredDB: k.Required})
			}
		}
		if route := n.routes[i].Route; route != nil {
			best[at] = &radio.Route{Nodes: append([]int{at}, route.Nodes...), MarginDB: route.MarginDB}
		}
	}
	out := radio.SecondRoutes(kinds, links, r.Plan.Settings.MaxHops, best)[len(n.hubs):]
	for _, route := range out {
		if route != nil {
			route.Nodes = route.Nodes[1:]
		}
	}
	return out
}

// nameSeconds names the devices of second routes and says whether they hold.
func (r *Result) nameSeconds(seconds []*radio.Route) []*Second {
	n := &r.net
	out := make([]*Second, len(seconds))
	for i, route := range seconds {
		if route == nil {
			continue
		}
		s := &Second{Route: []string{r.Sensors[i].ID}, Margin: route.MarginDB, Holds: n.rows[i][route.Nodes[0]].Holds()}
		for k, v := range route.Nodes {
			s.Route = append(s.Route, n.hubs[v].feature.ID)
			if k > 0 {
				s.Holds = s.Holds && n.link(route.Nodes[k-1], v).Holds()
			}
		}
		out[i] = s
	}
	return out
}

// ruleReceiverLoss: sensors lost when a receiver fails. A plan of one receiver is
// told so once.
func ruleReceiverLoss(r *Result) (out []model.Finding) {
	receivers := r.Plan.Of(model.KindReceiver)
	for _, f := range receivers {
		lost := r.net.lost[f.ID]
		if len(lost) == 0 {
			continue
		}
		found := model.Finding{Rule: "receiver-loss", Severity: model.Warning, Subject: append([]string{f.ID}, lost...), At: point(f.Geometry),
			Text:   fmt.Sprintf("If %s fails, %s lost: %s.", r.title(f.ID), count(len(lost), "sensor is", "sensors are"), r.titles(lost)),
			Remedy: "Move the other receiver or add a repeater, so that these sensors reach it too."}
		if len(receivers) == 1 {
			found.Severity, found.Subject = model.Note, []string{f.ID}
			found.Text = fmt.Sprintf("Every message ends at %s: if it fails, %s lost.", r.title(f.ID), count(len(lost), "sensor is", "sensors are"))
			found.Remedy = "Keep a spare at hand, or plan a second receiver."
		}
		out = append(out, found)
	}
	return out
}

// onward lists the links between hubs that the best and second routes of the
// sensors take, from the sensor's side, each once and in order.
func (n *net) onward(seconds []*radio.Route) (out [][2]int) {
	for i := range n.routes {
		for _, route := range []*radio.Route{n.routes[i].Route, seconds[i]} {
			for k := 1; route != nil && k < len(route.Nodes); k++ {
				out = append(out, [2]int{route.Nodes[k-1], route.Nodes[k]})
			}
		}
	}
	slices.SortFunc(out, func(x, y [2]int) int { return slices.Compare(x[:], y[:]) })
	return slices.Compact(out)
}
