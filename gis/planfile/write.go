package planfile

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"

	"pleach/model"
)

// BackupSuffix follows the file's name in the name of the version before.
const BackupSuffix = ".bak"

// Write puts the plan into the file called path, whole or not at all: it is
// written beside the file, made safe on the disk and given the file's name. A
// version that was there before is kept as path.bak, and its permissions hold
// for the new one. A link is followed to the file it points to. Where the file
// holds the very same bytes already nothing is touched, the .bak neither.
func Write(path string, p *model.Plan) error {
	if err := WriteBytes(path, p.JSON()); err != nil {
		return fmt.Errorf("%s: not saved: %w", path, err)
	}
	return nil
}

// WriteBytes is Write for what is already in bytes; its error leaves the
// file's name out.
func WriteBytes(path string, data []byte) error { return write(path, data, true) }

// Replace is WriteBytes for what the program can make again: the version before
// is not kept.
func Replace(path string, data []byte) error { return write(path, data, false) }

func write(path string, data []byte, keepOld bool) error {
	target, err := follow(path)
	if err != nil {
		return err
	}
	old, err := os.Lstat(target)
	exists := err == nil
	switch {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return errors.New(reason(err))
	case exists && old.IsDir():
		return errors.New("there is a folder of that name")
	case exists && !old.Mode().IsRegular():
		return errors.New("it is not an ordinary file")
	case exists && old.Mode().Perm()&0o222 == 0:
		return errors.New("the file is write-protected: allow writing or choose another name")
	}
	if exists && old.Size() == int64(len(data)) {
		if now, err := os.ReadFile(target); err == nil && bytes.Equal(now, data) {
			return nil
		}
	}
	temp, err := writeBeside(target, data, old)
	if err != nil {
		return err
	}
	if exists && keepOld {
		if err := keep(target); err != nil {
			os.Remove(temp)
			return fmt.Errorf("the version before cannot be kept as %s: %w", filepath.Base(target)+BackupSuffix, err)
		}
	}
	if err := os.Rename(temp, target); err != nil {
		os.Remove(temp)
		return linkReason(err)
	}
	syncFolder(filepath.Dir(target))
	return nil
}

// maxLinks is how many links in a row are followed.
const maxLinks = 40

// follow returns the file that path leads to through links; it need not exist.
func follow(path string) (string, error) {
	for range maxLinks {
		st, err := os.Lstat(path)
		if err != nil || st.Mode()&fs.ModeSymlink == 0 {
			return path, nil
		}
		to, err := os.Readlink(path)
		if err != nil {
			return "", errors.New(reason(err))
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(path), to)
		}
		path = to
	}
	return "", errors.New("its links lead round in a circle")
}

// beside opens a new file in the folder of target under a name of its own.
func beside(target string) (*os.File, error) {
	for {
		name := filepath.Join(filepath.Dir(target), fmt.Sprintf(".%s.%08x.tmp", filepath.Base(target), rand.Uint32()))
		f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("there is no folder %s", filepath.Dir(target))
		}
		if err != nil {
			return nil, fmt.Errorf("folder %s: %s", filepath.Dir(target), reason(err))
		}
		return f, nil
	}
}

// writeBeside writes data to a new file beside target, with the permissions of
// old where there is one, and returns its name.
func writeBeside(target string, data []byte, old fs.FileInfo) (name string, err error) {
	f, err := beside(target)
	if err != nil {
		return "", err
	}
	name = f.Name()
	defer func() {
		if cerr := f.Close(); err == nil && cerr != nil {
			err = errors.New(reason(cerr))
		}
		if err != nil {
			os.Remove(name)
		}
	}()
	if old != nil {
		if err := f.Chmod(old.Mode().Perm()); err != nil {
			return "", errors.New(reason(err))
		}
	}
	if _, err := f.Write(data); err != nil {
		return "", errors.New(reason(err))
	}
	if err := f.Sync(); err != nil {
		return "", errors.New(reason(err))
	}
	return name, nil
}

// keep gives the file called target the further name target.bak, or copies it
// there where the disk has no second names.
func keep(target string) error {
	bak := target + BackupSuffix
	second := filepath.Join(filepath.Dir(target), fmt.Sprintf(".%s.%08x.tmp", filepath.Base(bak), rand.Uint32()))
	if os.Link(target, second) != nil {
		data, err := os.ReadFile(target)
		if err != nil {
			return errors.New(reason(err))
		}
		st, err := os.Stat(target)
		if err != nil {
			return errors.New(reason(err))
		}
		if second, err = writeBeside(bak, data, st); err != nil {
			return err
		}
	}
	if err := os.Rename(second, bak); err != nil {
		os.Remove(second)
		return linkReason(err)
	}
	// Two names of one file are left as they are by a rename.
	os.Remove(second)
	return nil
}

func linkReason(err error) error {
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err
	}
	return err
}

// syncFolder makes a rename in the folder safe on the disk, where the system
// has a way to.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}
