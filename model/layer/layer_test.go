package layer_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"image/color"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"pleach/model/layer"
)

func TestATextThatBeginsAFormulaStaysTextAndANumberStaysANumber(t *testing.T) {
	for _, row := range []struct {
		value any
		want  string
	}{
		{"=1+1", "'=1+1"}, {"+1", "'+1"}, {"-4", "'-4"}, {"@SUM(A1)", "'@SUM(A1)"}, {" =1", "' =1"}, {"\t=1", "' =1"}, {"\n=1", "'\n=1"},
		{"\ufeff=1", "'\ufeff=1"}, {"＝1", "'＝1"}, {"a=1", "a=1"}, {"", ""}, {"'quoted", "'quoted"}, {"bell\a", "bell "},
		{-4.0, "-4"}, {-0.00001, "0"}, {-4, "-4"}, {1.23456, "1.235"}, {true, "yes"}, {false, "no"}, {nil, ""},
	} {
		text := layer.CSV(layer.Table{Columns: []layer.Column{{Head: "A"}, {Head: "B"}}, Rows: [][]any{{row.value, "x"}}})
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if got := rows[1][0]; got != row.want {
			t.Errorf("%#v is written %q, want %q", row.value, got, row.want)
		}
	}
}

func TestSeveralTablesStandUnderTheirTitles(t *testing.T) {
	got := string(layer.CSV(layer.Table{Title: "One", Columns: []layer.Column{{Head: "A"}}, Rows: [][]any{{1}}}, layer.Table{Title: "=Two", Columns: []layer.Column{{Head: "B"}}}))
	if want := "One\r\nA\r\n1\r\n\r\n'=Two\r\nB\r\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// anyText draws texts with all that may break a format.
var anyText = rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"]]>", "&amp;", "<a b='\"'>", "_x000A_", "\x00\x01\x1f", "\ufffe\uffff", "日本", "a\r\nb", `\U+0041`, "%%c", "=1", "-4"}))

// parts are the parts of a workbook.
func parts(t *rapid.T, data []byte) map[string][]byte {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func wellFormed(t *rapid.T, what string, data []byte) {
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("%s: %v\n%q", what, err, data)
		}
	}
}

func TestWhateverIsWrittenIsWellFormed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, title := anyText.Draw(t, "a"), anyText.Draw(t, "b"), anyText.Draw(t, "title")
		s := layer.Set{Title: title, LonLat: func(p orb.Point) orb.Point { return p }, Layers: []layer.Layer{{
			Name: "points", Title: title, Shape: layer.Points, Fields: []layer.Field{{Name: "id", Type: layer.Text}, {Name: "v", Type: layer.Real}},
			Features: []layer.Feature{{Class: "sensor", Label: a, Geometry: orb.Point{1, 2}, Values: []any{b, nil}}},
			Styles:   []layer.Style{{Class: "sensor", Title: title, Stroke: color.NRGBA{1, 2, 3, 255}, Width: 0.3, Mark: layer.HalfDisc, Size: 3}},
		}}}
		wellFormed(t, "KML", layer.KML(s))
		wellFormed(t, "GPX", layer.GPX(s, s.Layers[0]))
		wellFormed(t, "SLD", []byte(layer.SLD(s.Layers[0])))
		if q := layer.QML(s.Layers[0]); strings.Count(q, "<symbol ") != 1 {
			t.Fatalf("%s", q)
		}
		if !json.Valid(layer.GeoJSON(s)) {
			t.Fatalf("%s", layer.GeoJSON(s))
		}
		// Drawing exchange is pairs of lines, a code and a value.
		lines := strings.Split(strings.TrimSuffix(string(layer.DXF(s)), "\r\n"), "\r\n")
		if len(lines)%2 != 0 || lines[len(lines)-1] != "EOF" {
			t.Fatalf("%d lines, the last %q", len(lines), lines[len(lines)-1])
		}
		for i, l := range lines {
			if i%2 == 0 && strings.Trim(strings.TrimSpace(l), "0123456789") != "" || len(l) > 255 || strings.ContainsAny(l, "\n\r") {
				t.Fatalf("line %d is %q", i+1, l)
			}
		}
		data, err := layer.XLSX(title, time.Time{}, layer.Table{Name: title, Columns: []layer.Column{{Head: a}}, Rows: [][]any{{b}}})
		if err != nil {
			t.Fatal(err)
		}
		for name, p := range parts(t, data) {
			wellFormed(t, name, p)
		}
	})
}

// ECMA-376-1, 22.9.2.19 (ST_Xstring): a character XML does not have is _xHHHH_,
// and a text that looks so begins with _x005F_.
func TestOutsideACellSpellsWhatXMLDoesNotHave(t *testing.T) {
	for _, row := range []struct{ text, want string }{{"a\x07b", "a_x0007_b"}, {"_x000A_", "_x005F_x000A_"}, {"_x00_", "_x00_"}, {"a\nb", "a\nb"}, {"<&>", "&lt;&amp;&gt;"}} {
		t.Run(row.want, func(t *testing.T) {
			data, err := layer.XLSX("", time.Time{}, layer.Table{Name: "t", Columns: []layer.Column{{Head: "A"}}, Rows: [][]any{{row.text}}})
			if err != nil {
				t.Fatal(err)
			}
			z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
			if err != nil {
				t.Fatal(err)
			}
			f, err := z.Open("xl/worksheets/sheet1.xml")
			if err != nil {
				t.Fatal(err)
			}
			sheet, _ := io.ReadAll(f)
			if !strings.Contains(string(sheet), ">"+row.want+"<") {
				t.Errorf("%q is not in %s", row.want, sheet)
			}
		})
	}
}

func TestRingsTurnAsRFC7946Asks(t *testing.T) {
	s := layer.Set{LonLat: func(p orb.Point) orb.Point { return p }}
	clockwise := orb.Ring{{0, 0}, {0, 10}, {10, 10}, {10, 0}}
	hole := orb.Ring{{2, 2}, {4, 2}, {4, 4}, {2, 4}, {2, 2}}
	m := s.Geographic(orb.MultiPolygon{{clockwise, hole}}).(orb.MultiPolygon)
	if m[0][0].Orientation() != orb.CCW || m[0][1].Orientation() != orb.CW || !m[0][0].Closed() {
		t.Errorf("%v", m)
	}
	if clockwise[1] != (orb.Point{0, 10}) || len(clockwise) != 4 {
		t.Error("the ring that was given changed")
	}
}
