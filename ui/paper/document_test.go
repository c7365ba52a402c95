package paper

import (
	"bytes"
	"encoding/xml"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// What viewers show of a whole set, by poppler's tools.
func TestOutsideViewersShowTitleBookmarksFontsAndDate(t *testing.T) {
	in := analysed(t)
	var b bytes.Buffer
	info, err := Print(&b, in, Options{Sheets: Sheets(), Paper: A4})
	if err != nil {
		t.Fatal(err)
	}
	t.Run("title and date", func(t *testing.T) {
		said := poppler(t, b.Bytes(), "pdfinfo", "-isodates", "PDF")
		for _, want := range []string{
			`Title: +` + regexp.QuoteMeta(in.Plan.Settings.Title), `Author: +` + regexp.QuoteMeta(in.Plan.Settings.Designer),
			`CreationDate: +` + in.Plan.Settings.Date + `T00:00:00`, `Pages: +` + strconv.Itoa(info.Sheets) + `\b`, `PDF version: +1\.7`,
		} {
			if !regexp.MustCompile(want).MatchString(said) {
				t.Errorf("no %s in\n%s", want, said)
			}
		}
	})
	t.Run("fonts", func(t *testing.T) {
		lines := strings.Split(strings.TrimSpace(poppler(t, b.Bytes(), "pdffonts", "PDF")), "\n")[2:]
		if len(lines) != 2 {
			t.Errorf("%d fonts, want 2: %q", len(lines), lines)
		}
		for _, l := range lines {
			if f := strings.Fields(l); len(f) < 8 || f[4] != "yes" || f[6] != "yes" {
				t.Errorf("not embedded with Unicode: %s", l)
			}
		}
	})
	t.Run("bookmarks", func(t *testing.T) {
		type item struct {
			Page int    `xml:"page,attr"`
			Text string `xml:",chardata"`
		}
		var doc struct {
			Outline struct {
				Items []item `xml:"item"`
				Below []struct {
					Items []item `xml:"item"`
				} `xml:"outline"`
			} `xml:"outline"`
		}
		said := poppler(t, b.Bytes(), "pdftohtml", "-xml", "-i", "-stdout", "PDF")
		from := strings.Index(said, "<outline>")
		if from < 0 {
			t.Fatal("there are none")
		}
		if err := xml.Unmarshal([]byte("<x>"+said[from:strings.LastIndex(said, "</outline>")]+"</outline></x>"), &doc); err != nil {
			t.Fatal(err)
		}
		var heads []string
		last := 0
		for _, i := range doc.Outline.Items {
			heads = append(heads, i.Text)
			if i.Page <= last {
				t.Errorf("%s is on page %d, after page %d", i.Text, i.Page, last)
			}
			last = i.Page
		}
		for _, name := range Sheets() {
			if !slices.Contains(heads, SheetTitle(name)) {
				t.Errorf("%s has no bookmark among %q", SheetTitle(name), heads)
			}
		}
		posts := 0
		for _, b := range doc.Outline.Below {
			posts += len(b.Items)
		}
		if posts < len(in.Scene.Devices) {
			t.Errorf("%d bookmarks of the second level for %d devices", posts, len(in.Scene.Devices))
		}
	})
	t.Run("the file is whole", func(t *testing.T) {
		if said := poppler(t, b.Bytes(), "qpdf", "--check", "PDF"); !strings.Contains(said, "No syntax or stream encoding errors found") {
			t.Error(said)
		}
	})
	if !bytes.Contains(b.Bytes(), []byte("/ViewerPreferences <</DisplayDocTitle true>>")) {
		t.Error("the title is not asked for in the title bar (ISO 32000-1, table 150)")
	}
}
