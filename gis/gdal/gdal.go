// Package gdal is the only door to the GDAL library: rasters resampled onto
// the site grid, coordinates between reference systems, and polygon overlay as
// a reference for tests. In go paths, orb geometry and numbers; out come orb
// geometry, images and numbers. No handle of the library leaves the package.
//
// The library is told to stay quiet before its first use: no network, no files
// written beside the user's, no drivers but the few named here, a bounded
// cache. Files are looked at in Go first (a regular file of a known kind by its
// first bytes) and opened with the one driver of that kind, so that a text
// which names other files or a server is never followed.
//
// All functions may be called from several goroutines at once; each call opens
// its own handles and closes them.
package gdal

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"sync"

	raw "github.com/lukeroth/gdal"
)

// drivers are the formats that stay registered. Those for vectors and paper
// are here because they are read or written elsewhere in the package; each
// open names its own driver all the same.
var drivers = map[string]bool{
	"GTiff": true, "PNG": true, "JPEG": true, "JP2OpenJPEG": true, "MEM": true, "AAIGrid": true,
	"GPKG": true, "ESRI Shapefile": true, "LIBKML": true, "KML": true, "DXF": true, "GPX": true,
	"PDF": true, "Memory": true,
}

// cacheBytes bounds the library's block cache. Chosen: a strip of a very wide
// tiled image fits.
const cacheBytes = 256 << 20

var start = sync.OnceFunc(func() {
	quiet()
	for k, v := range map[string]string{
		"PROJ_NETWORK":                     "OFF",
		"GDAL_PAM_ENABLED":                 "NO",
		"CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "none",
		"GDAL_ERROR_ON_LIBJPEG_WARNING":    "TRUE",
		"GDAL_VRT_ENABLE_PYTHON":           "NO",
		"GDAL_GEOREF_SOURCES":              "INTERNAL",
		"GDAL_DISABLE_READDIR_ON_OPEN":     "EMPTY_DIR",
	} {
		raw.CPLSetConfigOption(k, v)
	}
	raw.SetCacheMax(cacheBytes)
	for i := raw.GetDriverCount() - 1; i >= 0; i-- {
		if d := raw.GetDriver(i); !drivers[d.ShortName()] {
			d.Deregister()
		}
	}
})

// locked runs f on one thread with that thread's messages cleared, so that
// lastFailure inside f speaks of f.
func locked(f func() error) error {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	start()
	clearErrors()
	return f()
}

// failure is an error that says what was attempted and what the library said.
func failure(what string) error {
	if msg := lastFailure(); msg != "" {
		return fmt.Errorf("%s: %s", what, oneLine(msg))
	}
	return errors.New(what)
}

func oneLine(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 300 {
		s = s[:300] + "…"
	}
	return s
}
