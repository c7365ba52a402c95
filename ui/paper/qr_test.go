package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// geoSyntax is the grammar of RFC 5870, section 3.3, for WGS 84 without other
// parameters than crs and u.
var geoSyntax = regexp.MustCompile(`^(?i:geo):(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)(?:,-?\d+(?:\.\d+)?)?(?:;(?i:crs)=[A-Za-z0-9-]+)?(?:;(?i:u)=\d+(?:\.\d+)?)?$`)

func TestOutsideGeoAddressesFollowRFC5870(t *testing.T) {
	// The RFC's own examples show that the grammar is read aright here.
	for _, s := range []string{
		"geo:13.4125,103.8667",                                 // section 1
		"geo:48.2010,16.3695,183",                              // section 6.1
		"geo:48.198634,16.371648;crs=wgs84;u=40",               // section 6.1
		"geo:90,-22.43;crs=WGS84",                              // section 6.4
		"geo:90,46", "geo:22.300,-118.44", "geo:66,30;u=6.500", // section 6.4, the last cut before its unknown parameter
	} {
		t.Run(s, func(t *testing.T) {
			if !geoSyntax.MatchString(s) {
				t.Errorf("the grammar of this test does not take %s of RFC 5870", s)
			}
		})
	}
	for want, p := range map[string]orb.Point{
		"geo:13.4125,103.8667":    {103.8667, 13.4125},
		"geo:22.3,-118.44":        {-118.44, 22.3},
		"geo:48.2010000,16.3695":  {16.3695, 48.2010000},
		"geo:0,0":                 {-1e-9, -1e-9},
		"geo:-17,180":             {-180, -17}, // section 3.4.2: the date line is 180
		"geo:-33.4372222,-70.651": {-70.651, -33.43722221},
	} {
		t.Run(want, func(t *testing.T) {
			got := geoURI(p)
			w, g := geoSyntax.FindStringSubmatch(want), geoSyntax.FindStringSubmatch(got)
			if g == nil {
				t.Fatalf("%v gives %q, which RFC 5870 does not allow", p, got)
			}
			for i := 1; i <= 2; i++ {
				a, _ := strconv.ParseFloat(w[i], 64)
				b, _ := strconv.ParseFloat(g[i], 64)
				if math.Abs(a-b) > 1e-9 {
					t.Errorf("%v gives %q, want %q", p, got, want)
				}
			}
		})
	}
	rapid.Check(t, func(t *rapid.T) {
		p := orb.Point{rapid.Float64Range(-180, 180).Draw(t, "longitude"), rapid.Float64Range(-84, 84).Draw(t, "latitude")}
		if s := geoURI(p); !geoSyntax.MatchString(s) {
			t.Fatalf("%v gives %q, which RFC 5870 does not allow", p, s)
		}
	})
}

// rendered is one page of a PDF as poppler draws it.
func rendered(t *testing.T, raw []byte, page, dpi int, more ...string) image.Image {
	t.Helper()
	if _, err := exec.LookPath("pdftoppm"); err != nil {
		t.Skip("pdftoppm is not installed (package poppler-utils)")
	}
	to := filepath.Join(t.TempDir(), "page")
	args := append([]string{"-png", "-singlefile", "-r", strconv.Itoa(dpi), "-f", strconv.Itoa(page)}, more...)
	cmd := exec.Command("pdftoppm", append(args, "-", to)...)
	cmd.Stdin = bytes.NewReader(raw)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm: %v\n%s", err, out)
	}
	b, err := os.ReadFile(to + ".png")
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// codes finds the codes of a printed set: page, from 1, and the box of the
// squares on it. All the squares of a code are one path.
func codes(f pdfFile) (pages []int, boxes []orb.Bound) {
	for n, p := range f.pages {
		for _, fill := range p.fills {
			if len(fill.points) > 500 {
				pages, boxes = append(pages, n+1), append(boxes, orb.MultiPoint(fill.points).Bound())
			}
		}
	}
	return pages, boxes
}

func TestAReaderFindsThePlaceInTheCodeOfAPostSheet(t *testing.T) {
	in := analysed(t)
	var b bytes.Buffer
	if _, err := Print(&b, in, Options{Sheets: []string{"posts"}, Mono: true}); err != nil {
		t.Fatal(err)
	}
	pages, boxes := codes(readPDF(t, b.Bytes()))
	if len(pages) != len(in.Scene.Devices) {
		t.Fatalf("%d codes for %d devices", len(pages), len(in.Scene.Devices))
	}
	for i, d := range in.Scene.Devices {
		if i%4 != 0 && i != len(in.Scene.Devices)-1 {
			continue // enough of them: a page takes a while to draw
		}
		t.Run(d.Feature.ID, func(t *testing.T) {
			const dpi = 150
			img := rendered(t, b.Bytes(), pages[i], dpi, "-gray")
			bmp, err := gozxing.NewBinaryBitmapFromImage(img)
			if err != nil {
				t.Fatal(err)
			}
			got, err := qrcode.NewQRCodeReader().Decode(bmp, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
			if err != nil {
				t.Fatalf("no code is found on page %d: %v", pages[i], err)
			}
			var lat, lon float64
			if _, err := fmt.Sscanf(got.GetText(), "geo:%f,%f", &lat, &lon); err != nil {
				t.Fatalf("%q is no place", got.GetText())
			}
			if off := ground(d.Feature.Geometry.(orb.Point), orb.Point{lon, lat}); off > 0.02 {
				t.Errorf("%s leads %.2f m astray", got.GetText(), off)
			}
			// The reader also takes mirrored codes: its marks are then the other way round.
			if m := got.GetResultPoints(); m[0].GetY() <= m[2].GetY() || m[0].GetX() >= m[2].GetX() {
				t.Errorf("the code is mirrored or turned: its lower left mark is at %v, the upper right at %v", m[0], m[2])
			}
			// A code of 25 modules, the version of ISO/IEC 18004 that holds such an
			// address, with four modules of white all round.
			box := boxes[i]
			module := (box.Max[0] - box.Min[0]) / 25
			if module < 0.4 {
				t.Errorf("a module measures %.3f mm, less than 0.4", module)
			}
			px := func(mm float64) int { return int(math.Round(mm / 25.4 * dpi)) }
			quiet := box.Pad(4 * module)
			for y := px(quiet.Min[1]) + 1; y < px(quiet.Max[1])-1; y++ {
				for x := px(quiet.Min[0]) + 1; x < px(quiet.Max[0])-1; x++ {
					if x >= px(box.Min[0])-1 && x <= px(box.Max[0])+1 && y >= px(box.Min[1])-1 && y <= px(box.Max[1])+1 {
						continue
					}
					if r, _, _, _ := img.At(x, y).RGBA(); r < 0xf000 {
						t.Fatalf("something stands in the quiet zone, %.1f, %.1f mm from the code's corner", float64(x)/dpi*25.4-box.Min[0], float64(y)/dpi*25.4-box.Min[1])
					}
				}
			}
		})
	}
}
