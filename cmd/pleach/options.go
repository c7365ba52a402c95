package main

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

// errHelp is returned where the arguments ask for help.
var errHelp = errors.New("help")

// An option is one option of a command: --name VALUE, or --name alone for a
// switch.
type option struct {
	name  string // with its dashes
	value *string
	on    *bool
	given bool
}

// parse takes the options out of args and returns what is left, in order.
// Options may stand anywhere; after "--" nothing is an option.
func parse(command string, args []string, options ...*option) (rest []string, err error) {
	find := func(name string) *option {
		for _, o := range options {
			if o.name == name || o.name == "-"+name && len(name) > 2 {
				return o
			}
		}
		return nil
	}
	for len(args) > 0 {
		arg := args[0]
		args = args[1:]
		switch {
		case arg == "--":
			return append(rest, args...), nil
		case arg == "-h" || arg == "-help" || arg == "--help":
			return nil, errHelp
		case len(arg) < 2 || arg[0] != '-':
			rest = append(rest, arg)
			continue
		}
		name, value, joined := strings.Cut(arg, "=")
		o := find(name)
		switch {
		case o == nil:
			return nil, usage("%s: %s is not an option: see pleach help %s", command, name, command)
		case o.given:
			return nil, usage("%s: %s stands twice", command, name)
		case o.on != nil && joined:
			return nil, usage("%s: %s takes no value", command, name)
		case o.on != nil:
			*o.on = true
		case joined:
			*o.value = value
		case len(args) == 0 || strings.HasPrefix(args[0], "-") && find(args[0]) != nil:
			return nil, usage("%s: %s needs a value after it", command, name)
		default:
			*o.value = args[0]
			args = args[1:]
		}
		o.given = true
		if o.value != nil && *o.value == "" {
			return nil, usage("%s: %s is empty: it needs a value", command, name)
		}
	}
	return rest, nil
}

// text is an option with a value.
func text(name string, value *string) *option { return &option{name: name, value: value} }

// toggle is an option without one.
func toggle(name string, on *bool) *option { return &option{name: name, on: on} }

// number reads the value of an option: a finite number from low to high, above
// low where above is true.
func number(command, name, value string, low, high float64, above bool) (float64, error) {
	v, err := strconv.ParseFloat(value, 64)
	if err == nil && !math.IsNaN(v) && v >= low && v <= high && !(above && v == low) {
		return v, nil
	}
	between := "between " + short(low) + " and " + short(high)
	if above {
		between = "above " + short(low) + " and at most " + short(high)
	}
	if err != nil && !errors.Is(err, strconv.ErrRange) {
		return 0, usage("%s: %s %q is not a number: it must be %s", command, name, value, between)
	}
	return 0, usage("%s: %s %s is not %s", command, name, value, between)
}

func short(v float64) string {
	if a := math.Abs(v); a >= 1e5 && a < 1e12 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// one returns the only argument that is no option.
func one(command, what string, rest []string) (string, error) {
	switch len(rest) {
	case 0:
		return "", usage("%s: %s is missing: see pleach help %s", command, what, command)
	case 1:
		return rest[0], nil
	}
	return "", usage("%s: %q is one argument too many: see pleach help %s", command, rest[1], command)
}
