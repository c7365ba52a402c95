package gdal

/*
#cgo pkg-config: gdal
#include <stdlib.h>
#include <string.h>
#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_http.h>
#include <cpl_string.h>
#include <gdal.h>
#include <ogr_api.h>
#include <ogr_srs_api.h>

// The first failure since pleach_clear on this thread, and the last warning.
static __thread char pleach_failure[512];
static __thread char pleach_warning[512];

static void CPL_STDCALL pleach_handler(CPLErr cls, CPLErrorNum num, const char *msg) {
	(void)num;
	if (cls >= CE_Failure) {
		if (pleach_failure[0] == 0)
			snprintf(pleach_failure, sizeof pleach_failure, "%s", msg);
	} else if (cls == CE_Warning) {
		snprintf(pleach_warning, sizeof pleach_warning, "%s", msg);
	}
}

static void pleach_clear(void) {
	pleach_failure[0] = 0;
	pleach_warning[0] = 0;
	CPLErrorReset();
}
static const char *pleach_failure_text(void) { return pleach_failure; }
static const char *pleach_warning_text(void) { return pleach_warning; }

// Every fetch is answered with an error before it reaches the network.
// Returning NULL would fall through to the real request.
static CPLHTTPResult *pleach_no_fetch(const char *url, CSLConstList opts, GDALProgressFunc p,
	void *parg, CPLHTTPFetchWriteFunc w, void *warg, void *user) {
	(void)url; (void)opts; (void)p; (void)parg; (void)w; (void)warg; (void)user;
	CPLHTTPResult *r = (CPLHTTPResult *)CPLCalloc(1, sizeof(CPLHTTPResult));
	r->nStatus = 1;
	r->pszErrBuf = CPLStrdup("network access is switched off");
	return r;
}

static void pleach_quiet(void) {
	CPLSetErrorHandler(pleach_handler);
	CPLHTTPSetFetchCallback(pleach_no_fetch, NULL);
	OSRSetPROJEnableNetwork(0);
}

static int pleach_area_of_use(void *s, double *w, double *so, double *e, double *n) {
	return OSRGetAreaOfUse((OGRSpatialReferenceH)s, w, so, e, n, NULL);
}
static void *pleach_make_valid(void *g) { return OGR_G_MakeValid((OGRGeometryH)g); }
static void pleach_strip_vertical(void *s) {
	OSRStripVertical((OGRSpatialReferenceH)s);
	OSRDemoteTo2D((OGRSpatialReferenceH)s, NULL);
}
*/
import "C"

import (
	"unsafe"

	raw "github.com/lukeroth/gdal"
)

// quiet routes GDAL's messages to thread-local buffers instead of standard
// error, and refuses every network fetch. The handler is process-wide.
func quiet() { C.pleach_quiet() }

// clearErrors forgets this thread's messages. The caller holds the thread.
func clearErrors() { C.pleach_clear() }

// lastFailure returns the first failure on this thread since clearErrors, or
// the last warning where there was none, or "".
func lastFailure() string {
	if s := C.GoString(C.pleach_failure_text()); s != "" {
		return s
	}
	return C.GoString(C.pleach_warning_text())
}

// A binding's handle is a struct of one pointer; these cross between it and
// the pointer itself. TestTheBindingsHandlesAreOnePointer guards the shape.

func makeValid(g raw.Geometry) raw.Geometry {
	p := *(*unsafe.Pointer)(unsafe.Pointer(&g))
	q := C.pleach_make_valid(p)
	return *(*raw.Geometry)(unsafe.Pointer(&q))
}

// areaOfUse returns the longitude-latitude box a system is made for, where the
// register says. West is above east where it runs across the date line.
func areaOfUse(sr raw.SpatialReference) (west, south, east, north float64, ok bool) {
	var w, s, e, n C.double
	ok = C.pleach_area_of_use(*(*unsafe.Pointer)(unsafe.Pointer(&sr)), &w, &s, &e, &n) != 0 && w > -1000
	return float64(w), float64(s), float64(e), float64(n), ok
}

func stripVertical(sr raw.SpatialReference) {
	C.pleach_strip_vertical(*(*unsafe.Pointer)(unsafe.Pointer(&sr)))
}
