package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// root is the repository, seen from this package.
const root = "../.."

// A sourceFile is one file of Go that is no test, and what it imports.
type sourceFile struct {
	pkg     string // folder, such as "model/scene"
	file    string
	imports []string
}

// sources parses every file of Go that is no test. It does not ask the go
// command: such an answer is served stale from the test cache.
func sources(t *testing.T) (out []sourceFile) {
	t.Helper()
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		if d.IsDir() {
			if rel != "." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "bin") {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(rel, ".go") || strings.HasSuffix(rel, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		s := sourceFile{pkg: path.Dir(rel), file: rel}
		for _, i := range f.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, p)
		}
		out = append(out, s)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 50 {
		t.Fatalf("only %d files of Go found", len(out))
	}
	return out
}

// under reports whether pkg is one of the named folders or below it.
func under(pkg string, folders ...string) bool {
	return slices.ContainsFunc(folders, func(f string) bool { return pkg == f || strings.HasPrefix(pkg, f+"/") })
}

// own returns the folder of an import of this module.
func own(imported string) (pkg string, ok bool) { return strings.CutPrefix(imported, "pleach/") }

// isStandard reports whether an import is of the standard library: its first
// element has no dot.
func isStandard(imported string) bool {
	first, _, _ := strings.Cut(imported, "/")
	return first != "pleach" && !strings.Contains(first, ".")
}

// isTool reports whether a package is run by hand or by tests, and so is bound
// by no arrow.
func isTool(pkg string) bool {
	return under(pkg, "assets/demo", "testdata") || strings.HasSuffix(pkg, "test")
}

func TestTheModelImportsOnlyTheStandardLibraryAndOrb(t *testing.T) {
	for _, s := range sources(t) {
		if !under(s.pkg, "model") {
			continue
		}
		for _, i := range s.imports {
			mine, isOwn := own(i)
			switch {
			case isOwn && under(mine, "model"), under(i, "github.com/paulmach/orb"):
			case isStandard(i) && !under(i, "os", "net", "syscall", "plugin"):
			default:
				t.Errorf("%s imports %s: model imports the standard library without os and net, orb, and model", s.file, i)
			}
		}
	}
}

func TestEachOutsideLibraryHasItsOnlyHome(t *testing.T) {
	homes := map[string][]string{
		"github.com/lukeroth/gdal":   {"gis/gdal"},
		"fyne.io":                    {"ui/app", "ui/mapview", "ui/panel"},
		"github.com/twpayne/go-geom": {"gis/exchange"},
		"codeberg.org/go-pdf/fpdf":   {"ui/paper"},
		"rsc.io/qr":                  {"ui/paper"},
		"C":                          {"gis/gdal"},
	}
	for _, s := range sources(t) {
		for _, i := range s.imports {
			for library, at := range homes {
				if under(i, library) && !under(s.pkg, at...) {
					t.Errorf("%s imports %s: only %s does", s.file, i, strings.Join(at, ", "))
				}
			}
		}
	}
}

func TestOnlyTheWindowAndTheCommandsReadFiles(t *testing.T) {
	for _, s := range sources(t) {
		if isTool(s.pkg) || under(s.pkg, "gis", "ui/app", "cmd") {
			continue
		}
		for _, i := range s.imports {
			if pkg, ok := own(i); ok && under(pkg, "gis") {
				t.Errorf("%s imports %s: only ui/app and cmd import gis", s.file, i)
			}
		}
	}
}

// levels is how high a package stands: imports point down.
var levels = map[string]int{
	"model/spectrum": -1,
	"model":          0,
	"model/sitegrid": 1, "model/layer": 1, "model/terrain": 1, "model/picture": 1, "model/sun": 1, "model/contrast": 1, "model/trial": 1, "model/calibration": 1,
	"model/scene":   2,
	"model/contour": 1, "model/coverage": 3, "model/pattern": 3, "model/radio": 3, "model/wayin": 3,
	"model/analysis": 4, "model/aim": 4, "model/address": 4,
	"model/report": 5, "model/order": 5, "model/layout": 5, "model/signal": 5, "model/siting": 5, "model/handover": 6, "model/compare": 5,
	"ui/drawing": 6,
	"ui/paint":   7, "ui/paper": 7, "ui/editor": 7,
	"ui/mapview": 8, "ui/panel": 8, "ui/export": 8,
	"ui/app":     9,
	"cmd/pleach": 10, "cmd/pleach/quiet": 0,
}

// gisLevels are those within gis, which stands beside model's nouns.
var gisLevels = map[string]int{"gis/gdal": 0, "gis/planfile": 0, "gis/imagery": 1, "gis/exchange": 1, "gis/elevation": 2}

// belowGIS is the highest level of model that gis imports: its nouns, the site
// grid, terrain, picture and layers.
const belowGIS = 1

func TestImportsPointDown(t *testing.T) {
	for _, s := range sources(t) {
		if isTool(s.pkg) {
			continue
		}
		level, known := levels[s.pkg]
		gisLevel, isGIS := gisLevels[s.pkg]
		if !known && !isGIS && !under(s.pkg, "assets") {
			t.Errorf("%s: package %s has no level: say in imports_test.go where it stands", s.file, s.pkg)
			continue
		}
		for _, i := range s.imports {
			pkg, ok := own(i)
			if !ok {
				continue
			}
			other, inLevels := levels[pkg]
			otherGIS, toGIS := gisLevels[pkg]
			switch {
			case isTool(pkg):
				t.Errorf("%s imports %s, which is for tests and tools", s.file, i)
			case under(s.pkg, "assets"):
				t.Errorf("%s imports %s: assets import nothing of ours", s.file, i)
			case under(pkg, "assets"):
			case isGIS && toGIS:
				if otherGIS >= gisLevel {
					t.Errorf("%s imports %s: imports point down", s.file, i)
				}
			case isGIS:
				if !inLevels || other > belowGIS {
					t.Errorf("%s imports %s: gis imports model, its site grid, terrain, picture and layers", s.file, i)
				}
			case toGIS: // kept by the test above
			case !inLevels:
				t.Errorf("%s imports %s, which has no level: say in imports_test.go where it stands", s.file, i)
			case other >= level:
				t.Errorf("%s imports %s: imports point down", s.file, i)
			}
		}
	}
}

func TestTheTopOfTheRepositoryHoldsWhatItShould(t *testing.T) {
	folders := []string{"cmd", "ui", "gis", "model", "assets", "testdata", ".ci"}
	files := []string{"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "FyneApp.toml", "Makefile", "LICENSE", ".gitignore"}
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	var have []string
	for _, e := range entries {
		name := e.Name()
		have = append(have, name)
		switch {
		case name == ".git" || name == "bin":
		case e.IsDir() && !slices.Contains(folders, name):
			t.Errorf("folder %s does not belong at the top", name)
		case !e.IsDir() && !slices.Contains(files, name) && slices.Contains([]string{"", ".go", ".md", ".mod", ".sum", ".toml", ".sh"}, path.Ext(name)):
			t.Errorf("file %s does not belong at the top", name)
		}
	}
	for _, want := range append(folders, files...) {
		if !slices.Contains(have, want) {
			t.Errorf("%s is missing at the top", want)
		}
	}
}
