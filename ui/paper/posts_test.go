package paper

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/radio"
)

func TestALongNameAndPickedTermsKeepAPostSheetToOnePage(t *testing.T) {
	in := site(t, orb.LineString{{0, 0}, {400, 0}}, 1)
	edit := func(name string, terms []radio.Term, note string) Input {
		t.Helper()
		var list []map[string]any
		for _, x := range terms {
			list = append(list, map[string]any{"what": x.Name, "db": x.DB})
		}
		p, err := (model.Set{ID: "S1", Values: []model.Value{{Property: "name", Value: name}, {Property: "note", Value: note},
			{Property: "radio", Value: map[string]any{"installation_terms": list}}}}).Apply(in.Plan)
		if err != nil {
			t.Fatal(err)
		}
		r, err := analysis.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return Input{Plan: p, Scene: r.Scene, Result: r}
	}
	long := "North side opposite the visitor centre, behind the third flagpole, next to the drain cover and hydrant 14b"
	opt := Options{Sheets: []string{"posts"}, Paper: A4}
	pagesOf := func(in Input) (out []string) {
		f, _ := printed(t, in, opt)
		for _, p := range f.pages {
			if text := strings.ReplaceAll(p.text(), string(hardSpace), " "); strings.Contains(text, "Post sheet S1") {
				out = append(out, text)
			}
		}
		return out
	}
	usual := radio.DefaultTerms(radio.Sensor)
	if got := pagesOf(edit(long, usual, "")); len(got) != 1 || !strings.Contains(got[0], "As fitted") || !strings.Contains(got[0], "6 dB, as by default") ||
		!strings.Contains(got[0], "a quarter of a wavelength off a steel post: the plan reckons 3 dB") {
		t.Errorf("%d pages: %q", len(got), got)
	}
	other := append([]radio.Term{}, usual...)
	other[0].Name, other[0].DB = "mount: flat on a steel post or fence", 9
	if got := pagesOf(edit(long, other, "")); len(got) != 1 || !strings.Contains(got[0], "12 dB: mount: flat on a steel post or fence, 9 dB; else as by default") {
		t.Errorf("%d pages: %q", len(got), got)
	}
	other[0].Name, other[0].DB = "mount: clear of metal by half a wavelength", 0
	if got := pagesOf(edit(long, other, "")); len(got) != 1 || strings.Contains(got[0], "lost by that") || !strings.Contains(got[0], "upright as planned, clear of steel by half a wavelength") {
		t.Errorf("%d pages: %q", len(got), got)
	}
	got := pagesOf(edit(long, usual, strings.Repeat("Mind the drain beside the post. ", 50)))
	if len(got) != 2 || !strings.Contains(got[1], "hydrant 14b, continued") || !strings.Contains(got[1], "Post sheet S1, continued") || !strings.Contains(got[1], "As fitted") {
		t.Errorf("%d pages: %s", len(got), fmt.Sprintf("%q", got))
	}
}
