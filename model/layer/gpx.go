package layer

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"
)

// GPX writes the points of one layer as waypoints (GPX 1.1) for a handheld
// receiver: the name is the feature's label, the description its other values.
// The field ground_m, where it is known, becomes the elevation.
func GPX(s Set, l Layer) []byte {
	var b strings.Builder
	b.WriteString(xmlHead)
	b.WriteString(`<gpx version="1.1" creator="pleach" xmlns="http://www.topografix.com/GPX/1/1"><metadata><name>` + escape(s.Title) + "</name>")
	if !s.Date.IsZero() {
		b.WriteString("<time>" + s.Date.UTC().Format("2006-01-02T15:04:05Z") + "</time>")
	}
	b.WriteString("</metadata>\n")
	for _, f := range l.Features {
		at, ok := f.Geometry.(orb.Point)
		if !ok {
			continue
		}
		ll := s.LonLat(at)
		fmt.Fprintf(&b, `<wpt lat="%s" lon="%s">`, degrees(ll[1]), degrees(ll[0]))
		if z, ok := l.Value(f, "ground_m").(float64); ok {
			b.WriteString("<ele>" + number(rounded(z, 2)) + "</ele>")
		}
		var said []string
		for i, field := range l.Fields {
			if t := plain(f.Values[i]); t != "" && field.Name != "id" && field.Name != "class" && field.Name != "ground_m" {
				said = append(said, field.Name+" "+t)
			}
		}
		fmt.Fprintf(&b, "<name>%s</name><desc>%s</desc><type>%s</type></wpt>\n", escape(f.Label), escape(strings.Join(said, ", ")), escape(f.Class))
	}
	b.WriteString("</gpx>\n")
	return []byte(b.String())
}
