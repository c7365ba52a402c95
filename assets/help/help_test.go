package help

import (
	"strings"
	"testing"
	"testing/fstest"

	"pleach/model"
)

func TestEveryPageIsListedAndHasATitle(t *testing.T) {
	if err := fstest.TestFS(files, "first-plan.md"); err != nil {
		t.Fatal(err)
	}
	entries, err := files.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	pages := Pages()
	if len(pages) != len(entries) {
		t.Errorf("%d pages listed, %d files", len(pages), len(entries))
	}
	for _, p := range pages {
		if !strings.HasPrefix(p.Text, "# ") || p.Title == "" {
			t.Errorf("%s has no title", p.Name)
		}
	}
}

// The page of the plan file names every kind and every property that the
// program knows, so that it cannot fall behind.
func TestThePageOfThePlanFileNamesEveryKindAndProperty(t *testing.T) {
	var text string
	for _, p := range Pages() {
		if p.Name == "plan-file" {
			text = p.Text
		}
	}
	for _, k := range model.Catalogue {
		if !strings.Contains(text, "`"+string(k.Kind)+"`") {
			t.Errorf("kind %s is not on the page", k.Kind)
		}
		for _, p := range k.Properties {
			if !strings.Contains(text, "`"+p.Name+"`") {
				t.Errorf("property %s of %s is not on the page", p.Name, k.Kind)
			}
		}
	}
	for _, l := range model.Lists {
		for _, name := range append([]model.Property{{Name: l.Path}}, l.Properties...) {
			if !strings.Contains(text, "`"+name.Name+"`") {
				t.Errorf("%s of the list %s is not on the page", name.Name, l.Path)
			}
		}
	}
	for _, s := range model.SettingsTable {
		if !strings.Contains(text, "`"+s.Path+"`") {
			t.Errorf("setting %s is not on the page", s.Path)
		}
	}
}
