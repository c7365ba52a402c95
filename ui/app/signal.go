package app

import (
	"path/filepath"

	"pleach/gis/planfile"
	"pleach/model/contrast"
)

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
	return planfile.ReadTable(path, "temperature series", contrast.MaxBytes, contrast.ReadSeries)
}
