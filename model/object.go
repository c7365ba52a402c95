package model

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Member is one name and its raw JSON value.
type Member struct {
	Name  string
	Value json.RawMessage
}

// Object is a JSON object with its members in the order of the file.
type Object []Member

// ParseObject reads the members of a JSON object, keeping their order and their
// spelling. It returns an error when raw is not an object.
func ParseObject(raw []byte) (Object, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	t, err := dec.Token()
	if err != nil {
		return nil, err
	}
	if t != json.Delim('{') {
		return nil, fmt.Errorf("%s is not an object", brief(raw))
	}
	var o Object
	for dec.More() {
		t, err := dec.Token()
		if err != nil {
			return nil, err
		}
		name, ok := t.(string)
		if !ok {
			return nil, fmt.Errorf("%s is not an object", brief(raw))
		}
		var v json.RawMessage
		if err := dec.Decode(&v); err != nil {
			return nil, err
		}
		o = append(o, Member{name, v})
	}
	return o, nil
}

// Get returns the value of the last member called name; ok is false where there
// is none or it is null.
func (o Object) Get(name string) (v json.RawMessage, ok bool) {
	for i := len(o) - 1; i >= 0; i-- {
		if o[i].Name == name {
			if string(o[i].Value) == "null" {
				return nil, false
			}
			return o[i].Value, true
		}
	}
	return nil, false
}

// With returns a copy of o in which the member called name has the value v, in
// its old place or at the end.
func (o Object) With(name string, v json.RawMessage) Object {
	out := make(Object, len(o), len(o)+1)
	copy(out, o)
	for i := len(out) - 1; i >= 0; i-- {
		if out[i].Name == name {
			out[i].Value = v
			return out
		}
	}
	return append(out, Member{name, v})
}

// Without returns a copy of o that has no member called name.
func (o Object) Without(name string) Object {
	out := make(Object, 0, len(o))
	for _, m := range o {
		if m.Name != name {
			out = append(out, m)
		}
	}
	return out
}

// AppendJSON appends the object to b as compactly as its raw values allow.
func (o Object) AppendJSON(b []byte) []byte {
	b = append(b, '{')
	for i, m := range o {
		if i > 0 {
			b = append(b, ", "...)
		}
		b = append(b, quote(m.Name)...)
		b = append(b, ": "...)
		b = append(b, m.Value...)
	}
	return append(b, '}')
}

// quote returns s as a JSON string, without the escapes for HTML.
func quote(s string) []byte {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(s); err != nil {
		panic(err) // a string can always be encoded
	}
	return bytes.TrimRight(buf.Bytes(), "\n")
}

// encode returns v as JSON without the escapes for HTML. It panics for a value
// that has no JSON form, which no plan can hold.
func encode(v any) json.RawMessage {
	if raw, ok := v.(json.RawMessage); ok {
		return raw
	}
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic(fmt.Sprintf("encode %T: %v", v, err))
	}
	return bytes.TrimRight(buf.Bytes(), "\n")
}

// brief returns raw cut to what fits on a line of an error message.
func brief(raw []byte) string {
	r := []rune(string(bytes.Join(bytes.Fields(raw), []byte(" "))))
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return string(r)
}
