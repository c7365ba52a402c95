package paper

import (
	"fmt"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/analysis"
)

// listed is one finding under the heading of its sort.
type listed struct {
	head, text string
	warning    bool
	stands     int // for how many findings
}

// Headings of the list of findings on the layout.
const (
	faultsHead   = "Faults"
	acceptedHead = "Accepted"
	warningsHead = "Warnings"
	furtherHead  = "Further warnings" // where the summary has the others
)

// mostOfKind is how many warnings of one rule are listed one by one, firstOfKind
// how many before those of another rule. Chosen.
const mostOfKind, firstOfKind = 8, 2

// Kinds of warnings that are listed before all others, the gravest first: an alarm
// that goes nowhere, then somebody not seen, what is seen or stands where it must not,
// and what fails together; and those listed after all others. The rest stand between
// them in the result's order. Chosen.
var (
	graveKinds  = []string{"zone-without-output", "way-in", "late", "storm", "overspill", "not-on-premises", "receiver-loss", "repeater-loss"}
	slightKinds = []string{"angle", "shallow"}
)

// gravity is the place of a rule among others, smaller first.
func gravity(rule string) int {
	if i := slices.Index(graveKinds, rule); i >= 0 {
		return i
	}
	return len(graveKinds) + 1 + slices.Index(slightKinds, rule)
}

// findingList is what the designer has to answer for, one by one: faults, what
// somebody has accepted, warnings. from and to are those that show.
type findingList struct {
	look
	all      []listed
	from, to int
	more     string // said under them where some stand elsewhere
}

const (
	findingIndent = 3.5
	findingGap    = 0.6
	sortGap       = 2.2 // before the heading of another sort
)

// headed says whether a heading stands before finding i.
func (l findingList) headed(i int) bool { return i == l.from || l.all[i].head != l.all[i-1].head }

// heading is that before finding i.
func (l findingList) heading(i int) string {
	if i > 0 && l.all[i].head == l.all[i-1].head {
		return l.all[i].head + continued
	}
	return l.all[i].head
}

func (l findingList) lines(i int, w float64) []string {
	return wrap(l.all[i].text, w-findingIndent, sizeBody, false, 0)
}

// entry is the height of finding i with the heading before it.
func (l findingList) entry(i int, w float64) float64 {
	h := float64(len(l.lines(i, w)))*bodyRow + findingGap
	if l.headed(i) {
		h += headRow
		if i > l.from {
			h += sortGap
		}
	}
	return h
}

// fits returns up to which finding those from l.from on fit in h; where some are
// left over, reserve is kept free under them.
func (l findingList) fits(w, h, reserve float64) int {
	to, n := l.from, len(l.all)
	for i := l.from; i < n; i++ {
		if h -= l.entry(i, w); h < -1e-9 {
			break
		}
		if i == n-1 || h >= reserve-1e-9 {
			to = i + 1
		}
	}
	return to
}

func (l findingList) height(w float64) float64 {
	if l.from == l.to {
		return 0
	}
	h := 0.0
	for i := l.from; i < l.to; i++ {
		h += l.entry(i, w)
	}
	if l.more != "" {
		h += bodyRow
	}
	return h
}

func (l findingList) draw(d *document, x, y, w float64) {
	for i := l.from; i < l.to; i++ {
		if l.headed(i) {
			if i > l.from {
				y += sortGap
			}
			d.left(x, y, headRow-1, l.heading(i), l.head, l.ink)
			y += headRow
		}
		d.fill(disc(x+0.9, y+bodyRow/2, 0.5), l.ink)
		for _, t := range l.lines(i, w) {
			d.left(x+findingIndent, y, bodyRow, t, l.body, l.ink)
			y += bodyRow
		}
		y += findingGap
	}
	if l.more != "" {
		d.left(x, y, bodyRow, l.more, l.body, l.soft)
	}
}

// answerable lists faults, accepted findings with who accepted them and why, in the
// result's order, and warnings in brief: one or two of each kind first, the graver
// kinds first, then the others. Stretches that are gaps for
// other postures or crossed head-on are left to the summary, notes to the sheet of that
// name, which is printed or not.
func answerable(res *analysis.Result, noted bool) (faults []listed) {
	if res == nil {
		return nil
	}
	var accepted, warnings []listed
	head := warningsHead
	var kinds []string
	texts := map[string][]string{}
	for i := range res.Findings {
		f := &res.Findings[i]
		switch {
		case f.Accepted != nil:
			accepted = append(accepted, listed{acceptedHead, acceptedText(f), false, 1})
		case f.Severity == model.Fault:
			faults = append(faults, listed{faultsHead, clean(f.Text), false, 1})
		case f.Severity == model.Warning && (f.Rule == "head-on" || f.Posture != ""):
			head = furtherHead
		case f.Severity == model.Warning:
			if texts[f.Rule] == nil {
				kinds = append(kinds, f.Rule)
			}
			texts[f.Rule] = append(texts[f.Rule], inBrief(f.Text))
		}
	}
	slices.SortStableFunc(kinds, func(a, b string) int { return gravity(a) - gravity(b) })
	for _, turn := range [][2]int{{0, firstOfKind}, {firstOfKind, mostOfKind}} {
		for _, k := range kinds {
			n := len(texts[k])
			for i := turn[0]; i < min(turn[1], n); i++ {
				warnings = append(warnings, listed{"", texts[k][i], true, 1})
			}
			if more := n - mostOfKind; more > 0 && turn[1] == mostOfKind {
				warnings = append(warnings, listed{"", fmt.Sprintf("%d more of the kind “%s”%s.", more, k, notesHave(noted)), true, more})
			}
		}
	}
	for i := range warnings {
		warnings[i].head = head
	}
	return append(append(faults, accepted...), warnings...)
}

// notesHave says where findings stand that are not listed.
func notesHave(printed bool) string {
	if printed {
		return " on the sheet of notes"
	}
	return ": the sheet of notes, not printed here, has them"
}

// acceptedText is a finding with who accepted it and why.
func acceptedText(f *model.Finding) string {
	a := f.Accepted
	by := " Accepted"
	if a.By != "" {
		by += " by " + a.By
	}
	if a.At != "" {
		by += ", " + longDay(a.At)
	}
	if a.Reason != "" {
		by += ": " + strings.TrimRight(a.Reason, ". ")
	}
	return inBrief(f.Text) + clean(by) + "."
}

// inBrief is what a finding says before it explains.
func inBrief(text string) string {
	said, _, _ := strings.Cut(text, ": ")
	said = strings.TrimSuffix(said, "; in it") // what follows is a list
	return clean(strings.ReplaceAll(strings.TrimRight(said, ". "), " %", string(hardSpace)+"%")) + "."
}

// counted are the findings that are listed before the warnings.
func counted(all []listed) (n int) {
	for _, l := range all {
		if !l.warning {
			n++
		}
	}
	return n
}

// withFindings returns the list of findings cut to what fits in h, and how many
// those are. devices says that the schedule stands on the same sheet.
func (c contents) withFindings(w, h float64, devices bool) (findingList, int) {
	f := c.findings
	if f.to = f.fits(w, h, bodyRow); f.to == 0 {
		return f, 0
	}
	rest := 0
	for _, l := range f.all[f.to:] {
		rest += l.stands
	}
	if rest > 0 {
		where := notesHave(c.noted)
		if c.goesOn(f.to, devices) {
			where = " on the next sheet"
		}
		f.more = fmt.Sprintf("%d more%s", rest, where)
	}
	return f, f.to
}

// goesOn says whether findings from the one given on are listed on a further sheet.
// For warnings alone there is none: the notes have them.
func (c contents) goesOn(found int, devices bool) bool {
	if found < counted(c.findings.all) {
		return true
	}
	more := !devices && len(c.devices.rows) > 0 || len(c.changes.rows) > 0 || len(c.stretches.rows) > 0 || len(c.aside.lines) > 0
	return more && !c.noted && found < len(c.findings.all)
}
