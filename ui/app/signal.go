package app

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"pleach/model/contrast"
)

// maxSeries is the most of a temperature series that is read, in bytes; chosen.
const maxSeries = 200 << 20

// chooseSeries lets the user choose a temperature series for the signal panel.
func (w *window) chooseSeries() {
	w.chooseFile("Temperature series", []string{".csv", ".CSV"}, w.readSeries)
}

// readSeries reads a temperature series behind the window and shows its hours.
func (w *window) readSeries(path string) {
	var series []contrast.Reading
	var err error
	w.an.behind(func() { series, err = loadSeries(path) }, func() {
		if err != nil {
			w.showError("The temperature series cannot be used", err)
			return
		}
		w.signal.SetSeries(filepath.Base(path), series)
	})
}

// loadSeries reads a file; every line of its error names it.
func loadSeries(path string) ([]contrast.Reading, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.Size() > maxSeries {
		return nil, fmt.Errorf("%s has %d MB: at most %d are read; thin the series out to one reading in ten minutes", path, st.Size()>>20, maxSeries>>20)
	}
	series, err := contrast.ReadSeries(f)
	if err != nil {
		name := filepath.Base(path) + ": "
		return nil, fmt.Errorf("%s%s", name, strings.ReplaceAll(err.Error(), "\n", "\n"+name))
	}
	return series, nil
}
