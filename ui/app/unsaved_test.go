package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pleach/gis/planfile"
	"pleach/model"
)

// keeping has a window keep its unsaved work in a folder, at once.
func keeping(w *window, folder string) {
	w.safe = safe{folder: folder, keeper: planfile.NewKeeper(folder), later: func(f func()) { f() }}
}

// works is how many copies of unsaved work lie in a folder.
func works(t *testing.T, folder string) int {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(folder, "*", "work"))
	if err != nil {
		t.Fatal(err)
	}
	return len(list)
}

// die lets the locks go as the end of a program does.
func die(t *testing.T, folder string) {
	t.Helper()
	locks, err := filepath.Glob(filepath.Join(folder, "*", "lock"))
	if err != nil || len(locks) == 0 {
		t.Fatalf("nothing is kept: %v", err)
	}
	for _, l := range locks {
		// A new file of the name is held by nobody.
		if err := os.Remove(l); err != nil {
			t.Fatal(err)
		}
	}
}

func nudge(w *window) {
	w.ed.Select(w.ed.Plan().Of(model.KindSensor)[0].ID)
	w.ed.Nudge(1, 0)
	w.ed.Settle()
}

func TestUnsavedWorkIsKeptUntilItIsSavedUndoneOrGivenUp(t *testing.T) {
	for name, end := range map[string]func(w *window){
		"saved":  func(w *window) { w.save(nil) },
		"undone": func(w *window) { w.ed.Undo() },
		"another plan": func(w *window) {
			w.ifSaved(func() { w.adopt(model.NewPlan(), "") })
			tapButton(t, w, "Do not save")
		},
		"closed": func(w *window) {
			w.close()
			tapButton(t, w, "Do not save")
		},
	} {
		t.Run(name, func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "unsaved")
			w := open(t, demoCopy(t))
			keeping(w, folder)
			w.wantSafe()
			if n := works(t, folder); n != 0 {
				t.Fatalf("%d copies of a plan that is saved", n)
			}
			nudge(w)
			if n := works(t, folder); n != 1 {
				t.Fatalf("%d copies of unsaved work", n)
			}
			end(w)
			if n := works(t, folder); n != 0 {
				t.Errorf("%d copies are left", n)
			}
		})
	}
}

func TestADragIsNotWrittenOnItsWay(t *testing.T) {
	folder := t.TempDir()
	w := open(t, demoCopy(t))
	keeping(w, folder)
	var waiting []func()
	w.safe.later = func(f func()) { waiting = append(waiting, f) }
	nudge(w)
	nudge(w)
	if len(waiting) != 1 || works(t, folder) != 0 {
		t.Fatalf("%d waits and %d copies after two changes", len(waiting), works(t, folder))
	}
	waiting[0]()
	if works(t, folder) != 1 || w.safe.kept != w.ed.Settled() {
		t.Error("the work is not kept once the time has come")
	}
	w.wantSafe()
	if len(waiting) != 1 {
		t.Error("what is kept is to be kept again")
	}
}

func TestUnsavedWorkIsOfferedWhenThePlanIsOpenedAgain(t *testing.T) {
	folder, path := t.TempDir(), demoCopy(t)
	w := open(t, path)
	keeping(w, folder)
	nudge(w)
	mine := string(w.ed.Plan().JSON())
	again := func(t *testing.T) *window {
		t.Helper()
		w := open(t, "")
		keeping(w, folder)
		w.start(path)
		return w
	}
	if s := dialogText(again(t)); s != "" {
		t.Fatalf("the work of a window that is open is offered: %q", s)
	}
	die(t, folder)

	v := again(t)
	if s := dialogText(v); !strings.Contains(s, "Unsaved work of "+time.Now().Format("15:")) || !strings.Contains(s, "demo.geojson") {
		t.Fatalf("it is not offered: %q", s)
	}
	tapButton(t, v, "Not now")
	if works(t, folder) != 1 || v.ed.Unsaved() {
		t.Fatal("putting it off did something else")
	}
	v.open(demoCopy(t))
	if s := dialogText(v); s != "" {
		t.Fatalf("it is offered for another plan: %q", s)
	}

	v = again(t)
	tapButton(t, v, "Open it")
	if string(v.ed.Plan().JSON()) != mine || !v.ed.Unsaved() || v.path != path {
		t.Fatal("the work is not shown")
	}
	if n := works(t, folder); n != 1 {
		t.Errorf("%d copies while it is still unsaved", n)
	}
	v.ed.Undo()
	if v.ed.Unsaved() || works(t, folder) != 0 {
		t.Error("undo does not lead back to the file")
	}
	v.ed.Redo()
	v.save(nil)
	if data, _ := os.ReadFile(path); string(data) != mine || works(t, folder) != 0 {
		t.Error("it is not saved")
	}

	nudge(v)
	die(t, folder)
	v = again(t)
	tapButton(t, v, "Discard it")
	if works(t, folder) != 0 || v.ed.Unsaved() {
		t.Error("it is not discarded")
	}
}

func TestWorkOnAPlanNeverSavedIsOfferedAtTheStart(t *testing.T) {
	folder, path := t.TempDir(), demoCopy(t)
	w := open(t, "")
	keeping(w, folder)
	if err := makePlan(w, sources{title: "My Yard", image: demoPicture(t), crs: "EPSG:32630"}); err != nil {
		t.Fatal(err)
	}
	origin := w.origin
	die(t, folder)

	v := open(t, "")
	keeping(v, folder)
	v.start(path)
	if s := dialogText(v); !strings.Contains(s, "My Yard") {
		t.Fatalf("it is not offered: %q", s)
	}
	tapButton(t, v, "Open it")
	if v.path != "" || v.ed.Plan().Settings.Title != "My Yard" || !v.ed.Unsaved() || v.origin != origin || v.pic == nil {
		t.Errorf("it is not shown as it was: %q, %v", v.path, v.ed.Unsaved())
	}
	if n := works(t, folder); n != 1 {
		t.Errorf("%d copies while it is still unsaved", n)
	}
}

func TestWorkOnAPlanWhoseFileIsGoneOrBrokenIsOfferedAtTheStart(t *testing.T) {
	for name, spoil := range map[string]func(path string) error{
		"gone":   os.Remove,
		"broken": func(path string) error { return os.WriteFile(path, []byte("{"), 0o644) },
	} {
		t.Run(name, func(t *testing.T) {
			folder, path := t.TempDir(), demoCopy(t)
			w := open(t, path)
			keeping(w, folder)
			nudge(w)
			mine := string(w.ed.Plan().JSON())
			die(t, folder)
			if err := spoil(path); err != nil {
				t.Fatal(err)
			}
			v := open(t, "")
			keeping(v, folder)
			v.start(path)
			tapButton(t, v, "Open it")
			if string(v.ed.Plan().JSON()) != mine || v.path != path || !v.ed.Unsaved() {
				t.Error("the work is not shown")
			}
		})
	}
}

func TestDamagedUnsavedWorkStopsNoStart(t *testing.T) {
	folder, path := t.TempDir(), demoCopy(t)
	w := open(t, path)
	keeping(w, folder)
	nudge(w)
	die(t, folder)
	list, _ := filepath.Glob(filepath.Join(folder, "*", "work"))
	data, err := os.ReadFile(list[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(list[0], data[:len(data)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	v := open(t, "")
	keeping(v, folder)
	v.start(path)
	if s := dialogText(v); s != "" || v.path != path {
		t.Errorf("the start says %q", s)
	}
}
