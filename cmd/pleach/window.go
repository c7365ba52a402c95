package main

import (
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"pleach/ui/app"
)

// openWindow opens the window with the plan at path, "" for none, and returns
// when it is closed.
func openWindow(path string) error {
	if !hasDisplay() {
		return usage("there is no display to open the window on: use a command, see pleach help")
	}
	return app.Run(path)
}

// hasDisplay reports whether there is a screen to draw on.
func hasDisplay() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	return waylandAnswers(os.Getenv("WAYLAND_DISPLAY")) || xAnswers(os.Getenv("DISPLAY"))
}

// waylandAnswers reports whether there is a socket of that name.
func waylandAnswers(name string) bool {
	if name == "" {
		return false
	}
	if !filepath.IsAbs(name) {
		name = filepath.Join(os.Getenv("XDG_RUNTIME_DIR"), name)
	}
	return answers("unix", name)
}

// xAnswers reports whether the X server that DISPLAY names, such as ":0" or
// "localhost:10.0", takes a call.
func xAnswers(display string) bool {
	host, rest, ok := strings.Cut(display, ":")
	if !ok {
		return false
	}
	number, _, _ := strings.Cut(rest, ".")
	n, err := strconv.Atoi(number)
	if err != nil || n < 0 || n > 59535 {
		return false
	}
	if host == "" || host == "unix" {
		socket := "/tmp/.X11-unix/X" + number
		return answers("unix", socket) || runtime.GOOS == "linux" && answers("unix", "@"+socket)
	}
	return answers("tcp", net.JoinHostPort(host, strconv.Itoa(6000+n)))
}

func answers(network, address string) bool {
	c, err := net.DialTimeout(network, address, 2*time.Second)
	if err != nil {
		return false
	}
	c.Close()
	return true
}
