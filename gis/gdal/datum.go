package gdal

/*
#cgo pkg-config: proj
#include <stdio.h>
#include <stdlib.h>
#include <proj.h>

// Fills in the accuracy of the first operation from crs to WGS 84 that can be
// carried out here, and of the one ranked before it that cannot, with the file
// that one lacks. Accuracies are in metres, -1 where the register gives none.
// Returns 0 if the system is not understood or no operation is known.
static int pleach_datum(const char *crs, double w, double s, double e, double n,
	double *used, double *better, char *file, size_t room) {
	int found = 0;
	*used = *better = -1;
	file[0] = 0;
	PJ_CONTEXT *ctx = proj_context_create();
	proj_context_set_enable_network(ctx, 0);
	proj_log_level(ctx, PJ_LOG_NONE);
	PJ *from = proj_create(ctx, crs), *to = proj_create(ctx, "EPSG:4326");
	PJ_OPERATION_FACTORY_CONTEXT *f = proj_create_operation_factory_context(ctx, NULL);
	PJ_OBJ_LIST *list = NULL;
	if (from && to && f) {
		proj_operation_factory_context_set_area_of_interest(ctx, f, w, s, e, n);
		proj_operation_factory_context_set_spatial_criterion(ctx, f, PROJ_SPATIAL_CRITERION_PARTIAL_INTERSECTION);
		proj_operation_factory_context_set_grid_availability_use(ctx, f, PROJ_GRID_AVAILABILITY_IGNORED);
		list = proj_create_operations(ctx, from, to, f);
	}
	for (int i = 0; list && !found && i < proj_list_get_count(list); i++) {
		PJ *op = proj_list_get(ctx, list, i);
		if (!op)
			continue;
		double a = proj_coordoperation_get_accuracy(ctx, op);
		if (proj_coordoperation_is_instantiable(ctx, op)) {
			*used = a;
			found = 1;
		} else if (file[0] == 0) {
			int grids = proj_coordoperation_get_grid_used_count(ctx, op);
			for (int g = 0; g < grids; g++) {
				const char *name = NULL;
				int available = 1;
				if (proj_coordoperation_get_grid_used(ctx, op, g, &name, NULL, NULL, NULL, NULL, NULL, &available) && !available && name) {
					snprintf(file, room, "%s", name);
					*better = a;
					break;
				}
			}
		}
		proj_destroy(op);
	}
	if (list) proj_list_destroy(list);
	if (f) proj_operation_factory_context_destroy(f);
	if (from) proj_destroy(from);
	if (to) proj_destroy(to);
	proj_context_destroy(ctx);
	return found;
}
*/
import "C"

import (
	"fmt"
	"unsafe"

	"github.com/paulmach/orb"
)

// A Datum says how well a coordinate reference system is tied to WGS 84, by the
// EPSG register and the grid files that are installed.
type Datum struct {
	Accuracy float64 // metres; negative where the register does not say
	// Missing is the file of a more accurate way that cannot be gone because
	// the file is not installed, "" if there is none; Better is the accuracy of
	// that way, in metres, negative where the register does not say.
	Missing string
	Better  float64
}

// DatumOf returns how well c is tied to WGS 84 in the longitude-latitude box
// near. It is an error if no way is known.
func DatumOf(c CRS, near orb.Bound) (d Datum, err error) {
	err = locked(func() error {
		text := C.CString(c.text)
		defer C.free(unsafe.Pointer(text))
		var used, better C.double
		var file [256]C.char
		if C.pleach_datum(text, C.double(near.Min[0]), C.double(near.Min[1]), C.double(near.Max[0]), C.double(near.Max[1]),
			&used, &better, &file[0], C.size_t(len(file))) == 0 {
			return fmt.Errorf("no way is known from %s to %s", describe(c), describe(WGS84))
		}
		d = Datum{Accuracy: float64(used), Better: float64(better), Missing: C.GoString(&file[0])}
		return nil
	})
	return d, err
}
