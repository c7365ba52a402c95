package model

import (
	"fmt"
	"strconv"
	"strings"
)

// Addresses is how an address is set on a device.
type Addresses struct {
	Switches int
	Order    string         // HighestFirst or LowestFirst: the bit that switch 1 sets
	Base     int            // the address with all switches off
	Reserved []AddressRange // for other equipment: no device of the plan has one of these
}

// Orders of the bits of an address.
const (
	HighestFirst = "highest"
	LowestFirst  = "lowest"
)

// AddressRange is the addresses from From to To, both among them.
type AddressRange struct{ From, To int }

// String writes a range as ParseAddresses reads it.
func (r AddressRange) String() string {
	if r.From == r.To {
		return strconv.Itoa(r.From)
	}
	return fmt.Sprintf("%d-%d", r.From, r.To)
}

// Range returns the lowest and the highest address that the switches can set,
// within what an address may be at all.
func (a Addresses) Range() (low, high int) {
	return a.Base, min(a.Base+1<<a.Switches-1, int(address.Max))
}

// IsReserved reports whether an address is kept for other equipment.
func (a Addresses) IsReserved(v int) bool {
	for _, r := range a.Reserved {
		if r.From <= v && v <= r.To {
			return true
		}
	}
	return false
}

// ReservedText writes the reserved addresses as ParseAddresses reads them.
func (a Addresses) ReservedText() string {
	parts := make([]string, len(a.Reserved))
	for i, r := range a.Reserved {
		parts[i] = r.String()
	}
	return strings.Join(parts, ", ")
}

// ParseAddresses reads a list of addresses and ranges of them such as
// "0, 240-255". The error says what is wrong and what is allowed.
func ParseAddresses(s string) (out []AddressRange, err error) {
	if strings.TrimSpace(s) == "" {
		return nil, nil
	}
	one := func(t string) (int, bool) {
		v, err := strconv.Atoi(strings.TrimSpace(t))
		return v, err == nil && address.Allows(float64(v))
	}
	for _, part := range strings.Split(s, ",") {
		first, last, isRange := strings.Cut(part, "-")
		if !isRange {
			last = first
		}
		from, ok := one(first)
		to, fine := one(last)
		if !ok || !fine || to < from {
			return nil, fmt.Errorf("%q is not an address or a range of them: write for example 0, 240-255, each %s", strings.TrimSpace(part), address.Range())
		}
		out = append(out, AddressRange{from, to})
	}
	return out, nil
}
