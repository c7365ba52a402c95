// Package quiet keeps the window's toolkit from writing to standard error while
// the program starts, where only the program's own lines belong: it complains
// there of a locale such as C.UTF-8, window or no window.
//
// Packages are initialised by what they import and then by import path. This
// one imports nothing but os and its path comes before those of the standard
// packages that the toolkit needs and os does not, so its turn comes first.
package quiet

import "os"

const name = "LC_ALL"

var locale, set = os.LookupEnv(name)

func init() { os.Setenv(name, "C") }

// Restore gives the program its own locale back. It is called once, before
// anything else is done.
func Restore() {
	if set {
		os.Setenv(name, locale)
	} else {
		os.Unsetenv(name)
	}
}
