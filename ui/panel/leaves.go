package panel

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// Leaves are bodies of which one shows, with their titles above in a line.
type Leaves struct {
	Object fyne.CanvasObject
	Turned func(i int) // another one shows
	heads  []*Row
	bodies []fyne.CanvasObject
	chosen int
}

// Leaf is one of Leaves.
type Leaf struct {
	Title string
	Body  fyne.CanvasObject
}

// NewLeaves makes leaves, of which the one that is chosen shows.
func NewLeaves(chosen int, leaves ...Leaf) *Leaves {
	l := &Leaves{chosen: -1}
	line := container.NewGridWithColumns(len(leaves))
	for i, leaf := range leaves {
		title := NewLine(leaf.Title, "", "").Strong()
		head := NewRow(Inset(title, 0, 7, 0, 7), func() { l.Turn(i) })
		head.Pad, head.Foot = 12, true
		line.Add(head)
		l.heads, l.bodies = append(l.heads, head), append(l.bodies, leaf.Body)
	}
	l.Object = container.NewBorder(container.NewVBox(line, Rule()), nil, nil, nil, container.NewStack(l.bodies...))
	if chosen < 0 || chosen >= len(leaves) {
		chosen = 0
	}
	l.Turn(chosen)
	return l
}

// Turn shows leaf i.
func (l *Leaves) Turn(i int) {
	if i == l.chosen {
		return
	}
	l.chosen = i
	for k := range l.bodies {
		l.heads[k].SetChosen(k == i)
		if k == i {
			l.bodies[k].Show()
		} else {
			l.bodies[k].Hide()
		}
	}
	if l.Turned != nil {
		l.Turned(i)
	}
}

// Chosen is the leaf that shows.
func (l *Leaves) Chosen() int { return l.chosen }
