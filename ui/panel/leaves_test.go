package panel

import (
	"testing"

	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"
)

func TestOneLeafShows(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	a, b := container.NewVBox(), container.NewVBox()
	l := NewLeaves(7, Leaf{"One", a}, Leaf{"Two", b}) // as kept by a version with more leaves
	turned := -1
	l.Turned = func(i int) { turned = i }
	if l.Chosen() != 0 || !a.Visible() || b.Visible() {
		t.Fatal("the first does not show at first")
	}
	l.heads[1].Tapped(nil)
	if l.Chosen() != 1 || a.Visible() || !b.Visible() || turned != 1 {
		t.Error("a click does not turn to the second")
	}
	turned = -1
	l.Turn(1)
	if turned != -1 {
		t.Error("turning to the one that shows is told")
	}
}
