package planfile

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"regexp"

	"pleach/model"
)

// planMember tells a plan from other GeoJSON.
var planMember = regexp.MustCompile(`"pleach"\s*:`)

// NotItsOwn refuses to as the file that a result of the plan at path goes to,
// where that is the plan itself, a file it is made of, or another plan: such a
// file would be lost. A file that is not there is never refused.
func NotItsOwn(to, path string, p *model.Plan) error {
	target, err := os.Stat(to)
	if err != nil {
		return nil
	}
	same := func(other string) bool {
		st, err := os.Stat(other)
		return err == nil && os.SameFile(st, target)
	}
	beside := func(name string) string {
		if filepath.IsAbs(name) {
			return name
		}
		return filepath.Join(filepath.Dir(path), name)
	}
	switch {
	case path != "" && same(path):
		return errors.New("it is the plan itself: choose another name")
	case p.Settings.BaseMap != nil && same(beside(p.Settings.BaseMap.File)):
		return errors.New("it is the plan's base map: choose another name")
	case p.Settings.Terrain != nil && same(beside(p.Settings.Terrain.File)):
		return errors.New("it is the plan's terrain: choose another name")
	}
	if target.Size() > MaxSize {
		return nil
	}
	// A plan that is broken is still a plan.
	data, err := os.ReadFile(to)
	if err == nil && bytes.Contains(data, []byte(`"FeatureCollection"`)) && planMember.Match(data) {
		return errors.New("it is a plan: choose another name")
	}
	return nil
}
