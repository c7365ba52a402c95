module pleach

go 1.26.3

require (
	codeberg.org/go-pdf/fpdf v0.12.0 // indirect
	fyne.io/fyne/v2 v2.7.1 // indirect
	github.com/google/go-cmp v0.7.0 // indirect
	github.com/lukeroth/gdal v0.0.0-20251112192847-aa5e8dc032a2 // indirect
	github.com/paulmach/orb v0.14.0 // indirect
	github.com/twpayne/go-geom v1.7.0 // indirect
	golang.org/x/image v0.47.0 // indirect
	golang.org/x/sys v0.49.0 // indirect
	golang.org/x/text v0.43.0 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)
