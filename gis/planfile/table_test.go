package planfile

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestATableIsReadAndOneThatCannotBeIsNamedWithTheReason(t *testing.T) {
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	all := func(r io.Reader) (string, error) {
		b, err := io.ReadAll(r)
		return string(b), err
	}
	const most = 1 << 20
	good := file("good.csv", "code,price\n")
	if got, err := ReadTable(good, "table of prices", most, all); err != nil || got != "code,price\n" {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := ReadTable(file("empty.csv", ""), "table of prices", most, all); err != nil || got != "" {
		t.Errorf("an empty file: %q, %v", got, err)
	}
	for path, want := range map[string]string{
		filepath.Join(dir, "gone.csv"): "no such file",
		dir:                            "is a folder and no table of prices",
		os.DevNull:                     "is not an ordinary file",
		"/dev/zero":                    "is not an ordinary file", // it never ends
		file("large.csv", strings.Repeat("x", most+1)): "at most 1 MB are read of a table of prices",
	} {
		if _, err := os.Stat(path); path == "/dev/zero" && err != nil {
			continue
		}
		if _, err := ReadTable(path, "table of prices", most, all); err == nil || !strings.HasPrefix(err.Error(), path+": ") || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want the name and %q", path, err, want)
		}
	}
	_, err := ReadTable(good, "table of prices", most, func(io.Reader) (int, error) { return 0, errors.Join(errors.New("line 2: a"), errors.New("line 3: b")) })
	if want := good + ": line 2: a\n" + good + ": line 3: b"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}
