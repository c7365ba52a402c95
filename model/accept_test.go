package model

import (
	"strings"
	"testing"
)

func TestAcceptingAddsAnEntryAndWithdrawingTakesItOut(t *testing.T) {
	entry := `{"rule":"unproved","subject":["S1"],"reason":"later","of_mine":{"kept":true}}`
	p := NewPlan(Member{"accepted", []byte("[17," + entry + "]")})
	from, to := 512.25, 3.5
	f := Finding{Rule: "gap", Subject: []string{"B1"}, From: &from, To: &to, Posture: "crawl"}
	q, err := Accept{Finding: f, Reason: "patrolled", By: "N. N.", At: "2026-03-02"}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(p.Settings.Accepted); n != 1 {
		t.Fatalf("the old plan has %d entries, want 1", n)
	}
	if n := len(q.Settings.Accepted); n != 2 {
		t.Fatalf("the new plan has %d entries, want 2", n)
	}
	a := q.Settings.Accepted[1]
	if a.Rule != "gap" || len(a.Subject) != 1 || a.Subject[0] != "B1" || *a.From != from || *a.To != to || a.Posture != "crawl" || a.Reason != "patrolled" || a.By != "N. N." || a.At != "2026-03-02" {
		t.Errorf("what is read back is not what was written: %+v", a)
	}
	back, err := Withdraw{a}.Apply(q)
	if err != nil {
		t.Fatal(err)
	}
	raw, _ := back.pleach.Get("accepted")
	if !strings.Contains(string(raw), entry) || !strings.HasPrefix(string(raw), "[17,") || strings.Contains(string(raw), "patrolled") {
		t.Errorf("after it is withdrawn the list is %s", raw)
	}
	if _, err := (Withdraw{a}).Apply(back); err == nil {
		t.Error("what is not in the list is withdrawn without an error")
	}
	one, err := Accept{Finding: f}.Apply(NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	none, err := Withdraw{one.Settings.Accepted[0]}.Apply(one)
	if err != nil {
		t.Fatal(err)
	}
	if raw, ok := none.pleach.Get("accepted"); ok {
		t.Errorf("an empty list stays: %s", raw)
	}
}
