package app_test

import (
	"bytes"
	"math"
	"os"
	"testing"
	"time"

	"pleach/model"
)

// The section on the axis in the real window: the mount is dragged by its handle,
// the tilt moved by the keys, a drag forgotten by Escape, and all of it undone.
func TestTheRealWindowTunesASensorInItsSection(t *testing.T) {
	d := newDesk(t)
	original, err := os.ReadFile(d.plan)
	if err != nil {
		t.Fatal(err)
	}
	before := d.read().Of(model.KindSensor)[0]
	was := before.Value.(*model.Sensor)
	now := func() *model.Sensor { return d.read().Feature(before.ID).Value.(*model.Sensor) }

	// The handle of the mount height stands 49 pixels from the left; how high
	// depends on the sensor.
	const x = 49
	grip := 0
	d.until("the mount is dragged in the section", func() bool {
		d.move(800, 300)
		d.xdotool("key", "Escape") // nothing is selected
		d.xdotool("key", "ctrl+j") // the first device
		d.xdotool("key", "ctrl+i") // the section opens, or closes again
		for y := 860; y > 560; y -= 9 {
			d.drag(x, y, x, y-24)
			if d.within(150*time.Millisecond, d.unsaved) {
				grip = y - 24
				return true
			}
		}
		return false
	})
	d.save()
	first := now()
	if !(first.MountHeight > was.MountHeight+0.05) || first.Tilt != was.Tilt || first.Bearing != was.Bearing {
		t.Errorf("dragged up, the mount is %v m, was %v; tilt %v, was %v", first.MountHeight, was.MountHeight, first.Tilt, was.Tilt)
	}

	// The section has the keys.
	d.until("the keys move the tilt", func() bool {
		d.xdotool("key", "Left")
		return d.within(5*time.Second, d.unsaved)
	})
	time.Sleep(time.Second) // the nudge comes to rest
	d.save()
	if got := now().Tilt; got < first.Tilt+0.5-1e-9 || math.Abs(math.Remainder(got-first.Tilt, 0.5)) > 1e-9 {
		t.Errorf("the key for nearer made the tilt %v, was %v", got, first.Tilt)
	}

	// Escape forgets a drag, and moving on with the button down does nothing more.
	d.move(x, grip)
	d.xdotool("mousedown", "1")
	for i := range 8 {
		d.move(x, grip+2*i)
		time.Sleep(20 * time.Millisecond)
	}
	d.xdotool("key", "Escape")
	d.move(x, grip+30)
	d.xdotool("mouseup", "1")
	if d.within(700*time.Millisecond, d.unsaved) {
		t.Error("a drag that Escape forgot changed the plan")
	}

	d.until("the original is back", func() bool {
		for range 4 {
			d.xdotool("key", "ctrl+z")
		}
		d.save()
		data, err := os.ReadFile(d.plan)
		return err == nil && bytes.Equal(data, original)
	})
}
