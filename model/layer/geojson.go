package layer

import (
	"bytes"
	"encoding/json"
	"strconv"

	"github.com/paulmach/orb"
)

// Decimals of a longitude or latitude, 0.1 mm on the ground, and of other
// figures.
const (
	degreeDecimals = 9
	valueDecimals  = 6
)

// GeoJSON writes all layers as one FeatureCollection (RFC 7946), a feature a
// line. The property "layer" names a feature's layer.
func GeoJSON(s Set) []byte {
	var b bytes.Buffer
	b.WriteString("{\"type\": \"FeatureCollection\",\n\"name\": ")
	b.Write(quoted(s.Title))
	b.WriteString(",\n\"features\": [")
	first := true
	for _, l := range s.Layers {
		for _, f := range l.Features {
			if !first {
				b.WriteByte(',')
			}
			first = false
			b.WriteString("\n{\"type\": \"Feature\", \"properties\": {\"layer\": ")
			b.Write(quoted(l.Name))
			for i, field := range l.Fields {
				b.WriteString(", ")
				b.Write(quoted(field.Name))
				b.WriteString(": ")
				b.Write(value(f.Values[i]))
			}
			b.WriteString("}, \"geometry\": ")
			geometry(&b, s.Geographic(f.Geometry))
			b.WriteByte('}')
		}
	}
	b.WriteString("\n]}\n")
	return b.Bytes()
}

func quoted(s string) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a text always has a JSON form
	return bytes.TrimRight(b.Bytes(), "\n")
}

func value(v any) []byte {
	switch v := v.(type) {
	case string:
		return quoted(v)
	case float64:
		if finite(v) {
			return strconv.AppendFloat(nil, rounded(v, valueDecimals), 'f', -1, 64)
		}
	case int:
		return strconv.AppendInt(nil, int64(v), 10)
	case bool:
		return strconv.AppendBool(nil, v)
	}
	return []byte("null")
}

func geometry(b *bytes.Buffer, g orb.Geometry) {
	switch g := g.(type) {
	case orb.Point:
		b.WriteString(`{"type": "Point", "coordinates": `)
		position(b, g)
	case orb.LineString:
		b.WriteString(`{"type": "LineString", "coordinates": `)
		positions(b, g)
	case orb.MultiPolygon:
		b.WriteString(`{"type": "MultiPolygon", "coordinates": [`)
		for i, poly := range g {
			comma(b, i)
			b.WriteByte('[')
			for k, r := range poly {
				comma(b, k)
				positions(b, r)
			}
			b.WriteByte(']')
		}
		b.WriteByte(']')
	default:
		b.WriteString("null")
		return
	}
	b.WriteByte('}')
}

func positions(b *bytes.Buffer, ps []orb.Point) {
	b.WriteByte('[')
	for i, p := range ps {
		comma(b, i)
		position(b, p)
	}
	b.WriteByte(']')
}

func position(b *bytes.Buffer, p orb.Point) {
	b.WriteString("[" + degrees(p[0]) + "," + degrees(p[1]) + "]")
}

func degrees(v float64) string {
	return strconv.FormatFloat(rounded(v, degreeDecimals), 'f', -1, 64)
}

func comma(b *bytes.Buffer, i int) {
	if i > 0 {
		b.WriteByte(',')
	}
}
