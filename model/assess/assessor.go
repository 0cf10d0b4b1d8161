package assess

import (
	"errors"
	"sort"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
	"example.org/headpond/model/tolerance"
)

// Assessor answers what the readings of one history mean. It keeps what several answers need, the running timeline and the
// solver of each plant revision, so it is made once for a history and asked often. It is not for several goroutines.
type Assessor struct {
	h         *record.History
	timelines map[*plant.Plant]*record.Timeline
	models    map[*plant.Plant]solver
	bands     map[*plant.Plant]tolerance.Bands
	clearing  *clearing.Facts // once asked for
}

type solver struct {
	model *steady.Model
	err   error
}

// Of makes an assessor for a history. The history must not change afterwards.
func Of(h *record.History) *Assessor {
	return &Assessor{h: h, timelines: map[*plant.Plant]*record.Timeline{}, models: map[*plant.Plant]solver{}, bands: map[*plant.Plant]tolerance.Bands{}}
}

// History returns what the assessor was made for.
func (a *Assessor) History() *record.History { return a.h }

// Timeline returns the running state as the units of a plant revision have it.
func (a *Assessor) Timeline(p *plant.Plant) *record.Timeline {
	t, ok := a.timelines[p]
	if !ok {
		t = record.NewTimeline(p.UnitIDs(), a.h.Rounds, a.h.Events)
		a.timelines[p] = t
	}
	return t
}

// Model returns the solver of a plant revision, or why there is none.
func (a *Assessor) Model(p *plant.Plant) (*steady.Model, error) {
	if p == nil {
		return nil, errNoPlant
	}
	s, ok := a.models[p]
	if !ok {
		s.model, s.err = steady.New(p)
		a.models[p] = s
	}
	return s.model, s.err
}

// Bands returns the limits of a plant revision.
func (a *Assessor) Bands(p *plant.Plant) tolerance.Bands {
	b, ok := a.bands[p]
	if !ok {
		b = tolerance.For(p)
		a.bands[p] = b
	}
	return b
}

// Running returns the units that run at a round: as the round itself reads, which may not be in the history yet, else as
// the rounds and events before it tell. It is false while any unit is unknown.
func (a *Assessor) Running(r record.Round) ([]string, bool) {
	p := a.h.PlantAt(r.Time)
	if p == nil {
		return nil, false
	}
	if r.Running != nil {
		return inOrder(p, *r.Running), true
	}
	return a.Timeline(p).RunningAt(r.Time)
}

func inOrder(p *plant.Plant, ids []string) []string {
	out := []string{}
	for _, id := range p.UnitIDs() {
		for _, x := range ids {
			if x == id {
				out = append(out, id)
			}
		}
	}
	return out
}

// Errors of what cannot be worked out.
var (
	errNoPlant   = errors.New("the book has no plant description; load one with: headpond plant load FILE")
	errNoLevel   = errors.New("no pond level has been read yet")
	errNoRunning = errors.New("it is not known which units run: write `running` in a round, or a start or stop event")
	errNoRound   = errors.New("no round with a reading of power has been written yet")
)

// level is the round's pond level, else the last one read before it. One that the pond cannot have reached is passed over, unless
// there is no other.
func (a *Assessor) level(r record.Round) (levelM float64, ok bool) {
	k := quantity.Key(quantity.PondLevelM)
	if v, ok := a.believed(r, k); ok {
		return v, true
	}
	levelM, ok = r.Value(k)
	for i := a.upTo(r.Time) - 1; i >= 0; i-- {
		if v, believed := a.believed(a.h.Rounds[i], k); believed {
			return v, true
		}
		if v, read := a.h.Rounds[i].Value(k); read && !ok {
			levelM, ok = v, true
		}
	}
	return levelM, ok
}

// upTo returns how many rounds are at or before a time. A whole log is judged round by round, so none may look through all.
func (a *Assessor) upTo(t time.Time) int {
	return sort.Search(len(a.h.Rounds), func(i int) bool { return a.h.Rounds[i].Time.After(t) })
}

// waterC is the round's water temperature, else the latest within 14 days before it, else nil (10 °C).
func (a *Assessor) waterC(r record.Round) *float64 {
	k := quantity.Key(quantity.WaterC)
	if v, ok := r.Value(k); ok {
		return &v
	}
	for i := a.upTo(r.Time) - 1; i >= 0; i-- {
		old := &a.h.Rounds[i]
		if r.Time.Sub(old.Time) > waterMemory {
			break
		}
		if v, ok := old.Value(k); ok {
			return &v
		}
	}
	return nil
}

// Solve returns the plant's steady state with a clean screen at a round's pond level (or the last read before it) and water
// temperature, for the units that run. The error says what is missing.
func (a *Assessor) Solve(r record.Round, running []string) (*steady.Result, error) {
	m, c, err := a.caseOf(r, running)
	if err != nil {
		return nil, err
	}
	res, err := m.Solve(c)
	if err != nil {
		return nil, err
	}
	return &res, nil
}

// Case is a round as the solver takes it: its running units, its pond level or the last read before it, its water temperature
// and valves, the screen clean. The error says what is missing.
func (a *Assessor) Case(r record.Round) (steady.Case, error) {
	running, known := a.Running(r)
	if !known {
		return steady.Case{}, errNoRunning
	}
	_, c, err := a.caseOf(r, running)
	return c, err
}

// caseOf is what Solve solves.
func (a *Assessor) caseOf(r record.Round, running []string) (*steady.Model, steady.Case, error) {
	m, err := a.Model(a.h.PlantAt(r.Time))
	if err != nil {
		return nil, steady.Case{}, err
	}
	level, ok := a.level(r)
	if !ok {
		return nil, steady.Case{}, errNoLevel
	}
	return m, steady.Case{PondLevelM: level, Running: running, WaterC: a.waterC(r), Penstocks: valves(r, m)}, nil
}

// valves tells the solver how the main valves stand, where the round says so. A valve that is part open has no known loss
// and is taken as open: what it takes then shows as a difference.
func valves(r record.Round, m *steady.Model) []steady.PenstockState {
	state := steady.ValveUnstated
	switch w, _ := r.Word(quantity.Key(quantity.Valve)); w {
	case "open", "part":
		state = steady.ValveOpen
	case "shut":
		state = steady.ValveShut
	}
	if state == steady.ValveUnstated {
		return nil
	}
	out := make([]steady.PenstockState, len(m.Plant().Penstocks))
	for i := range out {
		out[i].Valve = state
	}
	return out
}
