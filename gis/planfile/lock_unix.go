//go:build unix

package planfile

import (
	"os"
	"syscall"
)

// hold locks a file until it is closed or the program ends in whatever way. Where
// another program has it, it waits or fails.
func hold(f *os.File, wait bool) error {
	how := syscall.LOCK_EX
	if !wait {
		how |= syscall.LOCK_NB
	}
	for {
		if err := syscall.Flock(int(f.Fd()), how); err != syscall.EINTR {
			return err
		}
	}
}
