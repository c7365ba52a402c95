package panel

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/model/signal"
	"pleach/ui/drawing"
)

// HourGrid shows low-contrast hours by month and hour of the day: a row a month, a
// cell an hour, the lighter the larger its share; a hairline where there is none,
// nothing where the series says nothing. The sum of a month stands at its right.
type HourGrid struct {
	widget.BaseWidget
	Over func(words string) // told of the cell the pointer is over, "" for none

	hours  signal.Hours
	raster *canvas.Raster
	months [12]*canvas.Text
	sums   [12]*canvas.Text
	ticks  [5]*canvas.Text
}

// NewHourGrid makes an empty grid.
func NewHourGrid() *HourGrid {
	g := &HourGrid{}
	g.raster = canvas.NewRaster(g.paint)
	for m := range 12 {
		g.months[m] = canvas.NewText(time.Month(m + 1).String()[:3], nil)
		g.sums[m] = canvas.NewText("", nil)
		g.sums[m].Alignment = fyne.TextAlignTrailing
	}
	for i := range g.ticks {
		g.ticks[i] = canvas.NewText(fmt.Sprintf("%02d", i*6), nil)
		g.ticks[i].Alignment = fyne.TextAlignCenter
	}
	g.ExtendBaseWidget(g)
	return g
}

// Set shows other hours.
func (g *HourGrid) Set(h signal.Hours) {
	g.hours = h
	for m := range 12 {
		low, known := h.Month(time.Month(m + 1))
		g.sums[m].Text = ""
		if known > 0 {
			g.sums[m].Text = fmt.Sprintf("%.0f h", low.Hours())
		}
	}
	g.Refresh()
}

// row and the columns of the labels, units at the size of small text.
func (g *HourGrid) measures(s fyne.Size) (left, right, row float32) {
	size := theme.Size(SizeNameSmall)
	return size * 2.4, size * 3.4, (s.Height - size*1.5) / 12
}

// paint colours the cells.
func (g *HourGrid) paint(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, max(w, 1), max(h, 1)))
	most := g.most()
	for m := range 12 {
		for k := range 24 {
			known := g.hours.KnownByMonth[m][k]
			if known <= 0 {
				continue
			}
			r := image.Rect(k*w/24, m*h/12, (k+1)*w/24, (m+1)*h/12)
			r.Max.X--
			r.Max.Y--
			share := float64(g.hours.ByMonth[m][k]) / float64(known)
			var c color.Color = theme.Color(ColorRule)
			if share <= 0 {
				r.Min.Y = (r.Min.Y + r.Max.Y) / 2
				r.Max.Y = r.Min.Y + 1
			} else {
				c = drawing.Cividis(share / most)
			}
			draw.Draw(img, r, image.NewUniform(c), image.Point{}, draw.Over)
		}
	}
	return img
}

// most is the largest share of a cell; 1 where there is none.
func (g *HourGrid) most() float64 {
	most := 0.0
	for m := range 12 {
		for k := range 24 {
			if known := g.hours.KnownByMonth[m][k]; known > 0 {
				most = max(most, float64(g.hours.ByMonth[m][k])/float64(known))
			}
		}
	}
	if most == 0 {
		return 1
	}
	return most
}

// words says what a cell holds.
func (g *HourGrid) words(m, k int) string {
	known := g.hours.KnownByMonth[m][k]
	if known <= 0 {
		return fmt.Sprintf("%s, %02d:00: nothing known", time.Month(m+1), k)
	}
	return fmt.Sprintf("%s, %02d:00 to %02d:00: %.1f of %.0f h", time.Month(m+1), k, k+1, g.hours.ByMonth[m][k].Hours(), known.Hours())
}

// MouseIn is part of desktop.Hoverable.
func (g *HourGrid) MouseIn(ev *desktop.MouseEvent) { g.MouseMoved(ev) }

// MouseMoved is part of desktop.Hoverable.
func (g *HourGrid) MouseMoved(ev *desktop.MouseEvent) {
	if g.Over == nil {
		return
	}
	left, right, row := g.measures(g.Size())
	x, y := (ev.Position.X-left)/(g.Size().Width-left-right)*24, ev.Position.Y/row
	if x < 0 || x >= 24 || y < 0 || y >= 12 {
		g.Over("")
		return
	}
	g.Over(g.words(int(y), int(x)))
}

// MouseOut is part of desktop.Hoverable.
func (g *HourGrid) MouseOut() {
	if g.Over != nil {
		g.Over("")
	}
}

// CreateRenderer is part of fyne.Widget.
func (g *HourGrid) CreateRenderer() fyne.WidgetRenderer {
	r := &hourRenderer{g}
	r.colours()
	return r
}

type hourRenderer struct{ g *HourGrid }

func (r *hourRenderer) texts() []*canvas.Text {
	return append(append(append([]*canvas.Text{}, r.g.months[:]...), r.g.sums[:]...), r.g.ticks[:]...)
}

func (r *hourRenderer) colours() {
	for _, t := range r.texts() {
		t.Color = theme.Color(ColorSoft)
		t.TextSize = theme.Size(SizeNameSmall)
	}
	for _, t := range r.g.sums {
		t.Color = theme.Color(theme.ColorNameForeground)
	}
}

func (r *hourRenderer) Layout(s fyne.Size) {
	left, right, row := r.g.measures(s)
	wide := s.Width - left - right
	r.g.raster.Move(fyne.NewPos(left, 0))
	r.g.raster.Resize(fyne.NewSize(wide, 12*row))
	for m := range 12 {
		r.g.months[m].Move(fyne.NewPos(0, float32(m)*row))
		r.g.months[m].Resize(fyne.NewSize(left, row))
		r.g.sums[m].Move(fyne.NewPos(s.Width-right, float32(m)*row))
		r.g.sums[m].Resize(fyne.NewSize(right, row))
	}
	for i, t := range r.g.ticks {
		t.Move(fyne.NewPos(left+wide*float32(i)/4-20, 12*row))
		t.Resize(fyne.NewSize(40, s.Height-12*row))
	}
}

func (r *hourRenderer) MinSize() fyne.Size {
	size := theme.Size(SizeNameSmall)
	return fyne.NewSize(200, size*(12*1.3+1.5))
}

func (r *hourRenderer) Refresh() {
	r.colours()
	r.Layout(r.g.Size())
	r.g.raster.Refresh()
	canvas.Refresh(r.g)
}

func (r *hourRenderer) Objects() []fyne.CanvasObject {
	out := []fyne.CanvasObject{r.g.raster}
	for _, t := range r.texts() {
		out = append(out, t)
	}
	return out
}

func (r *hourRenderer) Destroy() {}
