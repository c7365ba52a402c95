package app_test

import (
	"bufio"
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/sitegrid"
)

// patience is how long a step of the real window may take at most: a loaded
// machine paints slowly. Nothing waits longer than it must.
const patience = 60 * time.Second

// desk is a display of its own with the program on it.
type desk struct {
	t       *testing.T
	display string
	window  string // X id
	binary  string
	plan    string
	program *exec.Cmd
	out     bytes.Buffer
	err     bytes.Buffer
}

// newDesk starts a display, and the built program on it with a copy of the demo.
func newDesk(t *testing.T) *desk {
	t.Helper()
	for _, tool := range []string{"Xvfb", "xdotool"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("%s is not installed: the real window is not tested here (apt install xvfb xdotool)", tool)
		}
	}
	folder := t.TempDir()
	binary := filepath.Join(folder, "pleach")
	if out, err := exec.Command("go", "build", "-o", binary, "pleach/cmd/pleach").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	d := &desk{t: t, binary: binary, plan: filepath.Join(folder, "demo.geojson")}
	for _, name := range []string{"demo.geojson", "aerial.jpg", "aerial.jgw"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "assets", "demo", name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	d.startDisplay()
	d.run()
	return d
}

// run starts the program with the plan and waits for its window.
func (d *desk) run() {
	t, folder := d.t, filepath.Dir(d.plan)
	t.Helper()
	d.program = exec.Command(d.binary, d.plan)
	d.program.Env = append(os.Environ(), "DISPLAY="+d.display, "WAYLAND_DISPLAY=", "FYNE_SCALE=1", "FYNE_THEME=light", "LANG=en_GB.UTF-8",
		"HOME="+folder, "XDG_CONFIG_HOME="+filepath.Join(folder, "config"), "XDG_DATA_HOME="+filepath.Join(folder, "data"))
	d.program.Stdout, d.program.Stderr = &d.out, &d.err
	if err := d.program.Start(); err != nil {
		t.Fatal(err)
	}
	program := d.program
	t.Cleanup(func() {
		if program.ProcessState == nil {
			program.Process.Kill()
			program.Wait()
		}
		if t.Failed() {
			t.Logf("standard error of the program:\n%s", d.err.String())
		}
	})
	d.until("the window opens", func() bool {
		ids := strings.Fields(d.xdotool("search", "--onlyvisible", "--name", "demo.geojson"))
		if len(ids) == 0 {
			return false
		}
		d.window = ids[0]
		return true
	})
}

// startDisplay has Xvfb choose a free display. Where another one takes the same
// number at that moment and no client gets in, it asks again.
func (d *desk) startDisplay() {
	d.t.Helper()
	for try := 0; ; try++ {
		stop := d.tryDisplay()
		for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
			if strings.HasPrefix(d.xdotool("getdisplaygeometry"), "1600 ") {
				d.t.Cleanup(stop)
				return
			}
		}
		stop()
		if try == 4 {
			d.t.Fatalf("Xvfb names display %s, but no client gets in", d.display)
		}
	}
}

// tryDisplay starts Xvfb on a display of its choice and returns what ends it.
func (d *desk) tryDisplay() (stop func()) {
	d.t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		d.t.Fatal(err)
	}
	// Without -noreset it begins anew whenever its last client leaves, and turns away
	// who comes just then.
	x := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "1600x1000x24", "-nolisten", "tcp", "-noreset")
	x.ExtraFiles = []*os.File{w}
	if err := x.Start(); err != nil {
		d.t.Skipf("Xvfb does not start: %v", err)
	}
	w.Close()
	stop = func() {
		x.Process.Kill()
		x.Wait()
	}
	line := make(chan string, 1)
	go func() {
		s, _ := bufio.NewReader(r).ReadString('\n')
		r.Close()
		line <- strings.TrimSpace(s)
	}()
	select {
	case s := <-line:
		if _, err := strconv.Atoi(s); err != nil {
			stop()
			d.t.Skipf("Xvfb does not start: it names display %q", s)
		}
		d.display = ":" + s
	case <-time.After(patience):
		stop()
		d.t.Fatal("Xvfb does not say which display it is")
	}
	return stop
}

func (d *desk) xdotool(args ...string) string {
	c := exec.Command("xdotool", args...)
	c.Env = append(os.Environ(), "DISPLAY="+d.display)
	out, _ := c.Output()
	return strings.TrimSpace(string(out))
}

// until waits for something, asking again and again.
func (d *desk) until(what string, ready func() bool) {
	d.t.Helper()
	if !d.within(patience, ready) {
		d.t.Fatalf("in %v it did not come about that %s; the title is %q", patience, what, d.title())
	}
}

func (d *desk) within(most time.Duration, ready func() bool) bool {
	for end := time.Now().Add(most); ; time.Sleep(50 * time.Millisecond) {
		if ready() {
			return true
		}
		if time.Now().After(end) || d.program.ProcessState != nil {
			return false
		}
	}
}

func (d *desk) title() string { return d.xdotool("getwindowname", d.window) }

func (d *desk) unsaved() bool { return strings.Contains(d.title(), "(not saved)") }

func (d *desk) move(x, y int) { d.xdotool("mousemove", strconv.Itoa(x), strconv.Itoa(y)) }

func (d *desk) read() *model.Plan {
	d.t.Helper()
	p, err := planfile.Read(d.plan)
	if err != nil {
		d.t.Fatal(err)
	}
	return p
}

// save presses the keys for it until the title says that all is saved.
func (d *desk) save() {
	d.t.Helper()
	d.until("the plan is saved", func() bool {
		d.xdotool("key", "ctrl+s")
		return d.within(3*time.Second, func() bool { return !d.unsaved() })
	})
}

// place puts a new sensor at a pixel.
func (d *desk) place(x, y int) {
	d.t.Helper()
	was := d.unsaved()
	d.until("a sensor is placed", func() bool {
		d.move(x, y)
		d.xdotool("key", "s")
		d.xdotool("click", "1")
		return d.within(5*time.Second, func() bool { return d.unsaved() && !was })
	})
	d.save()
}

// drag drags with the left button, by way of the middle.
func (d *desk) drag(x0, y0, x1, y1 int) {
	d.t.Helper()
	d.move(x0, y0)
	d.xdotool("mousedown", "1")
	const steps = 12
	for i := 1; i <= steps; i++ {
		d.move(x0+(x1-x0)*i/steps, y0+(y1-y0)*i/steps)
		time.Sleep(15 * time.Millisecond) // as a hand does: the moves are not merged into one
	}
	d.xdotool("mouseup", "1")
}

func TestTheRealWindowPlacesDragsSavesAndUndoes(t *testing.T) {
	d := newDesk(t)
	original, err := os.ReadFile(d.plan)
	if err != nil {
		t.Fatal(err)
	}
	before := d.read()
	lon, lat := 0.0, 0.0
	grid := sitegrid.Grid{}
	at := func(p *model.Plan, id string) orb.Point {
		t.Helper()
		f := p.Feature(id)
		if f == nil {
			t.Fatalf("the saved plan has no %s", id)
		}
		pos := f.Geometry.(orb.Point)
		if grid == (sitegrid.Grid{}) {
			lon, lat = pos[0], pos[1]
			grid = sitegrid.New(lon, lat)
		}
		return grid.ToSite(pos)
	}

	// Two sensors tell what a pixel measures.
	const x, y, apart = 620, 640, 420
	first := before.NewID(model.KindSensor)
	d.place(x, y)
	d.place(x+apart, y)
	p := d.read()
	second := ""
	for _, f := range p.Of(model.KindSensor) {
		if before.Feature(f.ID) == nil && f.ID != first {
			second = f.ID
		}
	}
	a, b := at(p, first), at(p, second)
	pixel := math.Hypot(b[0]-a[0], b[1]-a[1]) / apart
	if !(pixel > 0.01 && pixel < 10) {
		t.Fatalf("a pixel measures %v m: %s at %v, %s at %v", pixel, first, a, second, b)
	}
	if turn := math.Abs(b[1]-a[1]) / pixel; turn > 1 {
		t.Errorf("two sensors placed on one row are %.2f pixels apart from north to south", turn)
	}

	const dx, dy = 130, -90
	d.until("the drag is seen", func() bool {
		d.drag(x, y, x+dx, y+dy)
		return d.within(5*time.Second, d.unsaved)
	})
	d.save()
	now := at(d.read(), first)
	east, north := (now[0]-a[0])/pixel, (now[1]-a[1])/pixel
	t.Logf("a pixel measures %.3f m; dragged %d, %d pixels, moved %.2f east, %.2f north", pixel, dx, dy, east, north)
	if math.Abs(east-dx) > 1 || math.Abs(north+dy) > 1 {
		t.Errorf("dragged by %d, %d pixels, but the saved sensor moved by %.2f, %.2f", dx, -dy, east, north)
	}

	// Undo everything and save: the file is the one that was opened.
	d.until("the original is back", func() bool {
		for range 4 {
			d.xdotool("key", "ctrl+z")
		}
		d.save()
		data, err := os.ReadFile(d.plan)
		return err == nil && bytes.Equal(data, original)
	})

	// With nothing unsaved the window closes without asking.
	done := make(chan error, 1)
	go func() { done <- d.program.Wait() }()
	for end := time.Now().Add(patience); ; {
		d.xdotool("key", "ctrl+q")
		select {
		case err := <-done:
			if err != nil {
				t.Errorf("the program ended with %v", err)
			}
			if d.out.Len() > 0 {
				t.Errorf("the window wrote on standard output: %q", d.out.String())
			}
			return
		case <-time.After(2 * time.Second):
			if time.Now().After(end) {
				t.Fatal("the window does not close")
			}
		}
	}
}
