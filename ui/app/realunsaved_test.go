package app_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// The program is ended as by a crash, with no chance to do anything.
func TestTheRealWindowBringsUnsavedWorkBackAfterItWasKilled(t *testing.T) {
	d := newDesk(t)
	original, err := os.ReadFile(d.plan)
	if err != nil {
		t.Fatal(err)
	}
	d.until("a sensor is placed", func() bool {
		d.move(620, 640)
		d.xdotool("key", "s")
		d.xdotool("click", "1")
		return d.within(5*time.Second, d.unsaved)
	})
	kept := func() []string {
		list, _ := filepath.Glob(filepath.Join(filepath.Dir(d.plan), "data", "pleach", "unsaved", "*", "work"))
		return list
	}
	d.until("the work is kept safe", func() bool { return len(kept()) == 1 })
	d.program.Process.Kill()
	d.program.Wait()
	if now, err := os.ReadFile(d.plan); err != nil || !bytes.Equal(now, original) {
		t.Fatalf("the plan's file is not what it was: %v", err)
	}

	d.run()
	before := len(d.read().Features)
	d.until("the work is opened again", func() bool {
		d.xdotool("key", "space") // the button of the offer has the focus
		return d.within(2*time.Second, d.unsaved)
	})
	d.save()
	if n := len(d.read().Features); n != before+1 {
		t.Errorf("saved are %d features, of %d before the sensor", n, before)
	}
	d.until("the copy is taken away", func() bool { return len(kept()) == 0 })
}
