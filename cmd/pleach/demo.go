package main

import (
	"fmt"
	"io"

	"pleach/assets"
)

var demoCommand = command{
	name:    "demo",
	summary: "unpacks the demo, an invented site, and says where its plan is",
	help: `The demo is put into your own data folder. Where it is there already it is left
as you left it.`,
	run: runDemo,
}

func runDemo(args []string, out, _ io.Writer) (int, error) {
	rest, err := parse("demo", args)
	if err != nil {
		return bad, err
	}
	if len(rest) > 0 {
		return bad, usage("demo: %q is one argument too many", rest[0])
	}
	path, err := assets.UnpackDemo()
	if err != nil {
		return bad, err
	}
	_, err = fmt.Fprintln(out, path)
	return done, err
}
