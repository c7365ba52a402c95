package model

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/spectrum"
)

func TestAMemberInsideIsSetAndWhatIsNotKnownStays(t *testing.T) {
	p, err := Change{Path: "radio.rules.bands.0.duty", Value: 0.01}.Apply(NewPlan(Member{"radio", []byte(`{"rules": {"id": "x", "bands": [{"from_mhz": 868.00, "tag": 1}]}, "lamp": "red"}`)}))
	if err != nil {
		t.Fatal(err)
	}
	raw, _ := p.Raw("radio")
	if want := `{"rules": {"id": "x", "bands": [{"from_mhz": 868.00, "tag": 1, "duty": 0.01}]}, "lamp": "red"}`; string(raw) != want {
		t.Errorf("%s, want %s", raw, want)
	}
	f := NewFeature(KindReceiver, "RX", orb.Point{8, 47}, Prop("antenna_height_m", 4), Member{"radio", []byte(`{"installation_terms": [{"what": "a", "db": 1.0, "note": "n"}, {"what": "b", "db": 2}]}`)})
	if p, err = (Add{[]*Feature{f}}).Apply(p); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		path string
		v    any
		want string
	}{
		{"radio.installation_terms.1.db", 5, `{"installation_terms": [{"what": "a", "db": 1.0, "note": "n"}, {"what": "b", "db": 5}]}`},
		{"radio.installation_terms.2", Term{"c", 3}, `{"installation_terms": [{"what": "a", "db": 1.0, "note": "n"}, {"what": "b", "db": 2}, {"what":"c","db":3}]}`},
		{"radio.installation_terms.0", nil, `{"installation_terms": [{"what": "b", "db": 2}]}`},
		{"radio.installation_terms", nil, ""},
		{"radio.installation_terms.3.db", 1, "there is no entry 4 of 2"},
		{"radio.installation_terms.db.x", 1, "is not an object"},
		{"note.x", nil, `{"installation_terms": [{"what": "a", "db": 1.0, "note": "n"}, {"what": "b", "db": 2}]}`},
	} {
		t.Run(c.path, func(t *testing.T) {
			q, err := SetInside{ID: "RX", Path: c.path, Value: c.v}.Apply(p)
			if err != nil {
				if !strings.Contains(err.Error(), c.want) || c.want == "" {
					t.Errorf("error %v, want %q", err, c.want)
				}
				return
			}
			if raw, _ := q.Feature("RX").Property("radio"); string(raw) != c.want {
				t.Errorf("%s\nwant %s", raw, c.want)
			}
		})
	}
	if _, err := (SetInside{ID: "S9", Path: "radio.erp_dbm", Value: 1}).Apply(p); err == nil {
		t.Error("a feature that is not there is changed")
	}
}

func TestASensorModelIsCopiedRenamedAndKeepsItsSensors(t *testing.T) {
	p, err := Add{[]*Feature{NewFeature(KindSensor, "S1", orb.Point{8, 47}, Prop("model", "fan-30-40"), Prop("mount_height_m", 3), Prop("bearing_deg", 0), Prop("tilt_deg", 2))}}.Apply(NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	id := p.NewModelID("fan-30-40")
	if p, err = (CopyModel{"fan-30-40", id}).Apply(p); err != nil {
		t.Fatal(err)
	}
	if p, err = (Change{Path: "models.0.lobes.7.range_m", Value: 8}).Apply(p); err != nil {
		t.Fatal(err)
	}
	m, _ := p.Model(id)
	old, _ := p.Model("fan-30-40")
	if len(m.Lobes) != 8 || m.Lobes[7].Range != 8 || old.Lobes[7].Range != 9 || m.Supply == nil || len(p.AllFlaws()) != 0 {
		t.Errorf("%+v, flaws %v", m, p.AllFlaws())
	}
	for _, e := range []Edit{CopyModel{"fan-30-40", "curtain-4-63"}, CopyModel{"nobody", "x"}, CopyModel{"fan-30-40", ""}, RenameModel{"fan-30-40", "x"}, RenameModel{id, "curtain-4-63"}, RenameModel{id, ""}} {
		if _, err := e.Apply(p); err == nil {
			t.Errorf("%+v is done", e)
		}
	}
	if p, err = (Set{ID: "S1", Values: []Value{{"model", id}}}).Apply(p); err != nil {
		t.Fatal(err)
	}
	if p, err = (RenameModel{id, "ours"}).Apply(p); err != nil {
		t.Fatal(err)
	}
	if got := p.SensorsOf("ours"); len(got) != 1 || len(p.AllFlaws()) != 0 {
		t.Errorf("sensors of the renamed model %v, flaws %v", got, p.AllFlaws())
	}
	if next := p.NewModelID("fan-30-40"); next != "fan-30-40-copy" {
		t.Errorf("a free id is %s", next)
	}
}

// What a form says is allowed in a rule set must be what reading allows.
func TestTheLimitsOfABandAreThoseItIsCheckedBy(t *testing.T) {
	whole := func(member string, v float64) error {
		b := map[string]any{"from_mhz": 30, "to_mhz": 6000, "max_erp_dbm": 10, "use": "any"}
		b[member] = v
		_, err := spectrum.Parse(encode(map[string]any{"id": "a", "name": "a", "country": "a", "date": "a", "source": "a", "bands": []any{b}}))
		return err
	}
	n := 0
	for _, p := range BandProperties {
		if p.Type != Number {
			continue
		}
		n++
		t.Run(p.Name, func(t *testing.T) {
			for _, v := range []float64{p.Min, p.Max, math.Nextafter(p.Max, 1e9), math.Nextafter(p.Min, -1e9)} {
				err := whole(p.Name, v)
				if (err == nil) != p.Allows(v) {
					t.Errorf("%v: the form allows it: %v; reading says %v", v, p.Allows(v), err)
				}
			}
		})
	}
	if n != 7 {
		t.Errorf("%d figures of a band are told, want 7", n)
	}
	for _, use := range BandProperties[9].Choices {
		if _, err := spectrum.Parse(encode(map[string]any{"id": "a", "name": "a", "country": "a", "date": "a", "source": "a", "bands": []any{map[string]any{"from_mhz": 30, "to_mhz": 31, "use": use}}})); err != nil {
			t.Error(err)
		}
	}
	for _, r := range RulesProperties {
		all := map[string]any{"id": "a", "name": "a", "country": "a", "date": "a", "source": "a", "bands": []any{map[string]any{"from_mhz": 30, "to_mhz": 31, "use": "any"}}}
		delete(all, r.Name)
		if _, err := spectrum.Parse(encode(all)); err == nil {
			t.Errorf("a rule set without %s is read", r.Name)
		}
	}
}
