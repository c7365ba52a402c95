package report

import (
	"encoding/json"
	"math"
	"strconv"
)

// An emitter writes JSON into memory: its caller says what opens, closes and
// follows, and the commas come of themselves.
type emitter struct{ b []byte }

func (e *emitter) comma() {
	if n := len(e.b); n > 0 {
		switch e.b[n-1] {
		case '{', '[', ':', ' ', '\n':
		default:
			e.b = append(e.b, ',')
		}
	}
}

// line starts a value on a line of its own.
func (e *emitter) line() {
	e.comma()
	e.b = append(e.b, '\n')
}

func (e *emitter) open(c byte) {
	e.comma()
	e.b = append(e.b, c)
}

func (e *emitter) close(c byte) { e.b = append(e.b, c) }

func (e *emitter) key(name string) {
	e.comma()
	e.b = append(e.b, '"')
	e.b = append(e.b, name...)
	e.b = append(e.b, '"', ':')
}

func (e *emitter) raw(v []byte) {
	e.comma()
	e.b = append(e.b, v...)
}

func (e *emitter) text(s string) {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < ' ' || c == '"' || c == '\\' || c >= 0x7f {
			q, _ := json.Marshal(s) // a string can always be encoded
			e.raw(q)
			return
		}
	}
	e.comma()
	e.b = append(e.b, '"')
	e.b = append(e.b, s...)
	e.b = append(e.b, '"')
}

// texts writes a list, [] for none.
func (e *emitter) texts(list []string) {
	e.open('[')
	for _, s := range list {
		e.text(s)
	}
	e.close(']')
}

// decimals of metres, square metres and decibels in the report: a micrometre,
// so that sums of it still agree.
const decimals = 6

func (e *emitter) number(v float64) { e.rounded(v, decimals) }

func (e *emitter) rounded(v float64, places int) {
	e.comma()
	if math.IsNaN(v) || math.IsInf(v, 0) {
		e.b = append(e.b, "null"...)
		return
	}
	from := len(e.b)
	e.b = strconv.AppendFloat(e.b, v, 'f', places, 64)
	end := len(e.b)
	for end > from && e.b[end-1] == '0' {
		end--
	}
	if e.b[end-1] == '.' {
		end--
	}
	e.b = e.b[:end]
	if string(e.b[from:]) == "-0" {
		e.b = append(e.b[:from], '0')
	}
}

func (e *emitter) integer(v int) {
	e.comma()
	e.b = strconv.AppendInt(e.b, int64(v), 10)
}

// maybe writes a number or null.
func (e *emitter) maybe(v *float64) {
	if v == nil {
		e.null()
		return
	}
	e.number(*v)
}

func (e *emitter) null() {
	e.comma()
	e.b = append(e.b, "null"...)
}

func (e *emitter) flag(v bool) {
	e.comma()
	e.b = strconv.AppendBool(e.b, v)
}

func (e *emitter) keyNumber(name string, v float64) { e.key(name); e.number(v) }
func (e *emitter) keyText(name, s string)           { e.key(name); e.text(s) }
