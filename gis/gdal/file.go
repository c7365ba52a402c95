package gdal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// A format is one kind of image file: what its first bytes are, the only
// driver that may open it, and the endings its world file may have.
type format struct {
	name   string
	driver string
	magic  []string
	world  []string
}

var imageFormats = []format{
	{"TIFF", "GTiff", []string{"II*\x00", "MM\x00*", "II+\x00", "MM\x00+"}, []string{".tfw", ".tifw", ".tiffw", ".wld"}},
	{"PNG", "PNG", []string{"\x89PNG\r\n\x1a\n"}, []string{".pgw", ".pngw", ".wld"}},
	{"JPEG", "JPEG", []string{"\xff\xd8\xff"}, []string{".jgw", ".jpw", ".jpgw", ".jpegw", ".wld"}},
	{"JPEG 2000", "JP2OpenJPEG", []string{"\x00\x00\x00\x0cjP  \r\n\x87\n", "\xff\x4f\xff\x51"}, []string{".j2w", ".jp2w", ".wld"}},
}

const imageKinds = "GeoTIFF, PNG, JPEG and JPEG 2000"

// regularFile returns the absolute, link-free path of an existing regular file.
// A name the library would take for something other than a file is refused.
func regularFile(path string) (string, error) {
	fail := func(what string) (string, error) { return "", fmt.Errorf("%s: %s", shown(path), what) }
	slashed := strings.ReplaceAll(path, `\`, "/")
	switch {
	case path == "":
		return "", errors.New("no file named")
	case strings.ContainsRune(path, 0):
		return fail("the file's name holds a zero byte")
	case strings.Contains(slashed, "://"):
		return fail("is an address, not a file: save it to this computer first")
	case strings.HasPrefix(strings.ToLower(slashed), "/vsi"):
		return fail("is not a file on this computer: save it as one first")
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return fail(err.Error())
	}
	abs, err = filepath.EvalSymlinks(abs)
	if errors.Is(err, fs.ErrNotExist) {
		return fail("no such file")
	}
	if err != nil {
		return fail(reason(err))
	}
	st, err := os.Stat(abs)
	switch {
	case err != nil:
		return fail(reason(err))
	case st.IsDir():
		return fail("is a folder, not a file")
	case !st.Mode().IsRegular():
		return fail("is not an ordinary file")
	case st.Size() == 0:
		return fail("is empty (0 bytes)")
	case strings.HasPrefix(strings.ToLower(filepath.ToSlash(abs)), "/vsi"):
		return fail("lies in a folder whose name begins with /vsi: move it to another")
	}
	return abs, nil
}

// reason is the last part of a file error: "permission denied".
func reason(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}

// shown is a path fit for one line of a message.
func shown(path string) string {
	s := strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return '?'
		}
		return r
	}, path)
	if r := []rune(s); len(r) > 200 {
		s = "…" + string(r[len(r)-199:])
	}
	return s
}

// imageFormat tells by its first bytes what kind of image a file is.
func imageFormat(path, abs string) (format, error) {
	f, err := os.Open(abs)
	if err != nil {
		return format{}, fmt.Errorf("%s: %s", shown(path), reason(err))
	}
	defer f.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return format{}, fmt.Errorf("%s: %s", shown(path), reason(err))
	}
	head = head[:n]
	for _, f := range imageFormats {
		for _, m := range f.magic {
			if bytes.HasPrefix(head, []byte(m)) {
				return f, nil
			}
		}
	}
	what := "is not an image of a kind that is read"
	if looksLikeText(head) {
		what = "holds text, not an image"
	}
	return format{}, fmt.Errorf("%s: %s: %s are", shown(path), what, imageKinds)
}

func looksLikeText(b []byte) bool {
	for _, c := range b {
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' {
			return false
		}
	}
	return true
}
