package editor

import (
	"strings"
	"testing"

	"pleach/model"
)

func tiltOf(e *Editor, id string) float64 { return e.Plan().Feature(id).Value.(*model.Sensor).Tilt }

func TestWhatIsTunedIsOneStepOfUndo(t *testing.T) {
	e := site(t)
	before := e.Plan()
	for _, v := range []float64{2.5, 3, 3.5} {
		e.Tune("S1", "tilt_deg", v)
		if tiltOf(e, "S1") != v || !e.Drafting() || e.Settled() != before {
			t.Fatalf("tuned to %v: the draft has %v", v, tiltOf(e, "S1"))
		}
	}
	if !strings.Contains(e.Message(), "3.5° down") {
		t.Errorf("the read-out is %q", e.Message())
	}
	e.Settle()
	if e.Drafting() || tiltOf(e, "S1") != 3.5 || e.UndoLabel() != "set tilt of S1" {
		t.Errorf("settled: tilt %v, step %q", tiltOf(e, "S1"), e.UndoLabel())
	}
	if e.Undo(); e.Plan() != before {
		t.Error("one undo does not bring the plan back")
	}
	if e.Message() != "" {
		t.Errorf("undone, it still says %q", e.Message())
	}
}

func TestTheReadOutGoesWithTheSelectionItWasOf(t *testing.T) {
	e := site(t)
	e.Select("S1")
	e.Tune("S1", "tilt_deg", 3.5)
	e.Settle()
	if e.Message() == "" {
		t.Fatal("settled, the read-out is gone at once")
	}
	if e.Select("S2"); e.Message() != "" {
		t.Errorf("with another sensor selected it says %q", e.Message())
	}
}

func TestEscapeForgetsWhatIsTuned(t *testing.T) {
	e := site(t)
	before := e.Plan()
	e.Tune("S1", "mount_height_m", 4)
	e.Cancel()
	if e.Plan() != before || e.Tuning() || e.UndoLabel() != "" {
		t.Error("something is left of it")
	}
}

func TestTunedBackToWhereItWasIsNoStep(t *testing.T) {
	e := site(t)
	before := e.Plan()
	e.Tune("S1", "tilt_deg", 5)
	e.Tune("S1", "tilt_deg", 2)
	e.Settle()
	if e.Plan() != before || e.UndoLabel() != "" {
		t.Errorf("there is a step %q", e.UndoLabel())
	}
}

func TestTiltAndHeightAreStepsOfTheirOwn(t *testing.T) {
	e := site(t)
	e.Tune("S1", "tilt_deg", 5)
	e.Tune("S1", "mount_height_m", 4)
	e.Settle()
	if s := e.Plan().Feature("S1").Value.(*model.Sensor); s.Tilt != 5 || s.MountHeight != 4 {
		t.Errorf("tilt %v, mount %v", s.Tilt, s.MountHeight)
	}
	if e.Undo(); tiltOf(e, "S1") != 5 {
		t.Error("one undo took both back")
	}
}

func TestAValueThatIsNotAllowedIsSaidAndNotDrafted(t *testing.T) {
	e := site(t)
	e.Tune("S1", "tilt_deg", 95)
	if tiltOf(e, "S1") != 2 || !strings.Contains(e.Message(), "95") {
		t.Errorf("tilt %v, message %q", tiltOf(e, "S1"), e.Message())
	}
	e.Settle()
	if e.UndoLabel() != "" {
		t.Errorf("there is a step %q", e.UndoLabel())
	}
}
