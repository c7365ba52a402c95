// Package opendata finds the folder of published check values and open data
// files that some tests read in place. The files are not part of the
// repository; without them those tests skip.
package opendata

import (
	"os"
	"path/filepath"
	"testing"
)

// Dir returns the folder of check values and open data: the one named by
// PLEACH_OPEN_DATA, or "shared" beside the repository. It skips the test where
// there is none.
func Dir(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("PLEACH_OPEN_DATA")
	if dir == "" {
		wd, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(wd, "go.mod")); err == nil {
				break
			}
			up := filepath.Dir(wd)
			if up == wd {
				t.Fatal("no go.mod above the test's folder")
			}
			wd = up
		}
		dir = filepath.Join(filepath.Dir(wd), "shared")
	}
	if _, err := os.Stat(filepath.Join(dir, "checks")); err != nil {
		t.Skipf("no open data in %s: set PLEACH_OPEN_DATA to the folder that holds checks/ and data/", dir)
	}
	return dir
}
