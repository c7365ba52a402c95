package panel

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pleach/model"
)

// Further targets are listed, added, changed and taken away, one undo step each; the
// one by default becomes the plan's own with the first change.
func TestFurtherTargetsAreEditedInTheSettings(t *testing.T) {
	e, ed, _ := site(t)
	s := NewSettings(ed, func(path string) bool { return strings.HasPrefix(path, "target.") })
	test.NewTempWindow(t, s.Object).Resize(fyne.NewSize(340, 700))
	s.Update()
	list := s.postures.object
	field := func(label string, nth int) *Value {
		t.Helper()
		for _, o := range list.Objects {
			if c, ok := o.(*fyne.Container); ok && len(c.Objects) == 2 {
				if l, ok := c.Objects[0].(*Para); ok && l.Text() == label {
					if nth--; nth < 0 {
						return c.Objects[1].(*Value)
					}
				}
			}
		}
		t.Fatalf("there is no field %q", label)
		return nil
	}
	take := func(words string) {
		t.Helper()
		for _, o := range list.Objects {
			if r, ok := o.(*Row); ok && strings.Contains(linesOf(r.Content), words) {
				r.OnTap()
				s.Update()
				return
			}
		}
		t.Fatalf("nothing says %q", words)
	}
	if v := field("Height", 0); v.text != "0.35" || !v.soft {
		t.Errorf("by default the height is %q, soft %v", v.text, v.soft)
	}
	original := e.Plan()
	for _, step := range []struct {
		label              string
		nth                int
		text, label2, want string
	}{
		{"Another: name", 0, "stoop", "add further target stoop", "crawl 0.35 0.5; stoop 1.7 0.5"},
		{"Height", 1, "1,1", "set height of further target stoop", "crawl 0.35 0.5; stoop 1.1 0.5"},
		{"Part that must be seen", 0, "0.8", "set part that must be seen of further target crawl", "crawl 0.35 0.8; stoop 1.1 0.5"},
		{"Name", 0, "creep", "set name of further target crawl", "creep 0.35 0.8; stoop 1.1 0.5"},
		{"Part that must be seen", 0, "", "set part that must be seen of further target creep", "creep 0.35 0.5; stoop 1.1 0.5"},
	} {
		typeIn(field(step.label, step.nth), step.text, fyne.KeyReturn)
		s.Update()
		if got := told(e.Plan()); got != step.want || e.UndoLabel() != step.label2 {
			t.Errorf("after %q %q: %s, by step %q", step.label, step.text, got, e.UndoLabel())
		}
	}
	for _, c := range []struct{ label, text, want string }{
		{"Height", "0", "above 0 and at most 200 m"},
		{"Height", "", "Height is needed"},
		{"Name", "", "Name is needed"},
		{"Name", "Stoop", "another further target has it"},
		{"Another: name", "target", "so the target itself is called"},
	} {
		before := e.Plan()
		typeIn(field(c.label, 0), c.text, fyne.KeyReturn)
		if e.Plan() != before || !strings.Contains(s.form.help.Text(), c.want) {
			t.Errorf("%s %q: it says %q", c.label, c.text, s.form.help.Text())
		}
	}
	take("Take creep away")
	if got := told(e.Plan()); got != "stoop 1.1 0.5" || e.UndoLabel() != "take away further target creep" {
		t.Errorf("%s, by step %q", got, e.UndoLabel())
	}
	take("Take stoop away")
	if got := told(e.Plan()); got != "" || !e.Plan().Stated("postures") {
		t.Errorf("after the last: %q", got)
	}
	for range 7 {
		e.Undo()
	}
	if s.Update(); e.Plan() != original || field("Height", 0).text != "0.35" {
		t.Error("undo does not lead back to the default")
	}
	typeIn(field("Height", 0), "0.4", fyne.KeyReturn)
	if got := told(e.Plan()); got != "crawl 0.4 0.5" {
		t.Errorf("the default changed: %s", got)
	}
	take("Take crawl away")
	if got := told(e.Plan()); got != "" {
		t.Errorf("the only one taken away: %s", got)
	}
}

// told are the further targets of a plan in words.
func told(p *model.Plan) string {
	var out []string
	for _, x := range p.Settings.Postures {
		out = append(out, x.Name+" "+number(x.Height)+" "+number(x.MinVisible))
	}
	return strings.Join(out, "; ")
}
