package paper

import (
	"bytes"
	"context"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/picture"
)

// looks are the pages whose picture is kept, in testdata/NAME.png, at 40 dots an
// inch. PLEACH_GOLDEN=1 writes them anew.
var looks = []struct {
	name string
	opt  Options
	page int // from 1
}{
	{"customer", Options{Sheets: []string{"customer"}, Paper: A4}, 1},
	{"layout", Options{Paper: A4}, 1},
	{"layout-mono", Options{Paper: A4, Mono: true}, 1},
	{"tile", Options{Tile: true, Scale: 500, Paper: A4}, 3},
	{"post", Options{Sheets: []string{"posts"}, Paper: A4}, 1},
	{"boundary", Options{Sheets: []string{"boundary"}, Paper: A4}, 1},
	{"addresses", Options{Sheets: []string{"addresses"}, Paper: A4}, 1},
}

const lookDPI = 40

// How unlike two pictures of a page may be: the share of places, each the mean of
// five pixels by five, that differ by more than so many of 255 levels. Chosen, so
// that versions of poppler agree and a word more or less does not.
const (
	unlikeLevels = 22
	unlikeShare  = 0.0008
)

func TestPagesLookAsTheyDid(t *testing.T) {
	in := site(t, oval(260, 170), 7, model.Prop("title", "Northern store"), model.Prop("customer", "Nobody"), model.Prop("designer", "N. N."), model.Prop("date", "2026-03-14"), model.Prop("revision", "A"))
	r, err := analysis.Run(context.Background(), in.Plan, nil)
	if err != nil {
		t.Fatal(err)
	}
	in = Input{Plan: in.Plan, Scene: r.Scene, Result: r, National: madeUp{stated: true, accuracy: 1}}
	in.Picture, in.Original = laid(t, quarters(t), picture.Affine{-240, 3, 0, 180, 0, -3})
	for _, row := range looks {
		t.Run(row.name, func(t *testing.T) {
			var b bytes.Buffer
			if _, err := Print(&b, in, row.opt); err != nil {
				t.Fatal(err)
			}
			got := onPaper(rendered(t, b.Bytes(), row.page, lookDPI))
			path := filepath.Join("testdata", row.name+".png")
			if os.Getenv("PLEACH_GOLDEN") == "1" {
				var to bytes.Buffer
				if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&to, got); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, to.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			f, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			kept, err := png.Decode(f)
			if err != nil {
				t.Fatal(err)
			}
			if share, at, ok := unlike(got, onPaper(kept)); !ok || share > unlikeShare {
				seen := filepath.Join(os.TempDir(), "pleach-"+row.name+".png")
				var to bytes.Buffer
				if png.Encode(&to, got) == nil {
					os.WriteFile(seen, to.Bytes(), 0o644)
				}
				t.Errorf("%.2f %% of the page differs from %s, most about %.0f, %.0f mm from its upper left corner (as it is now: %s; PLEACH_GOLDEN=1 keeps it)",
					share*100, path, float64(at.X)/lookDPI*25.4, float64(at.Y)/lookDPI*25.4, seen)
			}
		})
	}
}

func TestPicturesThatDifferAreFoundUnlike(t *testing.T) {
	page := image.NewRGBA(image.Rect(0, 0, 300, 400))
	draw.Draw(page, page.Rect, image.White, image.Point{}, draw.Src)
	word := image.Rect(40, 100, 62, 104) // as large as one word in a line
	for name, row := range map[string]struct {
		change func(*image.RGBA)
		same   bool
	}{
		"the same":    {func(*image.RGBA) {}, true},
		"fainter ink": {func(m *image.RGBA) { m.Pix[m.PixOffset(50, 50)] = 200 }, true},
		"a word more": {func(m *image.RGBA) { draw.Draw(m, word, image.Black, image.Point{}, draw.Src) }, false},
		"a tint": {func(m *image.RGBA) {
			draw.Draw(m, image.Rect(100, 100, 140, 140), image.NewUniform(m.ColorModel().Convert(grey(225))), image.Point{}, draw.Src)
		}, false},
	} {
		t.Run(name, func(t *testing.T) {
			other := image.NewRGBA(page.Rect)
			copy(other.Pix, page.Pix)
			row.change(other)
			if share, _, ok := unlike(page, other); !ok || share <= unlikeShare != row.same {
				t.Errorf("%.3f %% differs, want the same: %v", share*100, row.same)
			}
		})
	}
	if _, _, ok := unlike(page, image.NewRGBA(image.Rect(0, 0, 300, 399))); ok {
		t.Error("pages of two sizes are compared")
	}
}

// grey is a level of grey.
type grey uint8

func (g grey) RGBA() (r, gr, b, a uint32) { v := uint32(g) * 0x101; return v, v, v, 0xffff }

// onPaper is a picture as red, green and blue.
func onPaper(m image.Image) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, m.Bounds().Dx(), m.Bounds().Dy()))
	draw.Draw(out, out.Rect, m, m.Bounds().Min, draw.Src)
	return out
}

// unlike returns the share of places at which two pictures differ, and where they
// do most; false where they are not of one size.
func unlike(a, b *image.RGBA) (share float64, at image.Point, ok bool) {
	if a.Rect != b.Rect {
		return 0, image.Point{}, false
	}
	w, h := a.Rect.Dx(), a.Rect.Dy()
	bad, most := 0, 0.0
	for y := 2; y < h-2; y++ {
		for x := 2; x < w-2; x++ {
			var diff [3]int
			for dy := -2; dy <= 2; dy++ {
				for dx := -2; dx <= 2; dx++ {
					i := a.PixOffset(x+dx, y+dy)
					for c := range 3 {
						diff[c] += int(a.Pix[i+c]) - int(b.Pix[i+c])
					}
				}
			}
			for _, d := range diff {
				v := math.Abs(float64(d)) / 25
				if v > most {
					most, at = v, image.Pt(x, y)
				}
				if v > unlikeLevels {
					bad++
					break
				}
			}
		}
	}
	return float64(bad) / float64((w-4)*(h-4)), at, true
}
