package layer

import (
	"archive/zip"
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Limits of a sheet (ECMA-376 and the programs that read it).
const (
	mostCellText = 32767 // characters in a cell
	mostSheet    = 31    // characters in a sheet's name
)

// XLSX writes tables as a workbook (ECMA-376, Office Open XML), a sheet each:
// typed cells, headings in bold that stay in view, a filter. Texts are stored as
// text, never as a formula. created is told as when the workbook was made; a
// zero time is left out.
func XLSX(title string, created time.Time, tables ...Table) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	// add writes one part; all bear the least date a zip file has, so that the
	// same tables give the same bytes.
	add := func(name, text string) error {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)})
		if err == nil {
			_, err = w.Write([]byte(xmlHead + text))
		}
		return err
	}
	var types, rels, sheets, names strings.Builder
	for i, t := range tables {
		n := i + 1
		fmt.Fprintf(&types, `<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`, n)
		fmt.Fprintf(&rels, `<Relationship Id="rId%d" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet%d.xml"/>`, n, n)
		fmt.Fprintf(&sheets, `<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, escape(sheetName(t.Name)), n, n)
		if len(t.Columns) > 0 {
			fmt.Fprintf(&names, `<definedName name="_xlnm._FilterDatabase" localSheetId="%d" hidden="1">'%s'!$A$1:$%s$%d</definedName>`, i, escape(sheetName(t.Name)), columnName(len(t.Columns)-1), len(t.Rows)+1)
			fmt.Fprintf(&names, `<definedName name="_xlnm.Print_Titles" localSheetId="%d">'%s'!$1:$1</definedName>`, i, escape(sheetName(t.Name)))
		}
	}
	when := ""
	if !created.IsZero() {
		s := created.UTC().Format("2006-01-02T15:04:05Z")
		when = `<dcterms:created xsi:type="dcterms:W3CDTF">` + s + `</dcterms:created><dcterms:modified xsi:type="dcterms:W3CDTF">` + s + `</dcterms:modified>`
	}
	type part struct{ name, text string }
	all := []part{
		{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/><Override PartName="/docProps/core.xml" ContentType="application/vnd.openxmlformats-package.core-properties+xml"/>` + types.String() + `</Types>`},
		{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/package/2006/relationships/metadata/core-properties" Target="docProps/core.xml"/></Relationships>`},
		{"docProps/core.xml", `<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"><dc:title>` + escape(title) + `</dc:title><dc:creator>pleach</dc:creator>` + when + `</cp:coreProperties>`},
		{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets>` + sheets.String() + `</sheets><definedNames>` + names.String() + `</definedNames></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` + rels.String() + fmt.Sprintf(`<Relationship Id="rId%d" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/>`, len(tables)+1) + `</Relationships>`},
		{"xl/styles.xml", stylesPart()},
	}
	for i, t := range tables {
		all = append(all, part{fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1), sheetPart(t)})
	}
	for _, p := range all {
		if err := add(p.name, p.text); err != nil {
			return nil, fmt.Errorf("write the workbook: %w", err)
		}
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("write the workbook: %w", err)
	}
	return b.Bytes(), nil
}

// Styles of cells by their place in the styles part.
const (
	headStyle = 1
	textStyle = 2
	numbers   = 3 // with 0 decimals, then 1, …
	decimals  = 9 // the most
)

func stylesPart() string {
	var formats, cells strings.Builder
	for d := 0; d <= decimals; d++ {
		code := "0"
		if d > 0 {
			code += "." + strings.Repeat("0", d)
		}
		fmt.Fprintf(&formats, `<numFmt numFmtId="%d" formatCode="%s"/>`, 164+d, code)
		fmt.Fprintf(&cells, `<xf numFmtId="%d" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>`, 164+d)
	}
	return fmt.Sprintf(`<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><numFmts count="%d">%s</numFmts>`, decimals+1, formats.String()) +
		`<fonts count="2"><font><sz val="10"/><name val="Arial"/></font><font><b/><sz val="10"/><name val="Arial"/></font></fonts>` +
		`<fills count="3"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill><fill><patternFill patternType="solid"><fgColor rgb="FFE8E6DF"/></patternFill></fill></fills>` +
		`<borders count="2"><border/><border><bottom style="thin"/></border></borders><cellStyleXfs count="1"><xf/></cellStyleXfs>` +
		fmt.Sprintf(`<cellXfs count="%d"><xf xfId="0"/><xf xfId="0" fontId="1" fillId="2" borderId="1" applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1"><alignment vertical="top" wrapText="1"/></xf>`, numbers+decimals+1) +
		`<xf xfId="0" numFmtId="49" applyNumberFormat="1" applyAlignment="1"><alignment vertical="top" wrapText="1"/></xf>` + cells.String() + `</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`
}

func sheetPart(t Table) string {
	var b strings.Builder
	b.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><sheetViews><sheetView workbookViewId="0"><pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews>`)
	if len(t.Columns) > 0 {
		b.WriteString(`<cols>`)
		for i, c := range t.Columns {
			fmt.Fprintf(&b, `<col min="%d" max="%d" width="%d" customWidth="1"/>`, i+1, i+1, columnWidth(t, i, c))
		}
		b.WriteString(`</cols>`)
	}
	b.WriteString(`<sheetData><row r="1">`)
	for i, c := range t.Columns {
		textCell(&b, i, 1, c.Head, headStyle)
	}
	b.WriteString(`</row>`)
	for k, r := range t.Rows {
		fmt.Fprintf(&b, `<row r="%d">`, k+2)
		for i, v := range r {
			at := columnName(i) + strconv.Itoa(k+2)
			switch v := v.(type) {
			case string:
				if v != "" {
					textCell(&b, i, k+2, v, textStyle)
				}
			case float64:
				if !finite(v) {
					continue
				}
				fmt.Fprintf(&b, `<c r="%s" s="%d"><v>%s</v></c>`, at, numbers+min(t.Columns[i].Decimals, decimals), strconv.FormatFloat(v+0, 'g', -1, 64))
			case int:
				fmt.Fprintf(&b, `<c r="%s" s="%d"><v>%d</v></c>`, at, numbers, v)
			case bool:
				n := 0
				if v {
					n = 1
				}
				fmt.Fprintf(&b, `<c r="%s" t="b"><v>%d</v></c>`, at, n)
			}
		}
		b.WriteString(`</row>`)
	}
	b.WriteString(`</sheetData>`)
	if len(t.Columns) > 0 {
		fmt.Fprintf(&b, `<autoFilter ref="A1:%s%d"/>`, columnName(len(t.Columns)-1), len(t.Rows)+1)
	}
	b.WriteString(`<pageSetup paperSize="9" orientation="landscape" fitToHeight="0"/></worksheet>`)
	return b.String()
}

func textCell(b *strings.Builder, col, row int, s string, style int) {
	fmt.Fprintf(b, `<c r="%s%d" s="%d" t="inlineStr"><is><t xml:space="preserve">%s</t></is></c>`, columnName(col), row, style, cellText(s))
}

// columnWidth is the width of a column in characters, within reason.
func columnWidth(t Table, i int, c Column) int {
	w := utf8.RuneCountInString(c.Head)/2 + 3 // a heading may break once
	for _, r := range t.Rows {
		switch v := r[i].(type) {
		case string:
			w = max(w, utf8.RuneCountInString(v)+2)
		case float64:
			w = max(w, len(strconv.FormatFloat(v, 'f', c.Decimals, 64))+2)
		}
	}
	return min(max(w, 7), 48)
}

// columnName is A, B, …, Z, AA, …
func columnName(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

// sheetName is a name without the characters a sheet's may not have.
func sheetName(s string) string {
	s = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\'`, r) || r < ' ' {
			return ' '
		}
		return r
	}, s)
	if r := []rune(s); len(r) > mostSheet {
		s = string(r[:mostSheet])
	}
	return s
}

// cellText is a text as ST_Xstring (ECMA-376-1, 22.9.2.19): a character that
// XML does not have is written _xHHHH_, and what looks like that already is kept.
func cellText(s string) string {
	if r := []rune(s); len(r) > mostCellText {
		s = string(r[:mostCellText-1]) + "…"
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == '_' && looksEscaped(s[i:]):
			b.WriteString("_x005F_")
		case r == '\n' || r == '\t' || r >= ' ' && r != 0xfffe && r != 0xffff:
			b.WriteString(escape(string(r)))
		default:
			fmt.Fprintf(&b, "_x%04X_", r)
		}
	}
	return b.String()
}

// looksEscaped reports whether s begins with _xHHHH_.
func looksEscaped(s string) bool {
	if len(s) < 7 || s[1] != 'x' || s[6] != '_' {
		return false
	}
	_, err := strconv.ParseUint(s[2:6], 16, 16)
	return err == nil
}

const xmlHead = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

// escape is a text within XML 1.0, element or attribute: characters it does not
// have become U+FFFD.
func escape(s string) string {
	return escaper.Replace(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0xfffe || r == 0xffff || r == utf8.RuneError {
			return '\ufffd'
		}
		return r
	}, s))
}

// finite reports whether v is a number that can be written.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
