package address_test

import (
	"fmt"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/address"
	"pleach/model/scene"
	"pleach/testdata/site"
)

func ids(walk []address.Device) string {
	var out []string
	for _, d := range walk {
		out = append(out, fmt.Sprintf("%s=%d", d.Feature.ID, d.Address))
	}
	return strings.Join(out, " ")
}

// two is a plan of two boundaries with devices in an order of their own.
func two() *site.Site {
	s := new(site.Site)
	s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 100, 100)})
	s.Add(model.KindBoundary, "B2", orb.LineString{{300, 0}, {400, 0}})
	s.Sensor("D", orb.Point{390, 3}, "sector-90-16", 3, 0, 1)
	s.Sensor("B", orb.Point{97, 40}, "sector-90-16", 3, 0, 1)
	s.Sensor("C", orb.Point{310, -2}, "sector-90-16", 3, 0, 1)
	s.Sensor("Z", orb.Point{600, 0}, "sector-90-16", 3, 0, 1)
	s.Sensor("A", orb.Point{20, 3}, "sector-90-16", 3, 0, 1)
	s.Add(model.KindRepeater, "Y", orb.Point{450, 0}, model.Prop("antenna_height_m", 4))
	s.Add(model.KindReceiver, "RX", orb.Point{50, 50}, model.Prop("antenna_height_m", 4))
	return s
}

func TestTheWalkRunsAlongTheBoundariesAndThenToTheNearest(t *testing.T) {
	walk, err := address.Assign(two().Scene(t), address.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := ids(walk), "A=1 B=2 C=3 D=4 Y=5 Z=6"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if b := walk[1]; b.Boundary != "B1" || b.Chainage < 139.9 || b.Chainage > 140.1 || walk[4].Boundary != "" {
		t.Errorf("%+v", walk)
	}
}

func TestOnlyDevicesWithoutAnAddressAreGivenOneUnlessAllAre(t *testing.T) {
	s := two()
	s.Sensor("K", orb.Point{60, 2}, "sector-90-16", 3, 0, 1, model.Prop("address", 11))
	s.Sensor("L", orb.Point{70, 2}, "sector-90-16", 3, 0, 1, model.Prop("address", 13))
	sc := s.Scene(t)
	start := 20
	for _, row := range []struct {
		o    address.Options
		want string
	}{
		{address.Options{}, "A=12 K=11 L=13 B=14 C=15 D=16 Y=17 Z=18"},
		{address.Options{All: true}, "A=11 K=12 L=13 B=14 C=15 D=16 Y=17 Z=18"},
		{address.Options{All: true, Start: &start, Step: 10, Reserved: []model.AddressRange{{From: 30, To: 45}}}, "A=20 K=50 L=60 B=70 C=80 D=90 Y=100 Z=110"},
	} {
		walk, err := address.Assign(sc, row.o)
		if err != nil {
			t.Fatal(err)
		}
		if got := ids(walk); got != row.want {
			t.Errorf("%+v: %s, want %s", row.o, got, row.want)
		}
		e, ok := address.Edit(walk)
		if !ok {
			t.Fatal("nothing to write")
		}
		p, err := e.Apply(sc.Plan)
		if err != nil {
			t.Fatal(err)
		}
		if got := ids(address.Walk(scene.On(p, site.Grid))); got != row.want {
			t.Errorf("written: %s, want %s", got, row.want)
		}
		again, err := address.Assign(scene.On(p, site.Grid), address.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := address.Edit(again); ok {
			t.Error("a plan in which every device has an address is changed")
		}
	}
}

func TestAPlanWithMoreDevicesThanAddressesIsRefused(t *testing.T) {
	for _, row := range []struct {
		switches int
		reserved string
		o        address.Options
		want     string // of the error; "" for none
	}{
		{3, "", address.Options{}, ""},
		{2, "", address.Options{}, "6 need an address and 3 addresses are left: 2 switches can set 0 to 3: start at 0, where all switches are off, or state more switches (addresses.switches)"},
		{3, "2, 4-5", address.Options{}, "6 need an address and 4 addresses are left: 3 switches can set 0 to 7: reserve fewer, start at 0, where all switches are off, or state more switches (addresses.switches)"},
		{3, "", address.Options{Step: 2}, "6 need an address and 4 addresses are left in steps of 2: 3 switches can set 0 to 7: take a smaller step, start at 0, where all switches are off, or state more switches (addresses.switches)"},
		{3, "", address.Options{Start: new(int)}, ""},
		{3, "", address.Options{Start: number(8)}, "start 8 is not between 0 and 7, which is what 3 switches can set"},
		{3, "", address.Options{Start: number(7)}, "6 need an address and 1 address is left from 7 on: 3 switches can set 0 to 7: start lower, or state more switches (addresses.switches)"},
		{3, "", address.Options{Step: -1}, "step -1 is not between 1 and 7"},
	} {
		s := two().Set("addresses", map[string]any{"switches": row.switches, "reserved": row.reserved})
		walk, err := address.Assign(s.Scene(t), row.o)
		said := ""
		if err != nil {
			said = err.Error()
		}
		if said != row.want {
			t.Errorf("%+v:\n%s\nwant\n%s", row, said, row.want)
		}
		if err == nil && len(walk) != 6 {
			t.Errorf("%+v: %d devices", row, len(walk))
		}
	}
}

func number(v int) *int { return &v }

func TestWhatIsGivenIsUniqueWithinTheSwitchesAndNotReserved(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	given := 0
	for range 300 {
		s := new(site.Site)
		s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 100, 100)})
		switches, base := 3+r.Intn(4), r.Intn(100)
		s.Set("addresses", map[string]any{"switches": switches, "base": base, "reserved": fmt.Sprintf("%d-%d", base+3, base+4)})
		for i := range 2 + r.Intn(12) {
			var props []model.Member
			if r.Intn(2) == 0 {
				props = append(props, model.Prop("address", base+r.Intn(20)-2+2*min(base, 1)))
			}
			s.Sensor(fmt.Sprintf("S%d", i), orb.Point{r.Float64() * 200, r.Float64() * 100}, "sector-90-16", 3, 0, 1, props...)
		}
		p := s.Flawed() // some addresses are below 0
		walk, err := address.Assign(scene.On(p, site.Grid), address.Options{All: r.Intn(2) == 0, Step: r.Intn(3)})
		if err != nil {
			continue
		}
		low, high := p.Settings.Addresses.Range()
		held := map[int]int{}
		for _, d := range walk {
			if d.Was != nil || d.Given {
				held[d.Address]++
			}
		}
		for _, d := range walk {
			if !d.Given {
				continue
			}
			given++
			if held[d.Address] != 1 || d.Address < low || d.Address > high || d.Address == base+3 || d.Address == base+4 {
				t.Fatalf("%s is given %d of %d to %d: %s", d.Feature.ID, d.Address, low, high, ids(walk))
			}
		}
	}
	if given < 500 {
		t.Errorf("only %d addresses were given", given)
	}
}

func TestTheAddressOfAFlawedDeviceIsNotGivenToAnother(t *testing.T) {
	s := two()
	s.Sensor("F", orb.Point{5, 5}, "sector-90-16", 3, 0, 100, model.Prop("address", 2))
	walk, err := address.Assign(scene.On(s.Flawed(), site.Grid), address.Options{All: true, Start: number(1)})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := ids(walk), "A=1 B=3 C=4 D=5 Y=6 Z=7"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

func TestOutsideAnAddressIsSetSwitchBySwitch(t *testing.T) {
	// Place value of binary digits: 37 = 32 + 4 + 1, 101 = 64 + 32 + 4 + 1.
	for _, row := range []struct {
		address, switches, base int
		order                   string
		want                    string
	}{
		{37, 8, 0, model.HighestFirst, "00100101"},
		{37, 8, 0, model.LowestFirst, "10100100"},
		{101, 8, 0, model.HighestFirst, "01100101"},
		{101, 8, 64, model.HighestFirst, "00100101"},
		{255, 8, 0, model.HighestFirst, "11111111"},
		{256, 8, 0, model.HighestFirst, ""},
		{3, 8, 4, model.HighestFirst, ""},
		{16, 4, 1, model.LowestFirst, "1111"},
	} {
		t.Run(fmt.Sprint(row), func(t *testing.T) {
			on, ok := address.Switches(row.address, model.Addresses{Switches: row.switches, Base: row.base, Order: row.order})
			if got := address.Digits(on); got != row.want || ok != (row.want != "") {
				t.Errorf("%q, %v, want %q", got, ok, row.want)
			}
		})
	}
}

func TestReservedAddressesAreReadAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]string{"": "", " 0 , 240 - 255": "0, 240-255", "7": "7", "9-9": "9", "5-3": "!", "x": "!", "1,": "!", "-1": "!", "70000": "!", "1-2-3": "!", "1.5": "!"} {
		list, err := model.ParseAddresses(text)
		switch got := (model.Addresses{Reserved: list}).ReservedText(); {
		case want == "!" && (err == nil || !strings.Contains(err.Error(), "from 0 to 65535")):
			t.Errorf("%q: %v, %v", text, list, err)
		case want != "!" && (err != nil || got != want):
			t.Errorf("%q: %q, %v, want %q", text, got, err, want)
		}
	}
	s := two().Set("addresses", map[string]any{"reserved": "a-b"})
	if !slices.ContainsFunc(s.Flawed().AllFlaws(), func(f model.Flaw) bool { return strings.Contains(f.Property, "reserved") }) {
		t.Error("no flaw for reserved a-b")
	}
}
