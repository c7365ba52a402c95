package layer

import (
	"fmt"
	"image/color"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// KML writes all layers as a folder each (OGC KML 2.3), with their styles.
func KML(s Set) []byte {
	var b strings.Builder
	b.WriteString(xmlHead)
	b.WriteString(`<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>` + escape(s.Title) + "</name>\n")
	for _, l := range s.Layers {
		for _, st := range l.Styles {
			fmt.Fprintf(&b, `<Style id="%s"><IconStyle><color>%s</color><scale>%s</scale></IconStyle><LineStyle><color>%s</color><width>%s</width></LineStyle><PolyStyle><color>%s</color><fill>%d</fill></PolyStyle></Style>`+"\n",
				l.Name+"-"+st.Class, abgr(solid(st)), number(max(rounded(st.Size/3.4, 2), 0.3)), abgr(st.Stroke), number(rounded(st.Width*4, 2)), abgr(st.Fill), has(st.Fill.A > 0))
		}
	}
	for _, l := range s.Layers {
		if len(l.Features) == 0 {
			continue
		}
		fmt.Fprintf(&b, "<Folder><name>%s</name><visibility>%d</visibility>\n", escape(l.Title), has(!l.Hidden))
		for _, f := range l.Features {
			fmt.Fprintf(&b, `<Placemark><name>%s</name><visibility>%d</visibility><styleUrl>#%s</styleUrl><ExtendedData>`, escape(f.Label), has(!l.Hidden), escape(l.Name+"-"+f.Class))
			for i, field := range l.Fields {
				if t := plain(f.Values[i]); t != "" {
					fmt.Fprintf(&b, `<Data name="%s"><value>%s</value></Data>`, field.Name, escape(t))
				}
			}
			b.WriteString("</ExtendedData>")
			kmlGeometry(&b, s.Geographic(f.Geometry))
			b.WriteString("</Placemark>\n")
		}
		b.WriteString("</Folder>\n")
	}
	b.WriteString("</Document></kml>\n")
	return []byte(b.String())
}

func kmlGeometry(b *strings.Builder, g orb.Geometry) {
	line := func(ps []orb.Point) {
		b.WriteString("<coordinates>")
		for i, p := range ps {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(degrees(p[0]) + "," + degrees(p[1]))
		}
		b.WriteString("</coordinates>")
	}
	switch g := g.(type) {
	case orb.Point:
		b.WriteString("<Point>")
		line([]orb.Point{g})
		b.WriteString("</Point>")
	case orb.LineString:
		b.WriteString("<LineString><tessellate>1</tessellate>")
		line(g)
		b.WriteString("</LineString>")
	case orb.MultiPolygon:
		b.WriteString("<MultiGeometry>")
		for _, poly := range g {
			b.WriteString("<Polygon><tessellate>1</tessellate>")
			for k, r := range poly {
				side := "outer"
				if k > 0 {
					side = "inner"
				}
				b.WriteString("<" + side + "BoundaryIs><LinearRing>")
				line(r)
				b.WriteString("</LinearRing></" + side + "BoundaryIs>")
			}
			b.WriteString("</Polygon>")
		}
		b.WriteString("</MultiGeometry>")
	}
}

// abgr is a colour as KML spells it.
func abgr(c color.NRGBA) string { return fmt.Sprintf("%02x%02x%02x%02x", c.A, c.B, c.G, c.R) }

// solid is the colour of a mark: its outline's.
func solid(s Style) color.NRGBA {
	c := s.Stroke
	c.A = 0xff
	return c
}

func has(b bool) int {
	if b {
		return 1
	}
	return 0
}

// plain is a value as text, "" for none.
func plain(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case float64:
		if finite(v) {
			return number(rounded(v, valueDecimals))
		}
	case int:
		return strconv.Itoa(v)
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}
