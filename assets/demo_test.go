package assets

import (
	"os"
	"path/filepath"
	"testing"

	"pleach/gis/planfile"
)

func TestTheDemoIsUnpackedOnceAndEditsOfItAreKept(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	path, err := UnpackDemo()
	if err != nil {
		t.Fatal(err)
	}
	p, err := planfile.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	if flaws := p.AllFlaws(); len(flaws) > 0 {
		t.Errorf("the demo has flaws: %v", flaws)
	}
	if _, err := os.Stat(filepath.Join(filepath.Dir(path), filepath.FromSlash(p.Settings.BaseMap.File))); err != nil {
		t.Errorf("the demo's picture: %v", err)
	}
	if err := os.WriteFile(path, []byte("edited"), 0o666); err != nil {
		t.Fatal(err)
	}
	again, err := UnpackDemo()
	if err != nil || again != path {
		t.Fatalf("unpacked again to %s, error %v; first to %s", again, err, path)
	}
	if now, _ := os.ReadFile(path); string(now) != "edited" {
		t.Error("unpacking again undid an edit")
	}
	if names, _ := os.ReadDir(filepath.Dir(path)); len(names) != 3 {
		t.Errorf("left behind: %v", names)
	}
}
