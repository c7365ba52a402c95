package app

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/widget"

	"pleach/ui/export"
)

func TestExportingWritesEveryFormatAndNeverOverThePlan(t *testing.T) {
	w := open(t, demoCopy(t))
	begins := map[string]string{".gpkg": "SQLite format 3", ".kml": "<?xml", ".gpx": "<?xml", ".dxf": "999", ".csv": "Sensors", ".xlsx": "PK", ".geojson": "{\"type\"", ".png": "\x89PNG", ".svg": "<?xml"}
	for _, format := range export.Formats {
		to := filepath.Join(t.TempDir(), "out"+format)
		w.exportTo(to, format, 0)
		data, err := os.ReadFile(to)
		if err != nil || begins[format] == "" || !bytes.Contains(data[:min(len(data), 40)], []byte(begins[format])) {
			t.Fatalf("%s: %v, begins %q; the window says %q, %q", format, err, data[:min(len(data), 40)], w.status.Text(), dialogText(w))
		}
		if !strings.Contains(w.status.Text(), to) {
			t.Errorf("the window says %q", w.status.Text())
		}
		if export.Title(format) == "" {
			t.Errorf("%s has no title", format)
		}
	}
	before, err := os.ReadFile(w.path)
	if err != nil {
		t.Fatal(err)
	}
	w.exportTo(w.path, ".geojson", 0)
	after, err := os.ReadFile(w.path)
	if err != nil || !bytes.Equal(before, after) || !strings.Contains(dialogText(w), "it is the plan itself") {
		t.Errorf("the plan was written over, %v; the window says %q", err, dialogText(w))
	}
}

func TestExportAsksForAFormatAndAName(t *testing.T) {
	w := open(t, demoCopy(t))
	w.export()
	if s := dialogText(w); !strings.Contains(s, "GeoPackage") {
		t.Fatalf("the dialog says %q", s)
	}
	tapButton(t, w, "Write the file…")
	top, ok := w.win.Canvas().Overlays().Top().(*widget.PopUp)
	if !ok {
		t.Fatal("there is no dialog for the name")
	}
	name, _ := nameAndSave(top.Content)
	if name == nil || filepath.Ext(name.Text) != ".gpkg" {
		t.Fatalf("the name proposed is %v", name)
	}
	to := filepath.Join(t.TempDir(), "site.gpkg")
	name.SetText(to)
	tapButton(t, w, "Save")
	if _, err := os.Stat(to); err != nil {
		t.Errorf("%v; the window says %q, %q", err, w.status.Text(), dialogText(w))
	}
}
