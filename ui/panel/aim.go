package panel

import (
	"fmt"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/analysis"
	"pleach/ui/editor"
)

// aimBox says where a sensor points, in words an installer can use, what half a
// degree does, and which tilt a wanted reach asks for.
type aimBox struct {
	object fyne.CanvasObject

	ed   func() *editor.Editor
	form *form

	result *analysis.Result // shown last
	aim    *aim.Aim

	axis, place, bearing, magnetic, dead, reach *Line
	near, declination                           *Para
	postures                                    *fyne.Container
	posture                                     []*Line
	wanted                                      *Value
	proposal                                    *Para
	apply                                       *Row
	tilts                                       [3][4]*Line // half a degree up, as planned, half a degree down
	table                                       fyne.CanvasObject
	reachM, tilt                                float64 // what is proposed: for a reach, a tilt
	proposed                                    bool
}

func heading(text string) fyne.CanvasObject {
	return Inset(NewLine(text, ColorSoft, SizeNameSmall), 0, 6, 0, 2)
}

func newAimBox(ed func() *editor.Editor, f *form) *aimBox {
	b := &aimBox{ed: ed, form: f}
	row := func(label string, l **Line) fyne.CanvasObject {
		var o fyne.CanvasObject
		o, *l = f.figure(label, "")
		return o
	}
	b.near = NewPara("", ColorSoft, SizeNameSmall)
	b.declination = NewPara("", ColorSoft, SizeNameSmall)
	b.postures = VBox(0)
	b.wanted = NewValue("m")
	b.wanted.Set("", true)
	b.wanted.Commit = b.propose
	b.wanted.Failed, b.wanted.Left = f.failed, f.left
	b.wanted.Focused = func(in bool) {
		if in {
			f.help.Bold, f.refused = false, false
			f.help.SetText("Tilt for a reach: the far edge along the axis, in metres. The tilt is proposed; the plan changes when you apply it.")
		}
	}
	b.proposal = NewPara("", "", SizeNameSmall)
	b.apply = NewRow(Inset(NewLine("apply", "", SizeNameSmall).Strong(), 0, 3, 0, 3), b.take)
	b.apply.Pad = 8
	b.apply.Hide()
	b.table = b.newTable()
	b.object = VBox(0,
		heading("Aim"),
		row("Axis on the ground", &b.axis),
		Inset(b.near, 0, 2, 6, 4),
		row("Longitude, latitude", &b.place),
		row("Bearing, true", &b.bearing),
		row("Bearing, magnetic", &b.magnetic),
		Inset(b.declination, 0, 2, 6, 4),
		row("Near dead zone", &b.dead),
		row("Far reach", &b.reach),
		b.postures,
		FormRow("Tilt for a reach of", b.wanted),
		container.NewBorder(nil, nil, nil, container.New(&Top{}, b.apply), Inset(b.proposal, 0, 3, 6, 3)),
		b.table)
	return b
}

// cells lays objects side by side in columns of given shares of the width.
type cells struct{ shares []float32 }

func (c *cells) Layout(os []fyne.CanvasObject, s fyne.Size) {
	x := float32(0)
	for i, o := range os {
		h, w := o.MinSize().Height, s.Width*c.shares[i]
		o.Move(fyne.NewPos(x, (s.Height-h)/2))
		o.Resize(fyne.NewSize(w, h))
		x += w
	}
}

func (*cells) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(160, rowHeight()) }

// newTable makes the table of what half a degree does.
func (b *aimBox) newTable() fyne.CanvasObject {
	rows := VBox(0)
	columns := &cells{[]float32{0.34, 0.18, 0.24, 0.24}}
	line := func(k int, text string, c fyne.ThemeColorName, s fyne.ThemeSizeName) *Line {
		l := NewLine(text, c, s).Right().Cut()
		if k == 0 {
			l.Align = fyne.TextAlignLeading
		}
		return l
	}
	head := container.New(columns)
	for k, text := range []string{"Half a degree", "Tilt", "Far reach", "Covers"} {
		head.Add(line(k, text, ColorSoft, SizeNameSmall))
	}
	rows.Add(Inset(head, 0, 6, 6, 0))
	for i, name := range []string{"up", "as planned", "down"} {
		r := container.New(columns, line(0, name, ColorSoft, ""))
		b.tilts[i][0] = r.Objects[0].(*Line)
		for k := 1; k < len(b.tilts[i]); k++ {
			b.tilts[i][k] = line(k, "", "", "")
			r.Add(b.tilts[i][k])
		}
		rows.Add(Inset(r, 0, 0, 6, 0))
	}
	return rows
}

// show fills in what holds for a sensor; it hides what is not known yet.
func (b *aimBox) show(r *analysis.Result, f *model.Feature) {
	b.aim = nil
	if r != nil && f != nil {
		b.aim, _ = aim.Of(r.Scene, f.ID)
	}
	if b.result != r {
		b.result = r
		b.unpropose()
	}
	b.object.(*fyne.Container).Hidden = b.aim == nil
	if b.aim == nil {
		return
	}
	a, p := b.aim, r.Plan
	b.axis.SetText(axisFigure(p, a))
	b.near.SetText(nearWords(p, a))
	b.near.Hidden = b.near.text == ""
	b.place.SetText("–")
	if a.Axis.What != aim.Nothing {
		b.place.SetText(strings.ReplaceAll(fmt.Sprintf("%.6f, %.6f", a.Axis.LonLat[0], a.Axis.LonLat[1]), "-", "−"))
	}
	b.bearing.SetText(rounded(a.Bearing, 2) + "°")
	b.magnetic.SetText("no declination stated")
	b.declination.Hidden = !a.Stated
	if a.Stated {
		b.magnetic.SetText(rounded(a.Magnetic, 2) + "°")
		b.declination.SetText(declinationWords(a))
	}
	b.dead.SetText(deadWords(a.Target))
	b.reach.SetText(reachWords(a.Target))
	if len(b.posture) != len(a.Postures) {
		b.posture = nil
		b.postures.RemoveAll()
		for range a.Postures {
			row, l := b.form.figure("", "")
			b.posture = append(b.posture, l)
			b.postures.Add(row)
		}
	}
	for i, q := range a.Postures {
		b.postures.Objects[i].(*fyne.Container).Objects[0].(*Para).SetText(Capital(q.Name) + " seen")
		if len(q.Seen) == 0 {
			b.posture[i].SetText("nowhere on the axis")
			continue
		}
		dead, _ := q.Dead()
		far, _ := q.Far()
		b.posture[i].SetText(Metres(dead) + " to " + Metres(far))
	}
	for i := range r.Sensors {
		if s := &r.Sensors[i]; s.ID == f.ID {
			b.showTilts(s.Tilts)
		}
	}
}

func (b *aimBox) showTilts(ts []analysis.Tilt) {
	for i := range b.tilts {
		words := [3]string{"–", "–", "–"}
		if i < len(ts) {
			words = [3]string{rounded(ts[i].Tilt, 2) + "°", "nothing", Metres(ts[i].Covered)}
			if ts[i].Far != nil {
				words[1] = Metres(*ts[i].Far)
			}
		}
		for k, w := range words {
			b.tilts[i][k+1].SetText(w)
		}
	}
}

// axisFigure is where the axis ends, as a figure.
func axisFigure(p *model.Plan, a *aim.Aim) string {
	switch a.Axis.What {
	case aim.Ground:
		return Metres(a.Axis.Distance)
	case aim.Wall, aim.Roof:
		return "stopped at " + Metres(a.Axis.Distance)
	}
	return fmt.Sprintf("not within %.0f m", aim.Far)
}

// nearWords says what is where the axis ends.
func nearWords(p *model.Plan, a *aim.Aim) string {
	var parts []string
	switch a.Axis.What {
	case aim.Wall:
		parts = append(parts, "by "+aim.Title(p, a.Axis.On)+", "+Metres(a.Axis.Height)+" above the ground there")
	case aim.Roof:
		parts = append(parts, "on top of "+aim.Title(p, a.Axis.On))
	}
	if a.Near != nil {
		parts = append(parts, a.Near.Text)
	}
	if b := a.Boundary; b != nil {
		side := "outside"
		if b.Inside {
			side = "inside"
		}
		where := Metres(b.Distance) + " " + side + " " + aim.Title(p, b.ID)
		if b.Distance < 0.05 {
			where = "on the line of " + aim.Title(p, b.ID)
		}
		parts = append(parts, where+", "+Metres(math.Round(b.Chainage))+" along it")
	}
	if len(a.Axis.Through) > 0 {
		var names []string
		for _, id := range a.Axis.Through {
			names = append(names, aim.Title(p, id))
		}
		parts = append(parts, "through the mesh of "+strings.Join(names, " and "))
	}
	if a.Axis.What != aim.Nothing && !a.Axis.Known {
		parts = append(parts, "beyond the ground that is known")
	}
	if len(parts) == 0 {
		return ""
	}
	return Sentence(strings.Join(parts, "; "))
}

// declinationWords say which declination the magnetic bearing rests on.
func declinationWords(a *aim.Aim) string {
	side := "° east"
	switch {
	case a.Declination < 0:
		side = "° west"
	case a.Declination == 0:
		side = "°"
	}
	words := "Declination " + rounded(math.Abs(a.Declination), 2) + side
	if a.DeclinationOn != "" {
		return words + ", of " + a.DeclinationOn + "."
	}
	return words + ", of no date."
}

func deadWords(r aim.Reach) string {
	d, ok := r.Dead()
	switch {
	case !ok:
		return "–"
	case d < 0.05:
		return "none"
	}
	return Metres(d)
}

func reachWords(r aim.Reach) string {
	d, ok := r.Far()
	if !ok {
		return "not seen on the axis"
	}
	return Metres(d)
}

// Capital begins a word with a capital letter.
func Capital(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// propose finds the tilt for a reach that was typed.
func (b *aimBox) propose(text string) error {
	b.unpropose()
	b.form.left()
	if text == "" {
		b.wanted.Set("", true)
		return nil
	}
	v, err := ParseNumber(text)
	if err != nil || !(v > 0 && v <= aim.Far) {
		return fmt.Errorf("a reach cannot be %s: it must be above 0 and at most %.0f m", text, aim.Far)
	}
	if b.aim == nil {
		return nil
	}
	exact, err := b.aim.TiltFor(v)
	if err != nil {
		return err
	}
	best, reached := b.aim.NearestSetting(exact, v)
	b.reachM, b.tilt, b.proposed = v, best, true
	b.wanted.Set(number(v), false)
	if best == b.aim.Tilt {
		b.proposal.SetText("As it is: " + tiltWords(best) + " reaches " + Metres(reached) + ".")
		b.apply.Hide()
		return nil
	}
	b.proposal.SetText(Capital(tiltWords(best)) + " in place of " + tiltWords(b.aim.Tilt) + ": reaches " + Metres(reached) + ".")
	b.apply.Show()
	b.object.Refresh()
	return nil
}

func (b *aimBox) unpropose() {
	if !b.proposed {
		return
	}
	b.proposed = false
	b.proposal.SetText("")
	b.apply.Hide()
	b.wanted.Set("", true)
	b.object.Refresh()
}

// take applies what is proposed.
func (b *aimBox) take() {
	if !b.proposed || b.aim == nil {
		return
	}
	id, tilt := b.aim.Sensor.ID, b.tilt
	if err := b.ed().Do(model.Set{ID: id, Values: []model.Value{{Property: "tilt_deg", Value: tilt}},
		Name: fmt.Sprintf("tilt %s for a reach of %s", id, Metres(b.reachM))}); err != nil {
		b.form.failed(err)
	}
}
