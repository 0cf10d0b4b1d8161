package faults_test

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/record"
)

// draw picks a plant, a fault and its size.
func draw(r *rand.Rand, plants []*simPlant, seed uint64) simCase {
	c := simCase{seed: seed, days: 7, efficiency: 0.95 + 0.1*r.Float64(), losses: 0.9 + 0.2*r.Float64(), noise: true, words: r.IntN(2) == 0}
	c.p = plants[r.IntN(len(plants))]
	if r.IntN(2) == 0 {
		c.days, c.onset = 21, 28 // two sound weeks before
	}
	if r.Float64() < 0.18 {
		return c
	}
	for c.fault.id == "" {
		c.fault = drawFault(r, c.p)
	}
	return c
}

// drawFault picks a fault that the plant can have, and its size between a trifle and what stops a plant.
func drawFault(r *rand.Rand, p *simPlant) simFault {
	ids := faults.IDs()[1:]
	f := simFault{id: ids[r.IntN(len(ids))], unit: p.ways[0][0]}
	between := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	sign := float64(1 - 2*r.IntN(2))
	head := -p.units[0].axis
	switch f.id {
	case faults.ScreenBlocked:
		f.size = between(0.02, 0.3)
	case faults.ValvePart:
		f.size = between(2, 60)
	case faults.Air:
		f.size = between(0.02, 0.3) * head
	case faults.Leak:
		f.size = between(0.05, 0.6) * p.units[0].flow
	case faults.RunnerWorn:
		f.size = 1 - between(0.05, 0.5)
	case faults.ElementOpen:
		f.unit = r.IntN(len(p.elements))
	case faults.BallastFull:
		if len(p.ways) < 2 {
			return simFault{}
		}
		f.size = 0.02 + 0.1*r.Float64()
	case faults.Overload:
		if !p.followsSpeed {
			return simFault{} // nothing balances: no round is walked
		}
		f.size = 0.05 + 0.25*r.Float64()
	case faults.Regulator:
		f.size = sign * between(0.02, 0.15)
	case faults.FrequencySet:
		f.size = sign * between(0.006, 0.08)
	case faults.PressureGauge:
		f.size = sign * between(0.01, 0.4) * head * 9.8
	case faults.LevelGauge:
		f.size = sign * between(0.05, 0.8)
	case faults.PondLow:
		f.size = between(0.03, 0.2)
	case faults.Bearing:
		f.size = between(6, 40)
	case faults.Controller:
		f.size = between(0.015, 0.05)
	case faults.Belt:
		f.size = between(0.03, 0.2)
	case faults.None:
	}
	return f
}

// apartBy is the least separation, as a log-likelihood ratio on readings without noise, of what counts as distinguishable:
// three standard errors, 3²/2, beside the ratio of the priors.
const apartBy = 4.5

// standing is what readings without noise, of a machine just as the plant file says, tell of a case.
type standing struct {
	below   bool         // below the detection limit: not to be told from none, and counted so
	seen    bool         // to be told from every other fault
	nearest faults.Fault // the fault that is hardest to tell it from
}

func (c simCase) standing(tb testing.TB) standing {
	c.noise, c.efficiency, c.losses = false, 1, 1
	return standingOf(tb, c.history(tb), c.truth())
}

// standingOf is the same of any history without noise.
func standingOf(tb testing.TB, exact *record.History, truth faults.Fault) standing {
	if truth == faults.None {
		return standing{seen: true}
	}
	reach, err := faults.Reach(exact)
	if err != nil {
		tb.Fatal(err)
	}
	least := math.Inf(1)
	var s standing
	for _, id := range faults.IDs() {
		l, ok := reach[id]
		if !ok || id == truth || (truth.Condition() && id != faults.None) {
			continue // a condition is no fault: it has to be told from a plant on which it does not hold
		}
		margin := reach[truth] - l - math.Max(0, math.Log(faults.Prior(id)/faults.Prior(truth)))
		if truth.Condition() {
			margin += apartBy - 2 // its probability stands in the margin already: nine to one
		}
		if margin < least {
			s.nearest, least = id, margin
		}
		s.below = s.below || id == faults.None && margin < apartBy
	}
	s.seen = least >= apartBy
	return s
}

func (c simCase) truth() faults.Fault {
	if c.fault.id == "" {
		return faults.None
	}
	return c.fault.id
}

// tally counts what came of the cases.
type tally struct {
	cases, first, two int
	answers           map[faults.Fault]int
	nearest           map[faults.Fault]int
}

type table struct {
	rows   map[faults.Fault]*tally // distinguishable ones, and healthy weeks
	hidden map[faults.Fault]*tally // those that look like another fault
	below  map[faults.Fault]*tally // those below the detection limit
	bins   [10][2]int              // answers by their probability, and how many were right
	n      int
}

func newTable() *table {
	return &table{rows: map[faults.Fault]*tally{}, hidden: map[faults.Fault]*tally{}, below: map[faults.Fault]*tally{}}
}

func (t *table) add(truth faults.Fault, s standing, f *faults.Facts) {
	rows := t.hidden
	switch {
	case s.below:
		rows = t.below
	case s.seen:
		rows = t.rows
	}
	if rows[truth] == nil {
		rows[truth] = &tally{answers: map[faults.Fault]int{}, nearest: map[faults.Fault]int{}}
	}
	r := rows[truth]
	r.cases++
	t.n++
	top := f.Ranked[0]
	r.answers[top.Fault]++
	r.nearest[s.nearest]++
	right := top.Fault == truth || s.below && top.Fault == faults.None
	if right {
		r.first++
	}
	if second := f.Ranked[1].Fault; right || second == truth || s.below && second == faults.None {
		r.two++
	}
	b := min(9, int(top.Probability*10))
	t.bins[b][0]++
	if right {
		t.bins[b][1]++
	}
}

// sum adds up rows other than none.
func sum(rows map[faults.Fault]*tally) (s tally) {
	for id, r := range rows {
		if id != faults.None {
			s.cases, s.first, s.two = s.cases+r.cases, s.first+r.first, s.two+r.two
		}
	}
	return s
}

func pct(a, b int) string {
	if b == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", 100*float64(a)/float64(b))
}

const confusionHead = `# Confusion table of the fault-finding

%d simulated cases on three plants (half a week alone, half with two sound weeks before it), machines 0.95 to 1.05 of the plant
file's efficiency, losses 0.9 to 1.1 of its. Distinguishable: readings without noise tell the fault from every other by three
standard errors and the ratio of the priors. Made by HEADPOND_CONFUSION=1 go test ./model/faults -run RightCause -timeout 30m.
`

// text writes the table for people.
func (t *table) text(head string) string {
	var b strings.Builder
	d, h, l := sum(t.rows), sum(t.hidden), sum(t.below)
	none := t.rows[faults.None]
	fmt.Fprintf(&b, head+"\n", t.n)
	fmt.Fprintf(&b, "| | cases | right first | in first two |\n|---|---|---|---|\n| healthy weeks | %d | %s | %s |\n| distinguishable faults | %d | %s | %s |\n| faults that look like another | %d | %s | %s |\n| faults below the detection limit, none being right too | %d | %s | %s |\n\n",
		none.cases, pct(none.first, none.cases), pct(none.two, none.cases), d.cases, pct(d.first, d.cases), pct(d.two, d.cases), h.cases, pct(h.first, h.cases), pct(h.two, h.cases), l.cases, pct(l.first, l.cases), pct(l.two, l.cases))
	b.WriteString("## Distinguishable, by fault\n\n| fault | cases | right first | in first two | else first |\n|---|---|---|---|---|\n")
	t.write(&b, t.rows, func(r *tally) map[faults.Fault]int { return r.answers })
	b.WriteString("\n## Below the detection limit: counted as none\n\n| fault | cases | none or itself first | in first two | else first |\n|---|---|---|---|---|\n")
	t.write(&b, t.below, func(r *tally) map[faults.Fault]int {
		out := maps.Clone(r.answers)
		delete(out, faults.None)
		return out
	})
	b.WriteString("\n## Not distinguishable, and from what\n\n| fault | cases | right first | in first two | nearest |\n|---|---|---|---|---|\n")
	t.write(&b, t.hidden, func(r *tally) map[faults.Fault]int { return r.nearest })
	b.WriteString("\n## Calibration: the first answer's probability, and how often it was right\n\n| said | answers | right |\n|---|---|---|\n")
	for i, x := range t.bins {
		if x[0] > 0 {
			fmt.Fprintf(&b, "| %d to %d %% | %d | %s |\n", 10*i, 10*i+10, x[0], pct(x[1], x[0]))
		}
	}
	return b.String()
}

func (t *table) write(b *strings.Builder, rows map[faults.Fault]*tally, others func(*tally) map[faults.Fault]int) {
	for _, id := range faults.IDs() {
		r := rows[id]
		if r == nil {
			continue
		}
		type count struct {
			id faults.Fault
			n  int
		}
		var list []count
		for _, o := range faults.IDs() {
			if n := others(r)[o]; n > 0 && o != id {
				list = append(list, count{o, n})
			}
		}
		slices.SortStableFunc(list, func(a, b count) int { return b.n - a.n })
		var text []string
		for _, c := range list {
			text = append(text, fmt.Sprintf("%s %d", c.id, c.n))
		}
		fmt.Fprintf(b, "| %s | %d | %s | %s | %s |\n", id, r.cases, pct(r.first, r.cases), pct(r.two, r.cases), strings.Join(text, ", "))
	}
}

// The environment variable that asks for the long run, which writes testdata/confusion.md.
const longRun = "HEADPOND_CONFUSION"

// The targets are the issue's. The short form leaves room for chance.
func TestTheRightCauseComesFirst(t *testing.T) {
	cases, room := 100, 0.08
	long := os.Getenv(longRun) != ""
	switch {
	case long:
		cases, room = 2400, 0
	case testing.Short():
		cases, room = 30, 0.2 // under the race detector, which is what it is for there
	}
	plants := samplePlants()
	r := rand.New(rand.NewPCG(2026, 7))
	tab := newTable()
	for i := range cases {
		c := draw(r, plants, uint64(i))
		f, err := faults.Report(context.Background(), c.history(t), faults.Options{})
		if err != nil {
			t.Fatalf("case %d: %v", i, err)
		}
		s := c.standing(t)
		tab.add(c.truth(), s, f)
	}
	if long {
		if err := os.WriteFile(filepath.Join("testdata", "confusion.md"), []byte(tab.text(confusionHead)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Log("\n" + tab.text(confusionHead))
	tab.hold(t, room)
}

// hold demands the targets, less some room for chance where there are few cases.
func (tab *table) hold(t *testing.T, room float64) {
	t.Helper()
	d, none := sum(tab.rows), tab.rows[faults.None]
	for _, c := range []struct {
		what  string
		share float64
		want  float64
	}{
		{"right first", float64(d.first) / float64(d.cases), 0.85},
		{"in the first two", float64(d.two) / float64(d.cases), 0.95},
		{"none first in healthy weeks", float64(none.first) / float64(none.cases), 0.95},
	} {
		if c.share < c.want-room {
			t.Errorf("%s: %.3f, want %.2f", c.what, c.share, c.want)
		}
	}
}
