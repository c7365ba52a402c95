package analysis

import "reflect"

// Same is same, for tests from outside.
var Same = same

// Equal reports whether two results are the same in all that is reported. It says
// quickly what same says in words.
func Equal(a, b *Result) bool { return equal(reflect.ValueOf(*a), reflect.ValueOf(*b)) }

// equal compares exported fields. An empty list is as good as none.
func equal(a, b reflect.Value) bool {
	if a.Kind() == reflect.Interface || a.Kind() == reflect.Pointer {
		if a.IsNil() || b.IsNil() {
			return a.IsNil() == b.IsNil()
		}
		return a.Elem().Type() == b.Elem().Type() && equal(a.Elem(), b.Elem())
	}
	switch a.Kind() {
	case reflect.Struct:
		for i := range a.NumField() {
			switch f := a.Type().Field(i); {
			case !f.IsExported():
			case f.Name == "Plan" || f.Name == "Scene" || f.Name == "Laid" || f.Name == "Rated" || f.Name == "Explained" || f.Name == "Zone" || f.Type.String() == "time.Time":
			case !equal(a.Field(i), b.Field(i)):
				return false
			}
		}
		return true
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !equal(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	}
	return a.Equal(b)
}
