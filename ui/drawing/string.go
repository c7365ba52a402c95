package drawing

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// String prints the list for goldens, one line an item: layer, meaning, what
// it stands for, then the geometry in metres to a centimetre. Long outlines
// are told by their number of points, length or area, and box.
func (l *List) String() string {
	var b strings.Builder
	for i := range l.Items {
		b.WriteString(l.Items[i].String())
		b.WriteByte('\n')
	}
	return b.String()
}

// String prints one item as a line of List.String.
func (it Item) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-8s %-20s %s", it.Layer, it.Meaning, orDash(it.ID))
	if it.Part != "" {
		fmt.Fprintf(&b, " %s", it.Part)
		if it.Index != 0 {
			fmt.Fprintf(&b, " %d", it.Index)
		}
	}
	if it.State.Has(Selected) {
		b.WriteString(" selected")
	}
	if it.State.Has(Hovered) {
		b.WriteString(" hovered")
	}
	if it.State.Has(Muted) {
		b.WriteString(" muted")
	}
	switch it.Kind {
	case AreaKind:
		n := 0
		for _, p := range it.Area {
			for _, r := range p {
				n += len(r)
			}
		}
		fmt.Fprintf(&b, "  area of %d, %d points, %s m2, box %s", len(it.Area), n, num(math.Abs(planar.Area(it.Area))), boxText(it.Area.Bound()))
	case LineKind:
		b.WriteString("  line ")
		b.WriteString(lineText(it.Line))
		switch it.Inside {
		case Left:
			b.WriteString(" inside left")
		case Right:
			b.WriteString(" inside right")
		}
		switch it.Meaning {
		case LinkHeld, LinkThin, LinkFails:
			fmt.Fprintf(&b, " to %s, %s dB above required", it.Text, num(it.Margin))
		}
	case MarkKind:
		fmt.Fprintf(&b, "  mark %s bearing %s", pointText(it.At), num(it.Bearing))
		if it.Aside != (orb.Point{}) {
			fmt.Fprintf(&b, " aside %s", pointText(it.Aside))
		}
		if it.Length != 0 {
			fmt.Fprintf(&b, " length %s", num(it.Length))
		}
	case LabelKind:
		fmt.Fprintf(&b, "  label %q", it.Text)
		if it.Prefer == OnLine {
			fmt.Fprintf(&b, " on %s", lineText(it.Line))
		} else {
			fmt.Fprintf(&b, " at %s", pointText(it.At))
		}
		if it.Prefer == Outward {
			fmt.Fprintf(&b, " towards %s", num(it.Bearing))
		}
	}
	return b.String()
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

// num prints a figure to two decimals, without a negative zero.
func num(v float64) string {
	s := fmt.Sprintf("%.2f", v)
	if s == "-0.00" {
		return "0.00"
	}
	return s
}

func pointText(p orb.Point) string { return num(p[0]) + "," + num(p[1]) }

func boxText(b orb.Bound) string { return pointText(b.Min) + " " + pointText(b.Max) }

func lineText(l orb.LineString) string {
	if len(l) > 8 {
		return fmt.Sprintf("of %d points, %s m, box %s", len(l), num(planar.Length(l)), boxText(l.Bound()))
	}
	var parts []string
	for _, p := range l {
		parts = append(parts, pointText(p))
	}
	return strings.Join(parts, " ")
}
