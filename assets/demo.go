// Package assets holds what comes with the program.
package assets

import (
	"crypto/sha256"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// demo is the demo plan with its picture, an invented site.
//
//go:embed demo/demo.geojson demo/aerial.jpg demo/aerial.jgw
var demo embed.FS

// UnpackDemo puts the demo where the user can work on it, below DataFolder, and
// returns the path of its plan. What is there already is left alone, so edits of
// an earlier day are found again; a program with another demo uses another
// folder.
func UnpackDemo() (plan string, err error) {
	folder, err := DataFolder()
	if err != nil {
		return "", fmt.Errorf("unpack the demo: %w", err)
	}
	return unpackDemo(folder)
}

func unpackDemo(folder string) (plan string, err error) {
	files, err := fs.ReadDir(demo, "demo")
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	contents := map[string][]byte{}
	for _, f := range files {
		data, err := demo.ReadFile("demo/" + f.Name())
		if err != nil {
			return "", err
		}
		contents[f.Name()] = data
		sum.Write(data)
	}
	folder = filepath.Join(folder, fmt.Sprintf("demo-%x", sum.Sum(nil)[:4]))
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return "", fmt.Errorf("unpack the demo: %w", err)
	}
	// The plan comes last: where it stands, all stands.
	for _, name := range []string{"aerial.jpg", "aerial.jgw", "demo.geojson"} {
		if err := putNew(filepath.Join(folder, name), contents[name]); err != nil {
			return "", fmt.Errorf("unpack the demo: %w", err)
		}
	}
	return filepath.Join(folder, "demo.geojson"), nil
}

// putNew writes a file, whole or not at all, unless there is one.
func putNew(path string, data []byte) error {
	if _, err := os.Lstat(path); err == nil {
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// DataFolder returns the user's folder for this program's own files: pleach in
// XDG_DATA_HOME or .local/share, in Application Support, or in LocalAppData. It
// need not exist.
func DataFolder() (string, error) {
	base := os.Getenv("XDG_DATA_HOME")
	if !filepath.IsAbs(base) {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", errors.New("the home folder is not known: set HOME")
		}
		switch runtime.GOOS {
		case "windows":
			if base = os.Getenv("LocalAppData"); base == "" {
				base = filepath.Join(home, "AppData", "Local")
			}
		case "darwin":
			base = filepath.Join(home, "Library", "Application Support")
		default:
			base = filepath.Join(home, ".local", "share")
		}
	}
	return filepath.Join(base, "pleach"), nil
}
