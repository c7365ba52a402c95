package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"

	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/address"
	"pleach/model/scene"
)

var addressCommand = command{
	name:    "address",
	args:    "PLAN [--all] [--start N] [--step N] [--reserve LIST] [-o NEW]",
	summary: "gives sensors and repeaters addresses in walking order, and lists them",
	help: `Walking order: along each boundary by chainage, then from device to nearest device
among those away from any. Devices that have an address keep it. Without -o nothing
is written.

  --all           every device anew, those that have an address too
  --start N       the first address to give; else the lowest in use or, where there
                  is none, the one after all switches off
  --step N        from one address to the next; 1 unless stated
  --reserve LIST  addresses to leave out, such as 0,240-255, with those the plan
                  keeps for other equipment (addresses.reserved)
  -o NEW          writes the plan with its addresses to NEW; where NEW is PLAN itself
                  the version before is kept as PLAN.bak

How many switches there are, their order and the address with all off are settings
of the plan: addresses.switches, addresses.order, addresses.base.`,
	run: runAddress,
}

func runAddress(args []string, out, _ io.Writer) (int, error) {
	var to, start, step, reserve string
	var o address.Options
	rest, err := parse("address", args, toggle("--all", &o.All), text("--start", &start), text("--step", &step), text("--reserve", &reserve), text("-o", &to))
	if err != nil {
		return bad, err
	}
	path, err := one("address", "the plan", rest)
	if err != nil {
		return bad, err
	}
	if start != "" {
		v, err := whole("address", "--start", start, 0, 65535)
		if err != nil {
			return bad, err
		}
		o.Start = &v
	}
	if step != "" {
		if o.Step, err = whole("address", "--step", step, 1, 65535); err != nil {
			return bad, err
		}
	}
	if o.Reserved, err = model.ParseAddresses(reserve); err != nil {
		return bad, usage("address: --reserve: %v", err)
	}
	p, err := readPlan(path)
	if err != nil {
		return bad, err
	}
	walk, err := address.Assign(scene.New(p), o)
	if err != nil {
		return bad, fmt.Errorf("%s: %w", path, err)
	}
	said := "Nothing is written: -o NEW writes the plan with these addresses."
	edit, some := address.Edit(walk)
	switch {
	case to != "":
		if !some {
			edit = model.Together{} // a copy, should it be another file
		}
		if said, err = writeEdited(path, to, p, edit, "No address changes"); err != nil {
			return bad, err
		}
	case !some:
		said = "No address changes."
	}
	return done, writeAddresses(out, p.Settings.Addresses, walk, said)
}

// writeEdited writes the plan at path after edit to the file called to, and returns
// what to say of it: unchanged where there is nothing to write.
func writeEdited(path, to string, p *model.Plan, edit model.Edit, unchanged string) (string, error) {
	n, err := edit.Apply(p)
	if err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	own := sameFile(path, to)
	if !own {
		if err := planfile.NotItsOwn(to, path, p); err != nil {
			return "", fmt.Errorf("%s: not written: %w", to, err)
		}
		if steps := imagery.Rebase(n, filepath.Dir(path), filepath.Dir(to)); steps != nil {
			if n, err = (model.Together{Edits: steps}).Apply(n); err != nil {
				return "", fmt.Errorf("%s: not written: %w", to, err)
			}
		}
	} else if bytes.Equal(n.JSON(), p.JSON()) {
		return unchanged + ": " + to + " is left as it is.", nil
	}
	if err := planfile.Write(to, n); err != nil {
		return "", err
	}
	said := to + ": written"
	if own {
		said += "; the version before is " + filepath.Base(to) + planfile.BackupSuffix
	}
	return said, nil
}

func sameFile(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// whole reads the value of an option: a whole number from low to high.
func whole(command, name, value string, low, high int) (int, error) {
	v, err := strconv.Atoi(value)
	if err == nil && v >= low && v <= high {
		return v, nil
	}
	if err != nil && !errors.Is(err, strconv.ErrRange) {
		return 0, usage("%s: %s %q is not a whole number: it must be from %d to %d", command, name, value, low, high)
	}
	return 0, usage("%s: %s %s is not from %d to %d", command, name, value, low, high)
}

// writeAddresses writes the list, a line a device.
func writeAddresses(w io.Writer, set model.Addresses, walk []address.Device, said string) error {
	var b bytes.Buffer
	low, high := set.Range()
	order := "highest"
	if set.Order == model.LowestFirst {
		order = "lowest"
	}
	fmt.Fprintf(&b, "Addresses %d to %d on %d %s, switch 1 the %s bit; in walking order.\n", low, high, set.Switches, either(set.Switches, "switch", "switches"), order)
	if set.Reserved != nil {
		fmt.Fprintf(&b, "Kept for other equipment: %s.\n", set.ReservedText())
	}
	b.WriteString("\n")
	rows := [][]string{{"Device", "Name", "Where", "Address", "Switches", ""}}
	given := 0
	for _, d := range walk {
		name := d.Feature.Name
		if name == d.Feature.ID {
			name = ""
		}
		where := "away from any boundary"
		if d.Boundary != "" {
			where = fmt.Sprintf("%s at %.1f m", d.Boundary, d.Chainage)
		}
		switches := "beyond the switches"
		if on, ok := address.Switches(d.Address, set); ok {
			switches = address.Digits(on)
		}
		note := ""
		if d.Given {
			given++
			note = "new"
			if d.Was != nil {
				note = fmt.Sprintf("was %d", *d.Was)
			}
		}
		rows = append(rows, []string{d.Feature.ID, brief(name), where, strconv.Itoa(d.Address), switches, note})
	}
	wide := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, c := range r {
			r[i] = printable(c)
			wide[i] = max(wide[i], utf8.RuneCountInString(r[i]))
		}
	}
	for _, r := range rows {
		var l strings.Builder
		for i, c := range r {
			pad := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(c))
			if i == 3 { // numbers stand under one another
				c, pad = pad+c, ""
			}
			l.WriteString("  " + c + pad)
		}
		b.WriteString(strings.TrimRight(l.String(), " ") + "\n")
	}
	if len(walk) == 0 {
		b.WriteString("  The plan has no sensor and no repeater.\n")
	}
	used := map[int]int{}
	for _, d := range walk {
		used[d.Address]++
	}
	twice := 0
	for _, n := range used {
		if n > 1 {
			twice++
		}
	}
	fmt.Fprintf(&b, "\n%d of %d %s. %s\n", given, len(walk), either(given, "address is given", "addresses are given"), printable(said))
	if twice > 0 {
		fmt.Fprintf(&b, "%d %s on several devices: --all gives every device one of its own.\n", twice, either(twice, "address stands", "addresses stand"))
	}
	_, err := w.Write(b.Bytes())
	return err
}

// brief shortens a name to what a line of a list has room for.
func brief(s string) string {
	const room = 32
	if r := []rune(s); len(r) > room {
		return string(r[:room-1]) + "…"
	}
	return s
}

func either(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
