// Package planfile reads and writes plans. A plan is read whatever is wrong
// with its features: they come back flawed. What is not a plan at all is one
// error that names the file, the place and the remedy. Writing is all or
// nothing and keeps the version before.
package planfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"unicode/utf8"

	"pleach/model"
)

// MaxSize is the greatest size in bytes of a plan that is read. Chosen: a
// thousand times a large plan, and small enough to hold in memory.
const MaxSize = 256 << 20

// Read returns the plan in the file called path. A plan with flaws comes back
// with them; everything else that is wrong is one error that begins with the
// file's name.
func Read(path string) (*model.Plan, error) {
	data, err := Load(path)
	if err != nil {
		return nil, err
	}
	return Parse(path, data)
}

// Load returns the bytes of an ordinary file of at most MaxSize bytes.
func Load(path string) ([]byte, error) {
	f, size, err := openFile(path, ", not a file")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if size > MaxSize {
		return nil, tooLarge(path, size)
	}
	data, err := io.ReadAll(io.LimitReader(f, MaxSize+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %s", path, reason(err))
	}
	return data, nil
}

// openFile opens an ordinary file and returns its size. A folder is refused as "is
// a folder" with what it is not, and so is what never ends or waits, such as a pipe
// or a device: it is not opened.
func openFile(path, folderIs string) (f *os.File, size int64, err error) {
	st, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, 0, fmt.Errorf("%s: %s", path, reason(err))
	case st.IsDir():
		return nil, 0, fmt.Errorf("%s: is a folder%s", path, folderIs)
	case !st.Mode().IsRegular():
		return nil, 0, fmt.Errorf("%s: is not an ordinary file", path)
	}
	if f, err = os.Open(path); err != nil {
		return nil, 0, fmt.Errorf("%s: %s", path, reason(err))
	}
	return f, st.Size(), nil
}

// reason is the last part of a file error: "permission denied".
func reason(err error) string {
	if errors.Is(err, fs.ErrNotExist) {
		return "no such file"
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}

func tooLarge(name string, size int64) error {
	return fmt.Errorf("%s: is %d MB large: a plan has at most %d MB", name, size>>20, MaxSize>>20)
}

// Parse reads a plan from its bytes; name stands for it in errors. The plan
// keeps data and gives it back from JSON as long as it is not edited. A mark of
// byte order before the text is passed over.
func Parse(name string, data []byte) (*model.Plan, error) {
	if int64(len(data)) > MaxSize {
		return nil, tooLarge(name, int64(len(data)))
	}
	text, err := Text(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	members, err := model.ParseObject(text)
	if err != nil {
		return nil, fmt.Errorf("%s: is not a GeoJSON object: %w", name, err)
	}
	for _, once := range []string{"type", "pleach", "features"} {
		if n := count(members, once); n > 1 {
			return nil, fmt.Errorf("%s: the member %q stands %d times: leave one", name, once, n)
		}
	}
	list, listed := members.Get("features")
	var raws []json.RawMessage
	if listed {
		if err := json.Unmarshal(list, &raws); err != nil {
			return nil, fmt.Errorf("%s: features is not a list", name)
		}
	}
	features := make([]*model.Feature, len(raws))
	for i, raw := range raws {
		if features[i], err = model.ReadFeature(raw, i); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	p, err := model.ReadPlan(members, features, data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if !listed {
		return nil, fmt.Errorf("%s: the member \"features\" is missing: a plan has a list of features, if an empty one", name)
	}
	return p, nil
}

func count(o model.Object, name string) (n int) {
	for _, m := range o {
		if m.Name == name {
			n++
		}
	}
	return n
}

var byteOrderMark = []byte("\xef\xbb\xbf")

// Text returns data without a mark of byte order, or an error with line and
// column where it is not JSON in UTF-8.
func Text(data []byte) ([]byte, error) {
	for _, utf16 := range []string{"\xff\xfe", "\xfe\xff"} {
		if bytes.HasPrefix(data, []byte(utf16)) {
			return nil, errors.New("is written in UTF-16: save it as UTF-8")
		}
	}
	if len(data) >= 2 && (data[0] == 0) != (data[1] == 0) {
		return nil, errors.New("is written in UTF-16: save it as UTF-8")
	}
	if first, _ := utf8.DecodeRune(data); len(data) > 0 && first == utf8.RuneError || bytes.IndexByte(data[:min(len(data), 512)], 0) >= 0 {
		return nil, errors.New("is not text: a plan is a GeoJSON file in UTF-8")
	}
	text := bytes.TrimPrefix(data, byteOrderMark)
	switch {
	case len(data) == 0:
		return nil, errors.New("is empty (0 bytes)")
	case len(bytes.TrimSpace(text)) == 0:
		return nil, errors.New("holds nothing but white space")
	}
	var whole json.RawMessage
	err := json.Unmarshal(text, &whole)
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		return nil, syntaxError(text, syntax)
	case err != nil:
		return nil, err
	}
	if !utf8.Valid(text) {
		at := 0
		for at < len(text) {
			r, size := utf8.DecodeRune(text[at:])
			if r == utf8.RuneError && size == 1 {
				break
			}
			at += size
		}
		return nil, fmt.Errorf("%s: the byte %#x is not UTF-8: save the file as UTF-8", place(text, at), text[at])
	}
	return text, nil
}

// syntaxError says where JSON ends to be JSON, and what stands there.
func syntaxError(text []byte, e *json.SyntaxError) error {
	at := int(e.Offset) - 1
	if strings.Contains(e.Error(), "unexpected end") {
		return fmt.Errorf("%s: the file ends in the middle of a value: it is cut short", place(text, len(text)))
	}
	at = max(0, min(at, len(text)-1))
	if strings.Contains(e.Error(), "max depth") {
		return fmt.Errorf("%s: values are nested more than 10000 deep", place(text, at))
	}
	// A word that is no JSON is named whole, from its beginning.
	from := at
	for from > 0 && isWord(text[from-1]) && isWord(text[at]) {
		from--
	}
	to := from
	for to < len(text) && isWord(text[to]) && to-from < 20 {
		to++
	}
	word := string(text[from:to])
	switch strings.ToLower(strings.TrimLeft(word, "+-")) {
	case "nan", "infinity", "inf":
		return fmt.Errorf("%s: %s is not a JSON value: write a finite number", place(text, from), word)
	case "":
		r, _ := utf8.DecodeRune(text[at:])
		return fmt.Errorf("%s: %q is not JSON here: %s", place(text, at), r, e)
	}
	return fmt.Errorf("%s: %s is not JSON here: %s", place(text, from), word, e)
}

func isWord(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '+' || c == '-' || c == '.'
}

// place returns "line 3, column 7" for a byte of text, both from 1; columns
// count characters.
func place(text []byte, at int) string {
	before := text[:at]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Sprintf("line %d, column %d", line, column)
}
