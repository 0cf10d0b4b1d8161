package safety

import (
	"example.org/headpond/model/steady"
)

// Number is one number of safe operation.
type Number struct {
	Key     string   `json:"key"`
	Name    string   `json:"name"`
	Of      string   `json:"of,omitempty"` // penstock, unit or way of running that it is for
	Value   float64  `json:"value"`
	Unit    string   `json:"unit"`
	AtLeast *float64 `json:"at_least,omitempty"` // Value should not be below this
	AtMost  *float64 `json:"at_most,omitempty"`  // nor above this
	OK      *bool    `json:"ok,omitempty"`       // absent where there is no limit, or one for information only
	Says    string   `json:"says"`
	Formula string   `json:"formula"`
	Source  string   `json:"source"`
	Status  string   `json:"status"` // "verified", "from memory", "rule of thumb", "model"

	Information bool `json:"information,omitempty"` // the limit was not written for plants like this one
}

// Statuses of a number's formula and limit.
const (
	Verified  = "verified"
	Memory    = "from memory"
	Thumb     = "rule of thumb, from memory"
	FromModel = "model"
)

// Numbers works out every number of safe operation that the plant's description allows, from the intake to the ballast.
// What the description does not allow is left out.
func Numbers(m *steady.Model) []Number {
	w := &work{m: m, p: m.Plant()}
	w.levels()
	w.submergence()
	w.approach()
	for i := range w.p.Penstocks {
		w.penstock(i)
	}
	w.machines()
	w.ballast()
	return w.list
}

// add appends a number, judged against its limits.
func (w *work) add(n Number) {
	if !n.Information && (n.AtLeast != nil || n.AtMost != nil) {
		n.OK = new((n.AtLeast == nil || n.Value >= *n.AtLeast) && (n.AtMost == nil || n.Value <= *n.AtMost))
	}
	w.list = append(w.list, n)
}
