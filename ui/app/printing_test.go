package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"pleach/ui/panel"
	"pleach/ui/paper"
)

func TestSheetsAreChosenOneByOneOrByWhomTheyAreFor(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&panel.Look{})
	c := newSheetChoice()
	said := func() string { return c.preset.Words() }
	if got := strings.Join(c.names(), " "); got != "layout" || said() != "the layout" {
		t.Errorf("at first %q, %q", got, said())
	}
	c.checks["bill"].SetChecked(true)
	if got := strings.Join(c.names(), " "); got != "layout bill" || said() != asTicked {
		t.Errorf("with the bill %q, %q", got, said())
	}
	c.checks["bill"].SetChecked(false)
	if said() != "the layout" {
		t.Errorf("the layout alone again: %q", said())
	}
	for _, o := range presets() {
		c.preset.Commit(o.Value)
		if got := strings.Join(c.names(), " "); got != o.Value || said() != o.Label {
			t.Errorf("%s: %q, %q", o.Label, got, said())
		}
		if _, err := paper.ParseSheets(o.Value.(string)); err != nil {
			t.Error(err)
		}
	}
	if len(c.checks) != len(paper.Sheets()) || len(c.ticks.Objects) != len(paper.Sheets()) {
		t.Errorf("%d ticks for %d sheets", len(c.ticks.Objects), len(paper.Sheets()))
	}
}

func TestAFilesAddressHoldsItsSpaces(t *testing.T) {
	if got := fileURL("/a folder/the plan.pdf").String(); got != "file:///a%20folder/the%20plan.pdf" {
		t.Error(got)
	}
}
