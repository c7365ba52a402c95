package paper

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model/sitegrid"
	"pleach/ui/drawing"
)

// A registered map is a part of a page that is true to scale, and the ground it
// shows: a map reader finds its own place on it.
type registered struct {
	page   int
	name   string
	box    [4]float64   // left, bottom, right, top in PDF units from the lower left of the page
	corner [4]orb.Point // longitude and latitude, from the lower left corner clockwise
}

// register notes the map p on the page at hand, which shows view on grid.
func (d *document) register(name string, p box, view drawing.View, grid sitegrid.Grid) {
	g := view.Bound()
	r := registered{page: d.pdf.PageNo(), name: name,
		box: [4]float64{p.x * perMM, (d.height - p.y - p.h) * perMM, (p.x + p.w) * perMM, (d.height - p.y) * perMM}}
	for i, c := range [4]orb.Point{g.Min, {g.Min[0], g.Max[1]}, g.Max, {g.Max[0], g.Min[1]}} {
		r.corner[i] = grid.ToLonLat(c)
	}
	d.grid = grid
	d.maps = append(d.maps, r)
}

// degreeDigits are the decimals of longitudes and latitudes: so many that a place is right to a
// tenth of a millimetre on the ground.
const degreeDigits = 9

// unitSquare are the corners of a viewport in its own measure, in the order of
// registered.corner.
const unitSquare = "[0 0 0 1 1 1 1 0]"

// georeference enters the registered maps into their pages, as viewports with a
// geospatial measure (ISO 32000-2, 12.9 and 12.10): corners in latitude and
// longitude on WGS 84, and the site grid as the projected system in which the
// map is straight.
func (d *document) georeference(o *objects) error {
	if len(d.maps) == 0 {
		return nil
	}
	plane := o.add("<</Type /PROJCS /WKT (" + siteWKT(d.grid) + ")>>")
	shown := o.add("<</Type /GEOGCS /EPSG 4326 /WKT (" + geographicWKT + ")>>")
	pages := map[int]*strings.Builder{}
	for _, m := range d.maps {
		b := pages[m.page]
		if b == nil {
			b = &strings.Builder{}
			pages[m.page] = b
		}
		b.WriteString("<</Type /Viewport /BBox [")
		var n []byte
		for _, v := range m.box {
			n = number(n, v)
		}
		b.Write(n[:len(n)-1])
		b.WriteString("] /Name (" + pdfName(m.name) + ") /Measure <</Type /Measure /Subtype /GEO /Bounds " + unitSquare + " /LPTS " + unitSquare + " /GPTS [")
		for i, c := range m.corner {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(strconv.FormatFloat(c[1], 'f', degreeDigits, 64) + " " + strconv.FormatFloat(c[0], 'f', degreeDigits, 64))
		}
		fmt.Fprintf(b, "] /GCS %d 0 R /DCS %d 0 R /PDU [/M /SQM /DEG]>>>>\n", plane, shown)
	}
	for page, b := range pages {
		if err := o.enter(dictionaryOf(page), "/Type /Page\n", "/VP [\n"+b.String()+"]\n"); err != nil {
			return err
		}
	}
	return o.enter(o.root, "/Type /Catalog\n", "/Version /1.7\n/Extensions <</ADBE <</BaseVersion /1.7 /ExtensionLevel 3>>>>\n")
}

// Well-known text of the older sort, which readers of PDF take: the names are
// those by which they know WGS 84.
const geographicWKT = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// siteWKT is the site grid as well-known text.
func siteWKT(g sitegrid.Grid) string {
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	return `PROJCS["site grid",` + geographicWKT + `,PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],` +
		`PARAMETER["Central_Meridian",` + num(g.Lon0) + `],PARAMETER["Scale_Factor",1.0],PARAMETER["Latitude_Of_Origin",` + num(g.Lat0) + `],UNIT["Meter",1.0]]`
}

// pdfName is a text as a string of a PDF holds it where it is ASCII; other
// characters become question marks.
func pdfName(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || r == '(' || r == ')' || r == '\\' {
			return '?'
		}
		return r
	}, s)
}
