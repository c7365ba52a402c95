package main

import (
	"errors"
	"os"
	"runtime"
)

// openWindow opens the window with the plan at path, "" for none, and returns
// when it is closed.
func openWindow(path string) error {
	if !hasDisplay() {
		return usage("there is no display to open the window on: use a command, see pleach help")
	}
	return errors.New("the window is not part of this build")
}

// hasDisplay reports whether there is a screen to draw on.
func hasDisplay() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	return os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
}
