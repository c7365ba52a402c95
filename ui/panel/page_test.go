package panel

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"pleach/assets/help"
)

// words joins runs with their styles shown.
func words(runs []run) string {
	var b strings.Builder
	for _, r := range runs {
		switch {
		case r.code:
			b.WriteString("‹" + r.text + "›")
		case r.strong:
			b.WriteString("«" + r.text + "»")
		default:
			b.WriteString(r.text)
		}
	}
	return b.String()
}

func TestAPageIsReadAsItsBlocks(t *testing.T) {
	got := parsePage("# Title\n\nA **strong** word,\n`code` and a [link](there.md).\n\n1. First\n   goes on\n- Second\n\n| a | b |\n|---|---|\n| `x` | 1 \\| 2 |\n\n```\nline  one\n```\n\n    indented\n")
	want := []struct {
		kind blockKind
		text string
	}{{blockHeading, "Title"}, {blockText, "A «strong» word, ‹code› and a link."}, {blockItem, "First goes on"}, {blockItem, "Second"}, {blockTable, ""}, {blockCode, ""}, {blockCode, ""}}
	if len(got) < len(want)-1 {
		t.Fatalf("%d blocks: %+v", len(got), got)
	}
	for i, w := range want[:5] {
		if got[i].kind != w.kind || words(got[i].runs) != w.text {
			t.Errorf("block %d is %d %q, want %d %q", i, got[i].kind, words(got[i].runs), w.kind, w.text)
		}
	}
	if rows := got[4].rows; len(rows) != 2 || words(rows[1][0]) != "‹x›" || words(rows[1][1]) != "1 | 2" {
		t.Errorf("table %+v", rows)
	}
	if got[2].mark != "1." || got[3].mark != "–" {
		t.Errorf("marks %q and %q", got[2].mark, got[3].mark)
	}
	if got[5].lines[0] != "line  one" {
		t.Errorf("code %q", got[5].lines)
	}
}

func TestEveryPageOfHelpStaysWithinItsWidth(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	for _, pg := range help.Pages() {
		t.Run(pg.Name, func(t *testing.T) {
			p := NewPage()
			p.SetText(help.Text(pg.Name))
			for _, width := range []float32{480, 700} {
				p.Resize(fyne.NewSize(width, 100))
				r := test.TempWidgetRenderer(t, p)
				r.Refresh()
				if len(r.Objects()) < 2 {
					t.Fatal("the page is empty")
				}
				for _, o := range r.Objects() {
					tx, ok := o.(*canvas.Text)
					if !ok {
						continue
					}
					if right := tx.Position().X + fyne.MeasureText(tx.Text, tx.TextSize, tx.TextStyle).Width; right > width+40 {
						t.Errorf("at width %v, %q reaches to %v", width, tx.Text, right)
					}
				}
			}
		})
	}
}
