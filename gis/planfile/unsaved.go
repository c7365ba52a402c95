package planfile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"pleach/model"
)

// Work is a plan as it was worked on and not yet saved.
type Work struct {
	Path   string    `json:"plan"`   // of its file, "" for none yet
	Origin string    `json:"origin"` // the folder of the files it was made of
	At     time.Time `json:"at"`
	Sum    string    `json:"sha256"` // of what follows the head

	Plan *model.Plan `json:"-"`
}

// In a Keeper's folder each program that has unsaved work has a folder of its own
// with these two files. The first is held locked by the living; the second is one
// line of JSON, the Work, and then the plan.
const (
	lockName = "lock"
	workName = "work"
)

// Keeper keeps one program's unsaved work on the disk, where a later start finds
// it if the program ends before the work is saved or given up. It may be used from
// any goroutine.
type Keeper struct {
	mu     sync.Mutex
	folder string
	own    string // folder, "" while nothing is kept
	lock   *os.File
	closed bool
}

// NewKeeper returns a keeper in a folder, which need not exist.
func NewKeeper(folder string) *Keeper { return &Keeper{folder: folder} }

// Keep puts w in the place of what was kept before, whole or not at all. After
// Close it does nothing.
func (k *Keeper) Keep(w Work) error {
	text := w.Plan.JSON()
	sum := sha256.Sum256(text)
	w.Sum = hex.EncodeToString(sum[:])
	head, err := json.Marshal(w)
	if err != nil {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.closed {
		return nil
	}
	if err := k.settle(); err != nil {
		return fmt.Errorf("%s: %w", k.folder, err)
	}
	path := filepath.Join(k.own, workName)
	if err := Replace(path, slices.Concat(head, []byte("\n"), text)); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}

// settle makes the keeper's own folder, locked.
func (k *Keeper) settle() error {
	if k.own != "" {
		return nil
	}
	if err := os.MkdirAll(k.folder, 0o700); err != nil {
		return errors.New(reason(err))
	}
	own, err := os.MkdirTemp(k.folder, "plan-")
	if err != nil {
		return errors.New(reason(err))
	}
	lock, err := os.OpenFile(filepath.Join(own, lockName), os.O_CREATE|os.O_RDWR, 0o600)
	if err == nil {
		err = hold(lock, true)
	}
	if err != nil {
		os.RemoveAll(own)
		return err
	}
	k.own, k.lock = own, lock
	return nil
}

// Drop forgets what was kept: it is saved or given up.
func (k *Keeper) Drop() {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.own == "" {
		return
	}
	os.Remove(filepath.Join(k.own, workName))
	k.lock.Close()
	os.RemoveAll(k.own)
	k.own, k.lock = "", nil
}

// Close drops what was kept and has Keep do nothing from now on.
func (k *Keeper) Close() {
	k.mu.Lock()
	k.closed = true
	k.mu.Unlock()
	k.Drop()
}

// Leftover is the unsaved work of a program that has ended.
type Leftover struct {
	Work
	own string
}

// Leftovers returns the unsaved work below a keeper's folder whose program lives
// no more, the newest first. What is damaged is passed over and left in its place.
func Leftovers(folder string) (found []Leftover) {
	list, _ := os.ReadDir(folder)
	for _, e := range list {
		own := filepath.Join(folder, e.Name())
		if !e.IsDir() || lives(filepath.Join(own, lockName)) {
			continue
		}
		if w, err := readWork(filepath.Join(own, workName)); err == nil {
			found = append(found, Leftover{w, own})
		}
	}
	slices.SortStableFunc(found, func(a, b Leftover) int { return b.At.Compare(a.At) })
	return found
}

// Discard takes the work away for good.
func (l Leftover) Discard() { os.RemoveAll(l.own) }

func readWork(path string) (w Work, err error) {
	data, err := Load(path)
	if err != nil {
		return w, err
	}
	head, text, ok := bytes.Cut(data, []byte("\n"))
	if !ok {
		return w, fmt.Errorf("%s: is cut short", path)
	}
	if err := json.Unmarshal(head, &w); err != nil {
		return w, fmt.Errorf("%s: %w", path, err)
	}
	if sum := sha256.Sum256(text); hex.EncodeToString(sum[:]) != w.Sum {
		return w, fmt.Errorf("%s: is damaged", path)
	}
	w.Plan, err = Parse(path, text)
	return w, err
}

// lives reports whether another program holds a lock.
func lives(path string) bool {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return false
	}
	defer f.Close()
	return hold(f, false) != nil
}
