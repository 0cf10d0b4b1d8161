package assess

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
	"example.org/headpond/model/tolerance"
)

// plain is the contract's paragraph "What the readings mean together", written out a second time as it reads, without the errors.
type plain struct {
	generation, dumped, load *float64
	from                     From
}

func plainly(p *plant.Plant, r record.Round, running []string, known bool, working map[string]bool, model *float64) plain {
	value := func(k quantity.Key) *float64 {
		if v, ok := r.Value(k); ok {
			return &v
		}
		return nil
	}
	var common []string
	for _, u := range p.Units {
		if u.Common() && slices.Contains(running, u.ID) {
			common = append(common, u.ID)
		}
	}
	volts := value("volts")
	if volts == nil && known {
		sum, n := 0.0, 0.0
		for _, id := range common {
			if v := value(quantity.NewKey(id, quantity.Volts)); v != nil {
				sum, n = sum+*v, n+1
			}
		}
		if n > 0 {
			volts = new(sum / n)
		}
	}
	at := p.Supply.Volts
	if volts != nil {
		at = *volts
	}
	elements := 0.0
	for _, e := range p.Ballast.Elements {
		if working[e.Name] {
			elements += e.RatedKW * (at / e.RatedVolts) * (at / e.RatedVolts)
		}
	}
	load, dump, pct := value("load_kw"), value("dump_kw"), value("dump_share_pct")
	var out plain
	meters, all := 0.0, known && len(common) > 0
	for _, id := range common {
		v := value(quantity.NewKey(id, quantity.KW))
		if v == nil {
			all = false
			break
		}
		meters += *v
	}
	ofBallast := p.Ballast.ShareOf == plant.ShareOfBallast
	switch {
	case all:
		out.generation, out.from = &meters, FromMeters
	case load != nil && dump != nil:
		out.generation, out.from = new(*load+*dump), FromLoadDump
	case load != nil && pct != nil && ofBallast:
		out.generation, out.from = new(*load+*pct/100*elements), FromLoadShare
	case load != nil && pct != nil && *pct <= 95:
		out.generation, out.from = new(*load/(1-*pct/100)), FromLoadShare
	case known && model != nil:
		out.generation, out.from = model, FromModel
	}
	switch {
	case dump != nil:
		out.dumped = dump
	case pct != nil && ofBallast:
		out.dumped = new(*pct / 100 * elements)
	case pct != nil && out.generation != nil:
		out.dumped = new(*pct / 100 * *out.generation)
	case load != nil && out.generation != nil && out.from != FromLoadDump && out.from != FromLoadShare:
		out.dumped = new(*out.generation - *load)
	}
	switch {
	case load != nil:
		out.load = load
	case out.generation != nil && out.dumped != nil:
		out.load = new(*out.generation - *out.dumped)
	}
	return out
}

func TestThePowersAreTheContracts(t *testing.T) {
	seen := map[From]int{}
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		h := anyHistory(t, p)
		if len(h.Rounds) == 0 {
			return
		}
		a := Of(h)
		r := h.Rounds[rapid.IntRange(0, len(h.Rounds)-1).Draw(t, "round")]
		running, known := a.Running(r)
		var model *float64
		if known {
			if res, err := a.Solve(r, running); err == nil {
				model = new(res.CommonKW)
			}
		}
		sound := r // a slip of the pen is no reading; its range is tested by the contract's numbers in plausible_test.go
		sound.Values = vals{}
		for k, v := range r.Values {
			if _, _, ok := Plausible(p, k, v); ok {
				sound.Values[k] = v
			}
		}
		want := plainly(p, sound, running, known, h.ElementsWorking(r.Time), model)
		got := a.PowerOf(r)
		for _, c := range []struct {
			what string
			got  *KW
			want *float64
		}{{"generation", got.Generation, want.generation}, {"dumped", got.Dumped, want.dumped}, {"load", got.Load, want.load}} {
			if (c.got == nil) != (c.want == nil) {
				t.Fatalf("%s: %+v, by the contract %v; %v", c.what, c.got, c.want, r.Values)
			}
			if c.got != nil && math.Abs(c.got.KW-*c.want) > 1e-9*(1+math.Abs(*c.want)) {
				t.Fatalf("%s: %g, by the contract %g; %v", c.what, c.got.KW, *c.want, r.Values)
			}
		}
		if got.Generation != nil {
			seen[got.Generation.From]++
			if got.Generation.From != want.from {
				t.Fatalf("from %s, by the contract %s", got.Generation.From, want.from)
			}
		}
	})
	for _, f := range []From{FromMeters, FromLoadDump, FromLoadShare, FromModel} {
		if seen[f] == 0 && !testing.Short() { // twenty draws need not meet all
			t.Errorf("no generation ever came from %s", f)
		}
	}
}

// Expected values are the solver's own, asked directly: nothing is worked out twice in two ways.
func TestExpectedValuesAreTheSolvers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		running := planttest.Running(t, p)
		level := planttest.Level(t)
		r := record.Round{Time: noon, Running: &running, Values: vals{"pond_level_m": level}}
		got := Of(&record.History{At: noon, Plant: p}).Expected(r)
		m, err := steady.New(p)
		if err != nil {
			t.Fatal(err)
		}
		res, err := m.Solve(steady.Case{PondLevelM: level, Running: running})
		if err != nil {
			t.Fatal(err)
		}
		must := func(k quantity.Key, want float64) {
			if v, ok := got[k]; !ok || v != want {
				t.Fatalf("%s: %g (%v), the solver gives %g", k, v, ok, want)
			}
		}
		must("flow_lps", res.FlowM3s*1e3)
		if m.HasScreen() {
			must("screen_loss_mm", res.ScreenLossM*1e3)
		}
		common := false
		for _, u := range res.Units {
			must(quantity.NewKey(u.ID, quantity.KW), u.KW)
			must(quantity.NewKey(u.ID, quantity.FlowLps), u.FlowM3s*1e3)
			if u.PressureKnown {
				must(quantity.NewKey(u.ID, quantity.PressureKPa), u.PressureKPa)
			}
			common = common || u.Running && u.Common
		}
		nominal := map[quantity.Key]float64{"volts": p.Supply.Volts, "hertz": p.Supply.Hertz}
		for k, v := range nominal {
			if !common {
				v = 0
			}
			must(k, v)
		}
	})
}

// Now shows the latest value of each reading within two weeks, in walking order, and every one judged in its own round.
func TestReadingsAreTheLatestOfEach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		h := anyHistory(t, p)
		a := Of(h)
		got := a.Now().Readings
		at := 0
		for _, k := range quantity.Keys(p.UnitIDs()) {
			var want *record.Round
			for i := range h.Rounds {
				if _, ok := h.Rounds[i].Value(k); ok && h.At.Sub(h.Rounds[i].Time) <= 14*24*time.Hour {
					want = &h.Rounds[i]
				}
			}
			if want == nil {
				continue
			}
			if at >= len(got) || got[at].Quantity != string(k) {
				t.Fatalf("%s is missing or out of order in %+v", k, got)
			}
			r := got[at]
			if v, _ := want.Value(k); r.Value != v || !r.Time.Equal(want.Time) || r.Old != (want != &h.Rounds[len(h.Rounds)-1]) {
				t.Fatalf("%+v, expected %g of %s", r, v, want.Time)
			}
			if b, ok := a.Band(*want, k); ok && r.State != b.State(r.Value) || !ok && r.State != "" {
				t.Fatalf("%s is judged %q", k, r.State)
			}
			at++
		}
		if at != len(got) {
			t.Fatalf("%d readings, expected %d", len(got), at)
		}
	})
}

// The most urgent stands first, and everything out of band in the last round is told, unless the bus stands.
func TestAttentionIsInOrder(t *testing.T) {
	order := []Urgency{UrgentOut, UrgentNear, UrgentDue, UrgentNote}
	rapid.Check(t, func(t *rapid.T) {
		n := Of(anyHistory(t, planttest.Random(t))).Now()
		last, outs := 0, 0
		for _, x := range n.Attention {
			at := slices.Index(order, x.Urgency)
			if at < last {
				t.Fatalf("%+v", n.Attention)
			}
			last = at
			if x.Urgency == UrgentOut && x.Screen == "log" {
				outs++
			}
		}
		want := 0
		for _, r := range n.Readings {
			if r.State == tolerance.Out && !r.Old && !(r.Value == 0 && r.Expected != nil && *r.Expected == 0) {
				want++
			}
		}
		if outs < want {
			t.Fatalf("%d readings are out of band, %d are told: %+v", want, outs, n.Attention)
		}
	})
}

// A length of time is told to within what it says: half of its last unit.
func TestSpanIsNearTheTruth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, int64(400*24*time.Hour)).Draw(t, "d"))
		var days, hours, minutes float64
		switch s := Span(d); {
		case scan(s, "%g days", &days), scan(s, "%g h %g min", &hours, &minutes), scan(s, "%g h", &hours), scan(s, "%g min", &minutes):
		default:
			t.Fatalf("%q", s)
		}
		said := time.Duration((days*24*60 + hours*60 + minutes) * float64(time.Minute))
		allowed := 30 * time.Second
		switch {
		case days > 0:
			allowed = 12 * time.Hour
		case minutes == 0 && hours > 0:
			allowed = 30 * time.Minute
		}
		if off := (said - d).Abs(); off > allowed+time.Second {
			t.Fatalf("%s is told as %q", d, Span(d))
		}
	})
}

// scan reads a text of a form to its end; where it has another form nothing is told.
func scan(s, form string, into ...*float64) bool {
	args, back := make([]any, len(into)), make([]any, len(into))
	for i, p := range into {
		args[i] = p
	}
	_, err := fmt.Sscanf(s, form, args...)
	for i, p := range into {
		back[i] = *p
	}
	if err == nil && fmt.Sprintf(form, back...) == s {
		return true
	}
	for _, p := range into {
		*p = 0
	}
	return false
}
