package exchange

import (
	"encoding/json"
	"math"
	"regexp"
	"strconv"
	"strings"

	"pleach/model"
)

// tags are the properties of a source as text by name, with those packed into
// the OpenStreetMap property other_tags. Names are found whatever their
// capitals; a property goes before a packed tag.
type tags map[string]string

func tagsOf(props model.Object) tags {
	t := tags{}
	for _, p := range props {
		t[strings.ToLower(p.Name)] = plain(p.Value)
	}
	for name, value := range otherTags(t["other_tags"]) {
		name = strings.ToLower(name)
		if _, taken := t[name]; !taken {
			t[name] = value
		}
	}
	return t
}

// first returns the first of the named tags that is there and not empty.
func (t tags) first(names ...string) string {
	for _, n := range names {
		if v := strings.TrimSpace(t[n]); v != "" {
			return v
		}
	}
	return ""
}

// plain returns a JSON value as text: a string without its quotes.
func plain(raw json.RawMessage) string {
	var s string
	if json.Unmarshal(raw, &s) == nil {
		return s
	}
	return string(raw)
}

// hstorePair matches one "name"=>"value" of a packed list of tags.
var hstorePair = regexp.MustCompile(`"((?:[^"\\]|\\.)*)"\s*=>\s*"((?:[^"\\]|\\.)*)"`)

var unescape = regexp.MustCompile(`\\(.)`)

// otherTags unpacks the property other_tags, which holds the tags that have no
// column of their own: "name"=>"value" pairs, or a JSON object.
func otherTags(s string) map[string]string {
	out := map[string]string{}
	if o, err := model.ParseObject([]byte(s)); err == nil {
		for _, m := range o {
			out[m.Name] = plain(m.Value)
		}
		return out
	}
	for _, m := range hstorePair.FindAllStringSubmatch(s, -1) {
		out[unescape.ReplaceAllString(m[1], "$1")] = unescape.ReplaceAllString(m[2], "$1")
	}
	return out
}

// foot is the international foot in metres, exact by its definition of 1959.
const foot = 0.3048

var (
	lengthText = regexp.MustCompile(`^([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE]([+-]?[0-9]{1,2}))?\s*(m|metres?|meters?|ft|feet|foot)?\.?$`)
	feetInches = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?)'\s*(?:([0-9]+(?:\.[0-9]+)?)")?$`)
)

// metres reads a length as people write it into a map: 12, "12 m", "12,5",
// "40 ft", "40'6\"". It reports false for what it does not understand and for
// what is not above 0.
func metres(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if m := feetInches.FindStringSubmatch(s); m != nil {
		feet, _ := strconv.ParseFloat(m[1], 64)
		inches, _ := strconv.ParseFloat(m[2], 64)
		v := (feet + inches/12) * foot
		return v, v > 0
	}
	m := lengthText.FindStringSubmatch(strings.ToLower(s))
	if m == nil {
		return 0, false
	}
	number := strings.Replace(m[1], ",", ".", 1)
	if m[2] != "" {
		number += "e" + m[2]
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	if strings.HasPrefix(m[3], "f") {
		v *= foot
	}
	return v, v > 0
}
