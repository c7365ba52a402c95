//go:build !unix

package planfile

import "os"

// hold has nothing to do for the one who waits: a file that is open cannot be
// renamed by others here, and that is what tells them.
func hold(f *os.File, wait bool) error {
	if wait {
		return nil
	}
	name := f.Name()
	f.Close()
	if err := os.Rename(name, name+".free"); err != nil {
		return err
	}
	return os.Rename(name+".free", name)
}
