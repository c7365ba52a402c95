package picture

import (
	"bytes"
	"image"
	"image/jpeg"
	"math"
	"testing"

	"github.com/paulmach/orb"
)

func encoded(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestAFileKnowsHowMuchOfItIsShown(t *testing.T) {
	data := encoded(t, image.NewRGBA(image.Rect(0, 0, 40, 20)))
	sin, cos := math.Sincos(math.Pi / 4)
	for _, row := range []struct {
		name  string
		at    Affine
		crop  orb.Bound
		share float64
	}{
		{"all of it", Affine{0, 1, 0, 20, 0, -1}, orb.Bound{Min: orb.Point{-5, -5}, Max: orb.Point{50, 50}}, 1},
		{"none of it", Affine{0, 1, 0, 20, 0, -1}, orb.Bound{Min: orb.Point{50, 50}, Max: orb.Point{60, 60}}, 0},
		{"a quarter", Affine{0, 1, 0, 20, 0, -1}, orb.Bound{Min: orb.Point{20, 10}, Max: orb.Point{60, 60}}, 0.25},
		{"a quarter at another scale", Affine{0, 0.5, 0, 10, 0, -0.5}, orb.Bound{Min: orb.Point{-1, -1}, Max: orb.Point{10, 5}}, 0.25},
		// Turned by an eighth about its upper left corner: the quadrant below and
		// to the left of that corner holds the triangle under the diagonal, 20 by 20 pixels halved.
		{"turned", Affine{0, cos, -sin, 0, -sin, -cos}, orb.Bound{Min: orb.Point{-100, -100}, Max: orb.Point{0, 0}}, 200.0 / 800},
	} {
		t.Run(row.name, func(t *testing.T) {
			f, err := NewFile(data, row.at)
			if err != nil {
				t.Fatal(err)
			}
			share, pixels := f.Shown(row.crop)
			if math.Abs(share-row.share) > 1e-9 || math.Abs(pixels-row.share*800) > 1e-6 {
				t.Errorf("share %v, %v pixels, want %v of 800", share, pixels, row.share)
			}
		})
	}
}

func TestOnlyAJPEGThatAnyReaderShowsAlikeIsTaken(t *testing.T) {
	grey := encoded(t, image.NewGray(image.Rect(0, 0, 8, 8)))
	if _, err := NewFile(grey, Affine{}); err != nil {
		t.Error(err)
	}
	colour := encoded(t, image.NewRGBA(image.Rect(0, 0, 8, 8)))
	if _, err := NewFile(colour, Affine{}); err != nil {
		t.Error(err)
	}
	// An APP14 marker "Adobe" with transform 0 says that the three parts are red,
	// green and blue (ITU-T T.872, 6.5.3).
	plain := append([]byte{0xff, 0xd8, 0xff, 0xee, 0, 14, 'A', 'd', 'o', 'b', 'e', 0, 100, 0, 0, 0, 0, 0}, colour[2:]...)
	for name, data := range map[string][]byte{"red, green and blue": plain, "no JPEG": []byte("GIF89a"), "cut short": grey[:20]} {
		if _, err := NewFile(data, Affine{}); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}
