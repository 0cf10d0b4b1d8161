package safety

import (
	"strconv"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/steady"
)

// Number is one number of safe operation. Value and limits are in Unit, whatever units the plant is shown in; Says speaks in the
// plant's own.
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
	w := &work{m: m, p: m.Plant(), units: quantity.System(m.Plant().Site.Units)}
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

// Past reports whether the number is beyond a limit that it is judged by.
func (n Number) Past() bool { return n.OK != nil && !*n.OK }

// Shown writes the number and the limit that it is held against in a system's units, with the digits that tell the two apart:
// "0.084 m/s, at most 0.122".
func (n Number) Shown(s quantity.System) string {
	for digits := 3; ; digits++ {
		text := n.shown(n.Value, s, digits)
		unit := n.unit(s)
		low, high := "", ""
		if n.AtLeast != nil {
			low = n.shown(*n.AtLeast, s, digits)
		}
		if n.AtMost != nil {
			high = n.shown(*n.AtMost, s, digits)
		}
		if n.Past() && (text == low || text == high) && digits < 9 {
			continue
		}
		if unit != "" {
			text += " " + unit
		}
		switch {
		case low != "" && high != "":
			text += ", " + low + " to " + high
		case low != "":
			text += ", at least " + low
		case high != "":
			text += ", at most " + high
		}
		return text
	}
}

// factor is how many of Unit one of the unit shown is.
func (n Number) factor(s quantity.System) (unit string, factor float64) {
	switch n.Unit {
	case metres, kilopascals:
		u, _, f, _ := s.Shown(quantity.Unit(n.Unit), 0)
		return string(u), f
	case metresPerSecond:
		u, _, f, _ := s.Shown(quantity.Metre, 0)
		return string(u) + "/s", f
	}
	return n.Unit, 1
}

func (n Number) unit(s quantity.System) string { u, _ := n.factor(s); return u }

// shown writes a value of the number's unit in the system's, with so many significant digits and no power of ten.
func (n Number) shown(v float64, s quantity.System, digits int) string {
	_, f := n.factor(s)
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v/f, 'g', digits, 64), 64)
	if err != nil {
		rounded = v / f
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// Units of numbers that are shown in the plant's own.
const (
	metres          = "m"
	metresPerSecond = "m/s"
	kilopascals     = "kPa"
)

func plain(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }

// add appends a number, judged against its limits.
func (w *work) add(n Number) {
	if !n.Information && (n.AtLeast != nil || n.AtMost != nil) {
		n.OK = new((n.AtLeast == nil || n.Value >= *n.AtLeast) && (n.AtMost == nil || n.Value <= *n.AtMost))
	}
	w.list = append(w.list, n)
}
