package model

import "github.com/paulmach/orb"

// Severity says how bad a finding is.
type Severity string

// Fault: the design does not do its job. Warning: it may not. Note: worth
// knowing.
const (
	Fault   Severity = "fault"
	Warning Severity = "warning"
	Note    Severity = "note"
)

// Finding is one thing the analysis found.
type Finding struct {
	Rule     string
	Severity Severity
	Subject  []string   // ids
	At       *orb.Point // longitude, latitude; nil for a finding of no place
	Text     string     // begins with what and where
	Remedy   string
	From, To *float64 // metres of chainage, for findings about a stretch
	Posture  string   // for findings about another target than the plan's
	Accepted *Accepted
}

// Counts reports whether the finding counts for the exit status: a fault that
// nobody has accepted.
func (f Finding) Counts() bool { return f.Severity == Fault && f.Accepted == nil }
