package model

import (
	_ "embed"
	"encoding/json"
	"sync"
)

//go:embed models.json
var builtinJSON []byte

// Builtin returns the generic sensor models of contract version 1, in a fixed
// order. They are nobody's product: reaches are preferred numbers of ISO 3
// (16, 25, 40, 63, 100), angles are chosen.
var Builtin = sync.OnceValue(func() []SensorModel {
	var raw []json.RawMessage
	if err := json.Unmarshal(builtinJSON, &raw); err != nil {
		panic("models.json: " + err.Error())
	}
	var out []SensorModel
	var flaws []Flaw
	for _, r := range raw {
		o, err := ParseObject(r)
		if err != nil {
			panic("models.json: " + err.Error())
		}
		out = append(out, reader{o: o, who: "models.json", flaws: &flaws}.model())
	}
	if len(flaws) > 0 {
		panic("models.json: " + flaws[0].Error())
	}
	return out
})
