package model

import (
	"encoding/json"
	"strings"
	"testing"
)

// recorded reads a plan without features whose "pleach" has further members.
func recorded(t *testing.T, members string) *Plan {
	t.Helper()
	o, err := ParseObject(json.RawMessage(`{"type":"FeatureCollection","pleach":{"version":1,` + members + `},"features":[]}`))
	if err != nil {
		t.Fatal(err)
	}
	p, err := ReadPlan(o, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestWhatTheSheetsTellPeopleIsRead(t *testing.T) {
	p := recorded(t, `"quotation":{"reference":4711,"valid_until":"2027-02-28"},"visit":{"hours":"6 to 22","hospital":"Wendmarch"},
		"contacts":[{"role":"On site","name":"P. Quill","phone":"0555 0101","own":1}],"duties":[{"what":"Cut the hedge","from":"2027-03-01"},{"what":"Lock"}],
		"revisions":[{"revision":1,"date":"2026-10-01","by":"H. A.","what":"First issue"}]`)
	if len(p.Flaws) > 0 {
		t.Fatal(p.Flaws)
	}
	s := p.Settings
	if s.Quotation != (Quotation{"4711", "2027-02-28"}) || s.Visit != (Visit{Hours: "6 to 22", Hospital: "Wendmarch"}) {
		t.Errorf("%+v, %+v", s.Quotation, s.Visit)
	}
	if len(s.Contacts) != 1 || s.Contacts[0] != (Contact{"P. Quill", "On site", "0555 0101", ""}) {
		t.Errorf("%+v", s.Contacts)
	}
	if len(s.Duties) != 2 || s.Duties[0] != (Duty{"Cut the hedge", "2027-03-01"}) {
		t.Errorf("%+v", s.Duties)
	}
	if len(s.Revisions) != 1 || s.Revisions[0] != (Revision{"1", "2026-10-01", "H. A.", "First issue"}) {
		t.Errorf("%+v", s.Revisions)
	}
}

func TestADayThatIsNoneIsAnErrorThatSaysHowToWriteIt(t *testing.T) {
	for members, want := range map[string]string{
		`"quotation":{"valid_until":"31.12.2026"}`:                 `plan: pleach.quotation.valid_until "31.12.2026" is not a day written as year, month and day, such as 2027-04-30`,
		`"duties":[{"what":"x"},{"what":"y","from":"2027-02-30"}]`: `plan: pleach.duties[1].from "2027-02-30" is not a day`,
		`"revisions":[{"revision":"A","date":20270101}]`:           `plan: pleach.revisions[0].date 20270101 is not text`,
		`"revisions":[{"what":"moved"}]`:                           `plan: pleach.revisions[0].revision is missing`,
		`"duties":[{"from":"2027-02-01"}]`:                         `plan: pleach.duties[0].what is missing`,
		`"contacts":{"name":"x"}`:                                  `plan: pleach.contacts {"name":"x"} is not a list`,
	} {
		p := recorded(t, members)
		if len(p.Flaws) != 1 || !strings.HasPrefix(p.Flaws[0].Error(), want) {
			t.Errorf("%s: %v, want %s", members, p.Flaws, want)
		}
	}
}

func TestEntriesAreSetAddedAndTakenAwayAndKeepWhatIsNotKnown(t *testing.T) {
	p := recorded(t, `"contacts":[{"name":"P. Quill","own":[1.50]},{"name":"R. Dace"}]`)
	before := string(p.JSON())
	do := func(e Edit) {
		t.Helper()
		n, err := e.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		p = n
	}
	do(SetEntry{"contacts", 0, "phone", "0555 0199"})
	do(SetEntry{"contacts", 2, "role", "Keys"})
	do(SetEntry{"contacts", 1, "name", nil})
	got := string(p.JSON())
	if !strings.Contains(got, `{"name": "P. Quill", "own": [1.50], "phone": "0555 0199"}`) || strings.Contains(got, "Dace") || p.Entries("contacts") != 2 {
		t.Errorf("the file says %s", got)
	}
	if s, ok := p.Entry("contacts", 1, "role"); !ok || s != "Keys" {
		t.Errorf("entry 1 says %q, %v", s, ok)
	}
	if _, ok := p.Entry("contacts", 7, "role"); ok {
		t.Error("there is an eighth contact")
	}
	if _, err := (SetEntry{"contacts", 4, "role", "x"}).Apply(p); err == nil {
		t.Error("an entry beyond the end is set")
	}
	do(SetEntry{"contacts", 1, "role", nil})
	do(SetEntry{"contacts", 0, "name", nil})
	do(SetEntry{"contacts", 0, "phone", nil})
	if !strings.Contains(string(p.JSON()), `{"own": [1.50]}`) {
		t.Errorf("what was not known is gone: %s", p.JSON())
	}
	if q := recorded(t, `"contacts":[{"name":"P. Quill","own":[1.50]},{"name":"R. Dace"}]`); string(q.JSON()) != before {
		t.Error("the plan before was changed")
	}
}
