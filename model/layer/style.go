package layer

import (
	"fmt"
	"image/color"
	"strings"
)

// LabelField is the name of the attribute that holds what is written beside a
// feature, where styles of a file refer to it.
const LabelField = "label"

// Names on a map: height of the letters and width of the halo in millimetres, and
// their colours. Chosen, near those of the printed sheet.
const (
	labelSize = 2.6
	labelHalo = 0.5
)

var (
	labelInk   = color.NRGBA{0x1f, 0x2a, 0x30, 0xff}
	labelPaper = color.NRGBA{0xff, 0xff, 0xff, 0xd0}
)

// SLD writes the styles of a layer as a Styled Layer Descriptor (OGC 05-078r4
// with symbology encoding 05-077r4), a rule a class and one for labels from
// LabelField. Lengths are pixels of
// 0.28 mm, as that standard has it.
func SLD(l Layer) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	b.WriteString(`<StyledLayerDescriptor xmlns="http://www.opengis.net/sld" xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc" version="1.1.0"><NamedLayer><se:Name>` + l.Name + `</se:Name><UserStyle><se:Name>` + l.Name + `</se:Name><se:FeatureTypeStyle>`)
	for _, s := range l.Styles {
		b.WriteString(`<se:Rule><se:Name>` + escape(s.Title) + `</se:Name><ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>class</ogc:PropertyName><ogc:Literal>` + s.Class + `</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>`)
		stroke := ""
		if s.Width > 0 {
			stroke = `<se:Stroke>` + svgParameters("stroke", s.Stroke) + `<se:SvgParameter name="stroke-width">` + pixels(s.Width) + `</se:SvgParameter>`
			if len(s.Dash) > 0 {
				var d []string
				for _, v := range s.Dash {
					d = append(d, pixels(v))
				}
				stroke += `<se:SvgParameter name="stroke-dasharray">` + strings.Join(d, " ") + `</se:SvgParameter>`
			}
			stroke += `</se:Stroke>`
		}
		switch l.Shape {
		case Areas:
			if s.Fill.A > 0 {
				b.WriteString(`<se:PolygonSymbolizer><se:Fill>` + svgParameters("fill", s.Fill) + `</se:Fill></se:PolygonSymbolizer>`)
			}
			if s.Hatch > 0 {
				b.WriteString(`<se:PolygonSymbolizer><se:Fill><se:GraphicFill><se:Graphic><se:Mark><se:WellKnownName>slash</se:WellKnownName><se:Stroke>` + svgParameters("stroke", s.Stroke) + `</se:Stroke></se:Mark><se:Size>` + pixels(s.Hatch) + `</se:Size></se:Graphic></se:GraphicFill></se:Fill></se:PolygonSymbolizer>`)
			}
			if stroke != "" {
				b.WriteString(`<se:PolygonSymbolizer>` + stroke + `</se:PolygonSymbolizer>`)
			}
		case Lines:
			b.WriteString(`<se:LineSymbolizer>` + stroke + `</se:LineSymbolizer>`)
		case Points:
			b.WriteString(`<se:PointSymbolizer><se:Graphic><se:Mark><se:WellKnownName>` + wellKnown(s.Mark) + `</se:WellKnownName><se:Fill>` + svgParameters("fill", s.Fill) + `</se:Fill>` + stroke + `</se:Mark><se:Size>` + pixels(s.Size) + `</se:Size>`)
			if s.Mark == HalfDisc {
				b.WriteString(`<se:Rotation><ogc:PropertyName>bearing_deg</ogc:PropertyName></se:Rotation>`)
			}
			b.WriteString(`</se:Graphic></se:PointSymbolizer>`)
		}
		b.WriteString(`</se:Rule>`)
	}
	if !l.Hidden {
		b.WriteString(`<se:Rule><se:Name>` + LabelField + `</se:Name><se:TextSymbolizer><se:Label><ogc:PropertyName>` + LabelField + `</ogc:PropertyName></se:Label><se:Font><se:SvgParameter name="font-size">` + pixels(labelSize) +
			`</se:SvgParameter></se:Font><se:Halo><se:Radius>` + pixels(labelHalo) + `</se:Radius><se:Fill>` + svgParameters("fill", labelPaper) + `</se:Fill></se:Halo><se:Fill>` + svgParameters("fill", labelInk) + `</se:Fill></se:TextSymbolizer></se:Rule>`)
	}
	b.WriteString(`</se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>`)
	return b.String()
}

// pixels is a length in millimetres in pixels of 0.28 mm.
func pixels(mm float64) string { return number(rounded(mm/0.28, 3)) }

func svgParameters(what string, c color.NRGBA) string {
	return fmt.Sprintf(`<se:SvgParameter name="%s">#%02x%02x%02x</se:SvgParameter><se:SvgParameter name="%s-opacity">%s</se:SvgParameter>`, what, c.R, c.G, c.B, what, number(rounded(float64(c.A)/255, 3)))
}

// wellKnown is the mark's name in symbology encoding.
func wellKnown(m Mark) string {
	switch m {
	case HalfDisc, Triangle:
		return "triangle"
	case Square:
		return "square"
	case Lozenge:
		return "diamond"
	}
	return "circle"
}

// QML writes the same styles for the GIS that reads them from the column
// styleQML of a table layer_styles: a symbol a class, by the field "class", and
// labels from LabelField.
// Lengths are millimetres.
func QML(l Layer) string {
	var b strings.Builder
	b.WriteString(`<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>` + "\n")
	fmt.Fprintf(&b, `<qgis version="3.16.0" styleCategories="Symbology|Labeling" labelsEnabled="%d">`, has(!l.Hidden))
	b.WriteString(`<renderer-v2 type="categorizedSymbol" attr="class" enableorderby="0" forceraster="0" symbollevels="0"><categories>`)
	for i, s := range l.Styles {
		fmt.Fprintf(&b, `<category value="%s" label="%s" symbol="%d" render="true"/>`, s.Class, escape(s.Title), i)
	}
	b.WriteString(`</categories><symbols>`)
	kind := []string{Points: "marker", Lines: "line", Areas: "fill"}[l.Shape]
	for i, s := range l.Styles {
		fmt.Fprintf(&b, `<symbol type="%s" name="%d" alpha="1" clip_to_extent="1" force_rhr="0">`, kind, i)
		prop := func(pairs ...string) {
			for k := 0; k+1 < len(pairs); k += 2 {
				b.WriteString(`<prop k="` + pairs[k] + `" v="` + pairs[k+1] + `"/>`)
			}
		}
		pen := "solid"
		if s.Width <= 0 {
			pen = "no"
		}
		dashed, dash := "0", "5;2"
		if len(s.Dash) > 0 {
			var d []string
			for _, v := range s.Dash {
				d = append(d, number(v))
			}
			dashed, dash = "1", strings.Join(d, ";")
		}
		width := number(rounded(s.Width, 3))
		line := func(class string) {
			b.WriteString(`<layer class="` + class + `" pass="0" enabled="1" locked="0">`)
			prop("line_color", rgba(s.Stroke), "line_style", pen, "line_width", width, "line_width_unit", "MM", "joinstyle", "round", "capstyle", "flat",
				"use_custom_dash", dashed, "customdash", dash, "customdash_unit", "MM")
			b.WriteString(`</layer>`)
		}
		switch l.Shape {
		case Areas:
			b.WriteString(`<layer class="SimpleFill" pass="0" enabled="1" locked="0">`)
			style := "solid"
			if s.Fill.A == 0 {
				style = "no"
			}
			prop("color", rgba(s.Fill), "style", style, "outline_style", "no")
			b.WriteString(`</layer>`)
			if s.Hatch > 0 {
				b.WriteString(`<layer class="LinePatternFill" pass="0" enabled="1" locked="0">`)
				prop("angle", "45", "distance", number(rounded(s.Hatch, 3)), "distance_unit", "MM", "line_width", "0.25", "color", rgba(s.Stroke))
				fmt.Fprintf(&b, `<symbol type="line" name="@%d@1" alpha="1" clip_to_extent="1" force_rhr="0"><layer class="SimpleLine" pass="0" enabled="1" locked="0">`, i)
				prop("line_color", rgba(s.Stroke), "line_style", "solid", "line_width", "0.25", "line_width_unit", "MM")
				b.WriteString(`</layer></symbol></layer>`)
			}
			if s.Width > 0 {
				line("SimpleLine")
			}
		case Lines:
			line("SimpleLine")
		case Points:
			form := map[Mark]string{HalfDisc: "semi_circle", Lozenge: "diamond", Square: "square", Triangle: "triangle", Disc: "circle"}[s.Mark]
			b.WriteString(`<layer class="SimpleMarker" pass="0" enabled="1" locked="0">`)
			prop("name", form, "color", rgba(s.Fill), "outline_color", rgba(s.Stroke), "outline_style", pen, "outline_width", width, "outline_width_unit", "MM",
				"size", number(rounded(s.Size, 3)), "size_unit", "MM", "angle", "0")
			if s.Mark == HalfDisc {
				b.WriteString(`<data_defined_properties><Option type="Map"><Option name="name" type="QString" value=""/><Option name="properties" type="Map"><Option name="angle" type="Map"><Option name="active" type="bool" value="true"/><Option name="field" type="QString" value="bearing_deg"/><Option name="type" type="int" value="2"/></Option></Option><Option name="type" type="QString" value="collection"/></Option></data_defined_properties>`)
			}
			b.WriteString(`</layer>`)
		}
		b.WriteString(`</symbol>`)
	}
	// Beside a point, along a line, over the middle of an area.
	place := map[Shape]int{Points: 6, Lines: 2, Areas: 1}[l.Shape]
	fmt.Fprintf(&b, `</symbols></renderer-v2><labeling type="simple"><settings><text-style fieldName="%s" isExpression="0" fontSize="%s" fontSizeUnit="MM" textColor="%s" textOpacity="1"><text-buffer bufferDraw="1" bufferSize="%s" bufferSizeUnits="MM" bufferColor="%s" bufferOpacity="%s"/></text-style><placement placement="%d" dist="1" distUnits="MM"/><rendering drawLabels="1" obstacle="1"/></settings></labeling></qgis>`,
		LabelField, number(labelSize), rgba(labelInk), number(labelHalo), rgba(labelPaper), number(rounded(float64(labelPaper.A)/255, 3)), place)
	return b.String()
}

func rgba(c color.NRGBA) string { return fmt.Sprintf("%d,%d,%d,%d", c.R, c.G, c.B, c.A) }
