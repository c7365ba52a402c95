package app_test

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"pleach/model"
)

// In the real window a level is written down with the keys, and undone.
func TestTheRealWindowTakesAReading(t *testing.T) {
	d := newDesk(t)
	original, err := os.ReadFile(d.plan)
	if err != nil {
		t.Fatal(err)
	}
	d.until("a level is written down", func() bool {
		d.move(700, 300)
		d.xdotool("key", "Escape") // closes the form of a try before
		d.xdotool("key", "Escape") // and selects nothing
		d.xdotool("key", "ctrl+j") // the first device
		d.xdotool("key", "ctrl+m")
		time.Sleep(time.Second) // the form is there
		tab := func(n int) {
			for range n {
				d.xdotool("key", "Tab")
			}
		}
		tab(4) // by what, sent by and read by
		d.xdotool("type", "--", "-61")
		tab(2) // by the day
		d.xdotool("type", "9:30")
		tab(6) // by who, leaves, heights, attenuator, to Close
		tab(1)
		d.xdotool("key", "space")
		return d.within(3*time.Second, d.unsaved)
	})
	d.xdotool("key", "Escape")
	d.save()
	readings := d.read().Of(model.KindReading)
	if len(readings) != 1 {
		t.Fatalf("%d readings", len(readings))
	}
	m := readings[0].Value.(*model.Reading)
	level, _ := readings[0].Number("value")
	if first := d.read().Of(model.KindSensor)[0].ID; m.What != "signal" || len(m.Of) != 2 || m.Of[0] != first || level != -61 || m.Unit != "dBm" || !strings.Contains(m.At, "T09:30:00") || readings[0].Geometry != nil {
		t.Errorf("written down: %+v, %v %s", m, level, m.Unit)
	}
	d.until("the original is back", func() bool {
		d.xdotool("key", "ctrl+z")
		d.save()
		data, err := os.ReadFile(d.plan)
		return err == nil && bytes.Equal(data, original)
	})
}
