// Command generate makes the demo site: it paints the aerial picture and writes
// the plan, both from one description of an invented place (site.go).
//
// From the project's root: go run ./assets/demo/generate
package main

import (
	"bytes"
	"flag"
	"fmt"
	"image/jpeg"
	"os"
	"path/filepath"
)

func main() {
	out := flag.String("o", filepath.Join("assets", "demo"), "folder to write to")
	only := flag.Bool("plan", false, "write the plan alone, not the picture")
	flag.Parse()
	if err := generate(*out, *only); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

func generate(folder string, planOnly bool) error {
	write := func(name string, b []byte) error { return os.WriteFile(filepath.Join(folder, name), b, 0o644) }
	if err := write("demo.geojson", plan()); err != nil || planOnly {
		return err
	}
	if err := write("aerial.jgw", worldFile()); err != nil {
		return err
	}
	c := newCanvas()
	c.wearTracks()
	c.paintGround()
	c.furnish()
	c.plantAll()
	img := shoot(c.lean(c.light()))
	// The best quality that keeps the picture under 2 MB with a little to spare.
	const limit = 1_950_000
	for q := 94; ; q -= 2 {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: q}); err != nil {
			return err
		}
		if b.Len() < limit {
			return write("aerial.jpg", b.Bytes())
		}
	}
}

// worldFile places the middle of the upper left pixel in UTM metres.
func worldFile() []byte {
	e, n := corner()
	return fmt.Appendf(nil, "%.10f\n0.0\n0.0\n%.10f\n%.4f\n%.4f\n", outPixel, -outPixel, e+outPixel/2, n-outPixel/2)
}
