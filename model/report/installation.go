package report

import (
	"pleach/model/analysis"
	"pleach/model/radio"
)

// Term is one part of a device's installation loss, as the report tells it.
type Term struct {
	What   string  `json:"what"`
	DB     float64 `json:"db"`
	Source string  `json:"source"`
}

// TermsOf returns what is told of terms.
func TermsOf(terms []radio.Term) []Term {
	out := []Term{}
	for _, t := range terms {
		out = append(out, Term{t.Name, places(t.DB), t.Source})
	}
	return out
}

// installation writes what each device loses by how it is installed.
func (j *jsonReport) installation() {
	j.line()
	j.key("installation")
	list(j, j.r.Installation(), func(g analysis.InstallationGroup) {
		j.open('{')
		j.key("devices")
		j.texts(g.Devices)
		j.keyNumber("loss_db", g.LossDB)
		j.key("terms")
		j.open('[')
		for _, t := range TermsOf(g.Terms) {
			j.open('{')
			j.keyText("what", t.What)
			j.keyNumber("db", t.DB)
			j.keyText("source", t.Source)
			j.close('}')
		}
		j.close(']')
		j.close('}')
	})
}
