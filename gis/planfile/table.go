package planfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
)

// ReadTable reads a file that goes with a plan, such as a "table of prices", of at
// most so many bytes. Every line of its error begins with the path.
func ReadTable[T any](path, what string, most int64, read func(io.Reader) (T, error)) (T, error) {
	var none T
	f, err := os.Open(path)
	var pe *fs.PathError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return none, fmt.Errorf("%s: no such file", path)
	case errors.As(err, &pe):
		return none, fmt.Errorf("%s: %w", path, pe.Err)
	case err != nil:
		return none, fmt.Errorf("%s: %w", path, err)
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return none, fmt.Errorf("%s: is a folder and no %s", path, what)
	} else if err == nil && st.Size() > most {
		return none, fmt.Errorf("%s: has %.1f MB: at most %d MB are read of a %s; make it smaller", path, float64(st.Size())/(1<<20), most>>20, what)
	}
	v, err := read(f)
	if err != nil {
		var all []error
		for _, l := range strings.Split(err.Error(), "\n") {
			all = append(all, fmt.Errorf("%s: %s", path, l))
		}
		return none, errors.Join(all...)
	}
	return v, nil
}
