package planfile

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pleach/model"
)

// abandon lets go of a keeper's lock as the end of its program does.
func abandon(k *Keeper) { k.lock.Close() }

func titled(t *testing.T, title string) *model.Plan {
	t.Helper()
	p, err := Parse("p", []byte(plan))
	if err != nil {
		t.Fatal(err)
	}
	if p, err = (model.Change{Path: "title", Value: title}).Apply(p); err != nil {
		t.Fatal(err)
	}
	return p
}

func TestUnsavedWorkIsFoundOnceItsProgramHasEnded(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data", "unsaved")
	if got := Leftovers(folder); got != nil {
		t.Fatalf("in a folder that is not there: %v", got)
	}
	at := time.Date(2026, 3, 4, 14, 5, 0, 0, time.UTC)
	one, two := NewKeeper(folder), NewKeeper(folder)
	for _, title := range []string{"first", "second"} {
		if err := one.Keep(Work{Path: "/site/p.geojson", At: at, Plan: titled(t, title)}); err != nil {
			t.Fatal(err)
		}
	}
	if err := two.Keep(Work{Origin: "/pictures", At: at.Add(time.Hour), Plan: titled(t, "new")}); err != nil {
		t.Fatal(err)
	}
	if got := Leftovers(folder); len(got) != 0 {
		t.Fatalf("the work of the living is offered: %v", got)
	}
	abandon(one)
	abandon(two)
	got := Leftovers(folder)
	if len(got) != 2 || got[0].Origin != "/pictures" || got[1].Path != "/site/p.geojson" || !got[1].At.Equal(at) {
		t.Fatalf("found %+v", got)
	}
	if want := titled(t, "second"); !bytes.Equal(got[1].Plan.JSON(), want.JSON()) {
		t.Errorf("found\n%s\nwant\n%s", got[1].Plan.JSON(), want.JSON())
	}
	got[0].Discard()
	if got = Leftovers(folder); len(got) != 1 || got[0].Path == "" {
		t.Errorf("after one was discarded: %+v", got)
	}
}

func TestWorkThatIsDroppedLeavesNothing(t *testing.T) {
	folder := t.TempDir()
	k := NewKeeper(folder)
	k.Drop()
	for range 2 {
		if err := k.Keep(Work{Plan: titled(t, "x")}); err != nil {
			t.Fatal(err)
		}
		k.Drop()
	}
	k.Close()
	if err := k.Keep(Work{Plan: titled(t, "late")}); err != nil {
		t.Fatal(err)
	}
	if list, err := os.ReadDir(folder); err != nil || len(list) != 0 {
		t.Errorf("there is still %v, %v", list, err)
	}
}

func TestDamagedWorkIsPassedOverAndLeftInItsPlace(t *testing.T) {
	folder := t.TempDir()
	k := NewKeeper(folder)
	if err := k.Keep(Work{Plan: titled(t, "x")}); err != nil {
		t.Fatal(err)
	}
	abandon(k)
	path := filepath.Join(k.own, workName)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	turned := bytes.Replace(whole, []byte(`"x"`), []byte(`"y"`), 1)
	for name, data := range map[string][]byte{
		"empty": nil, "cut short": whole[:len(whole)/2], "the head alone": whole[:bytes.IndexByte(whole, '\n')+1], "zeros": make([]byte, 4096),
		"a byte turned": turned, "no plan": []byte("{\"sha256\":\"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855\"}\n"),
	} {
		t.Run(name, func(t *testing.T) {
			if err := os.WriteFile(path, data, 0o600); err != nil {
				t.Fatal(err)
			}
			if got := Leftovers(folder); len(got) != 0 {
				t.Errorf("found %+v", got)
			}
			if _, err := os.Stat(path); err != nil {
				t.Error(err)
			}
		})
	}
	if err := os.WriteFile(path, whole, 0o600); err != nil || len(Leftovers(folder)) != 1 {
		t.Errorf("whole again, it is not found: %v", err)
	}
}

func TestAFolderThatCannotBeMadeIsSaid(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := NewKeeper(file).Keep(Work{Plan: titled(t, "x")}); err == nil {
		t.Error("kept in a folder that is a file")
	}
}
