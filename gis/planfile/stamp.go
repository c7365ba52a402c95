package planfile

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io/fs"
	"os"
	"time"
)

// Stamp tells one state of a file from another: how large it is, when it was
// written and what stands in it. The zero Stamp is of no file.
type Stamp struct {
	size int64
	at   time.Time
	sum  [sha256.Size]byte
}

// StampOf is the state of the file called path with the bytes data, which were
// read from it or written to it just now.
func StampOf(path string, data []byte) Stamp {
	s := Stamp{size: int64(len(data)), sum: sha256.Sum256(data)}
	if st, err := os.Stat(path); err == nil {
		s.at = st.ModTime()
	}
	return s
}

// Touched reports whether the file called path is of another size or was written
// at another time. It does not read the file: what was written twice within one
// tick of the disk's clock may escape it. A file that is gone is not touched.
func (s Stamp) Touched(path string) bool {
	if s == (Stamp{}) {
		return false
	}
	st, err := os.Stat(path)
	return err == nil && (st.Size() != s.size || !st.ModTime().Equal(s.at))
}

// Differs reports whether in the file called path stands something else than when
// it was stamped, and something else than data, which is to be written to it:
// what would be lost. A file that is gone does not differ; one that is there but
// cannot be read is taken to.
func (s Stamp) Differs(path string, data []byte) bool {
	if s == (Stamp{}) {
		return false
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return false
	}
	now, err := Load(path)
	return err != nil || sha256.Sum256(now) != s.sum && !bytes.Equal(now, data)
}
