package logview

import (
	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
)

// judgement is what the model says of one round.
type judgement struct {
	judged  []assess.Judged
	worst   ui.State
	running string   // in force after it: "A+B", "none"; "" while any unit is unknown
	volts   *float64 // of the bus, where only the sets' own meters were read
	hertz   *float64
}

// judge returns the judgement of a round, worked out when it is first asked for.
func (l *ledger) judge(r *record.Round) judgement {
	j, ok := l.judged[r.ID]
	if !ok {
		j = judgeWith(l.assessor, *r)
		l.judged[r.ID] = j
	}
	return j
}

func judgeWith(a *assess.Assessor, r record.Round) judgement {
	j := judgement{judged: a.Judge(r)}
	j.worst = ui.StateOf(string(assess.Worst(j.judged)))
	if ids, known := a.Running(r); known {
		j.running = record.FormatRunning(ids)
	}
	_, volts := r.Value(quantity.Key(quantity.Volts))
	_, hertz := r.Value(quantity.Key(quantity.Hertz))
	if volts && hertz {
		return j
	}
	if p := a.PowerOf(r); p != nil {
		j.volts, j.hertz = p.Volts, p.Hertz
	}
	return j
}

// state is how one reading of the round stands.
func (j judgement) state(k quantity.Key) ui.State {
	for _, x := range j.judged {
		if x.Quantity == string(k) {
			return ui.StateOf(string(x.State))
		}
	}
	return ui.Unjudged
}
