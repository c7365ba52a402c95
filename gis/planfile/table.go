package planfile

import (
	"errors"
	"fmt"
	"io"
	"strings"
)

// ReadTable reads a file that goes with a plan, such as a "table of prices", of at
// most so many bytes. Every line of its error begins with the path.
func ReadTable[T any](path, what string, most int64, read func(io.Reader) (T, error)) (T, error) {
	var none T
	f, size, err := openFile(path, " and no "+what)
	if err != nil {
		return none, err
	}
	defer f.Close()
	if size > most {
		return none, fmt.Errorf("%s: has %.1f MB: at most %d MB are read of a %s; make it smaller", path, float64(size)/(1<<20), most>>20, what)
	}
	v, err := read(io.LimitReader(f, most))
	if err != nil {
		var all []error
		for _, l := range strings.Split(err.Error(), "\n") {
			all = append(all, fmt.Errorf("%s: %s", path, l))
		}
		return none, errors.Join(all...)
	}
	return v, nil
}
