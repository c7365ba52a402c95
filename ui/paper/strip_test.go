package paper

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
)

func TestEntriesOfTheFootShareTheRoomAndAreNotCut(t *testing.T) {
	names := []string{"The Worshipful Trustees of the Weald Arena and Associated Practice Grounds Charitable Foundation (Operations and Estates Department)",
		"Alexandra Featherstonehaugh-Cholmondeley", "RA-2027/03", "A", "30 September 2027"}
	in := site(t, orb.LineString{{0, 0}, {400, 0}}, 2, model.Prop("title", "Weald arena"), model.Prop("customer", names[0]), model.Prop("designer", names[1]),
		model.Prop("reference", names[2]), model.Prop("revision", names[3]), model.Prop("date", names[4]))
	for _, opt := range []Options{{Sheets: []string{"customer", "van", "posts", "boundary"}, Paper: A4}, {Sheets: []string{"customer", "van", "radio"}, Paper: A3}, {Tile: true, Scale: 500, Paper: A4}} {
		f, _ := printed(t, in, opt)
		for n, p := range f.pages {
			// Lines of one entry follow each other.
			said := strings.ReplaceAll(p.text(), "- ", "-")
			for _, want := range names {
				if !strings.Contains(strings.ReplaceAll(said, " ", ""), strings.ReplaceAll(want, " ", "")) {
					t.Errorf("%v, sheet %d: %q is cut: %s", opt.Sheets, n+1, want, said)
				}
			}
			for _, x := range p.texts {
				if x.at[1] > p.box.Max[1]-margin || x.at[0] > p.box.Max[0]-margin {
					t.Errorf("%v, sheet %d: %q leaves the frame", opt.Sheets, n+1, x.s)
				}
			}
		}
	}
}

func TestTheFootIsAsHighWithAScaleAsWithout(t *testing.T) {
	for _, customer := range []string{"Weald", strings.Repeat("Trustees of the Weald ", 3), strings.Repeat("Trustees of the Weald ", 6), strings.Repeat("Trustees of the Weald ", 30)} {
		in := site(t, orb.LineString{{0, 0}, {400, 0}}, 1, model.Prop("customer", customer), model.Prop("designer", "Alexandra Featherstonehaugh-Cholmondeley"))
		s := &sheet{in: in, look: newLook(drawing.NewTheme(drawing.Medium{Paper: true}))}
		for _, w := range []float64{277, 400} {
			bare, scaled := s.strip(A3, "", 0, 888, 888), s.strip(A3, "Detection and radio plan, part 3 of 12", 2500, 3, 12)
			if a, b := bare.height(w), scaled.height(w); a != b {
				t.Errorf("%d letters, %g mm: %g and %g high", len(customer), w, a, b)
			}
			sum := 0.0
			for _, cw := range scaled.widths(w) {
				sum += cw
			}
			if sum > w-besideTitle+1e-6 || math.IsNaN(sum) {
				t.Errorf("%d letters: cells take %g of %g mm", len(customer), sum, w)
			}
		}
	}
}
