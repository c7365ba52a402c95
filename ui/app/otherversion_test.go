package app

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"fyne.io/fyne/v2/widget"

	"pleach/gis/planfile"
	"pleach/model"
)

// changedByAnother opens a copy of the demo, has another program change the title
// in its file, and moves a sensor in the window.
func changedByAnother(t *testing.T) (w *window, path string, theirs []byte) {
	t.Helper()
	path = demoCopy(t)
	w = open(t, path)
	p, err := model.Change{Path: "title", Value: "Theirs"}.Apply(w.ed.Plan())
	if err != nil {
		t.Fatal(err)
	}
	theirs = p.JSON()
	if err := os.WriteFile(path, theirs, 0o644); err != nil {
		t.Fatal(err)
	}
	w.ed.Select(w.an.last.Sensors[0].ID)
	w.ed.Nudge(1, 0)
	return w, path, theirs
}

func holdsBytes(t *testing.T, path string, want []byte) {
	t.Helper()
	if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%s holds something else than it should (%v)", path, err)
	}
}

func TestWhatAnotherProgramWroteIsNotSavedOverUnasked(t *testing.T) {
	t.Run("keep working", func(t *testing.T) {
		w, path, theirs := changedByAnother(t)
		w.lookAtFile()
		if s := w.status.Text(); !strings.Contains(s, "changed by another program") {
			t.Errorf("the status line says %q", s)
		}
		said := 0
		w.save(func(bool) { said++ })
		if s := dialogText(w); !strings.Contains(s, "has changed since it was opened") {
			t.Fatalf("it was not asked: %q", s)
		}
		tapButton(t, w, "Keep working")
		if !w.ed.Unsaved() || said != 1 {
			t.Error("keeping on working did something else")
		}
		holdsBytes(t, path, theirs)
		w.save(nil)
		if s := dialogText(w); !strings.Contains(s, "has changed since it was opened") {
			t.Errorf("it is asked once only: %q", s)
		}
	})
	t.Run("save over it", func(t *testing.T) {
		w, path, theirs := changedByAnother(t)
		w.save(nil)
		tapButton(t, w, "Save over it")
		holdsBytes(t, path, w.ed.Plan().JSON())
		holdsBytes(t, path+planfile.BackupSuffix, theirs)
		w.ed.Nudge(1, 0)
		w.save(nil)
		if s := dialogText(w); s != "" || w.ed.Unsaved() {
			t.Errorf("the file is the window's own again, and yet it is asked: %q", s)
		}
	})
	t.Run("save as", func(t *testing.T) {
		w, path, theirs := changedByAnother(t)
		w.save(nil)
		tapButton(t, w, "Save as…")
		name, _ := nameAndSave(w.win.Canvas().Overlays().Top().(*widget.PopUp).Content)
		name.SetText("mine.geojson")
		tapButton(t, w, "Save")
		if s := dialogText(w); s != "" || w.ed.Unsaved() || !strings.HasSuffix(w.path, "mine.geojson") {
			t.Fatalf("not saved as another file: %q, %s", s, w.path)
		}
		holdsBytes(t, path, theirs)
		holdsBytes(t, w.path, w.ed.Plan().JSON())
	})
	t.Run("open the other version", func(t *testing.T) {
		w, path, theirs := changedByAnother(t)
		w.save(nil)
		mine := w.ed.Plan()
		tapButton(t, w, "Open the other version")
		if w.ed.Plan().Settings.Title != "Theirs" || w.ed.Unsaved() || w.an.last.Plan != w.ed.Plan() {
			t.Fatal("the other version is not shown")
		}
		holdsBytes(t, path, theirs)
		if !w.ed.Undo() || w.ed.Plan() != mine || !w.ed.Unsaved() {
			t.Fatal("undo does not bring the window's own work back")
		}
		w.save(nil)
		if s := dialogText(w); s != "" {
			t.Errorf("both versions are known, and yet it is asked: %q", s)
		}
		holdsBytes(t, path+planfile.BackupSuffix, theirs)
	})
}

func TestAFileWrittenAnewWithTheSameBytesAsksNothing(t *testing.T) {
	w, path, _ := changedByAnother(t)
	if err := os.WriteFile(path, w.ed.Plan().JSON(), 0o644); err != nil {
		t.Fatal(err)
	}
	w.lookAtFile()
	w.save(nil)
	if s := dialogText(w); s != "" || w.other || w.ed.Unsaved() {
		t.Errorf("it is asked about the very same plan: %q", s)
	}
}
