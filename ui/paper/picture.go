package paper

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/model/picture"
	"pleach/ui/drawing"
)

// How the picture is printed. Chosen.
const (
	pixelsPerMM = 8       // where it is drawn anew: 200 dots an inch
	mostPerMM2  = 600     // pixels of a file as it stands in a square millimetre: beyond, it is finer than any printer
	mostUnseen  = 1 << 20 // bytes of a file as it stands whose pixels lie outside the map
)

// drawPicture draws the picture under its veil within the map p. The clip is the
// caller's.
func (s *sheet) drawPicture(view drawing.View, p box) error {
	if s.in.Picture == nil {
		return nil
	}
	veil := s.opt.Veil
	if veil == 0 {
		veil = DefaultVeil
		if s.opt.Mono {
			veil += monoVeil
		}
	}
	veil = math.Max(0, math.Min(1, veil))
	d := s.doc
	if s.asItStands(view, p) {
		f := s.in.Original
		page := func(g orb.Point) orb.Point {
			u := view.ToUnit(g)
			return orb.Point{p.x + u[0], p.y + u[1]}
		}
		d.layer(pictureLayer)
		d.file("aerial", f, page)
		var outline orb.Ring
		for _, c := range f.Outline() {
			outline = append(outline, page(c))
		}
		white := s.paper
		white.A = uint8(math.Round(veil * 255))
		d.fill(rings(outline), white)
		return nil
	}
	jpg, ground, err := s.in.Picture.JPEG(view.Bound(), picture.JPEGOptions{MaxPixels: int(p.w * p.h * pixelsPerMM * pixelsPerMM),
		Paper: s.paper, Veil: veil, Grey: s.opt.Mono})
	if errors.Is(err, picture.ErrOutside) {
		return nil
	} else if err != nil {
		return err
	}
	a, b := view.ToUnit(orb.Point{ground.Min[0], ground.Max[1]}), view.ToUnit(orb.Point{ground.Max[0], ground.Min[1]})
	d.layer(pictureLayer)
	d.pictures++ // each has a name of its own: the document keeps one image a name
	d.image(fmt.Sprintf("aerial %d", d.pictures), jpg, p.x+a[0], p.y+a[1], b[0]-a[0], b[1]-a[1])
	return nil
}

const pictureLayer = "Aerial picture"

// asItStands reports whether the picture's own file serves for a map: it may keep
// its colours, it is no finer than can be printed, and little of it stays unseen
// or another map has it already.
func (s *sheet) asItStands(view drawing.View, p box) bool {
	f := s.in.Original
	if f == nil || s.opt.Mono {
		return false
	}
	share, pixels := f.Shown(view.Bound())
	if share == 0 || pixels > mostPerMM2*p.w*p.h {
		return false
	}
	return s.doc.holds("aerial") || float64(len(f.JPEG))*(1-share) <= mostUnseen
}
