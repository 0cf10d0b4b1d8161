package week

import (
	"slices"
	"strings"
	"testing"
)

// A level that the pond cannot have reached, and a voltage with a digit too many, are in no figure of the review: not in the water,
// not in the extremes, the bands, the permit or the charts. It says what it left out, and how often.
func TestSlipsOfThePenAreSetAside(t *testing.T) {
	log := func(slips bool) *notes {
		n := write(t, tern(t), "2026-02-10 00:00").
			round("2026-02-03 08:00", "running=A volts=240 hertz=60 load_kw=2 dump_kw=2 pond_level_m=-0.30").
			round("2026-02-04 08:00", "volts=241 hertz=60 load_kw=2 dump_kw=2 pond_level_m=-0.31")
		if slips {
			n.round("2026-02-04 20:00", "volts=2410 pond_level_m=3.20") // for -0.32
		} else {
			n.round("2026-02-04 20:00", "hertz=60")
		}
		n.round("2026-02-05 08:00", "volts=242 hertz=60 load_kw=2 dump_kw=2 pond_level_m=-0.33")
		if slips {
			n.round("2026-02-05 20:00", "pond_level_m=-9") // the last level of the week
		}
		return n
	}
	got, want := log(true).report(Week), log(false).report(Week)
	if want.SetAside != nil || len(want.Cautions) != 0 {
		t.Errorf("a log without slips sets aside %+v, %q", want.SetAside, want.Cautions)
	}
	if g, w := jsonOf(t, &Review{Period: Period{Water: got.Water, Permits: got.Permits, Extremes: got.Extremes}}), jsonOf(t, &Review{Period: Period{Water: want.Water, Permits: want.Permits,
		Extremes: want.Extremes}}); g != w {
		t.Errorf("with slips\n%s\nand without\n%s", g, w)
	}
	near(t, "last level", got.Water.Last.Value, -0.33)
	if e, ok := got.Extreme("volts"); !ok || e.High.Value != 242 {
		t.Errorf("the voltage's extremes: %+v", e)
	}
	if q, _ := got.States.Of("volts"); q.Out != 0 || q.Readings != 3 {
		t.Errorf("the voltage's states: %+v", q)
	}
	for _, p := range got.Permits {
		if !p.Kept {
			t.Errorf("a slip breaks the permit: %+v", p)
		}
	}
	for _, p := range got.Points {
		if v, ok := p.Values["pond_level_m"]; ok && (v > 0 || v < -1) {
			t.Errorf("a chart has the level %g", v)
		}
	}
	if got.Rounds != 5 || len(got.Points) != 5 {
		t.Errorf("%d rounds, %d points: a round with a slip is a round", got.Rounds, len(got.Points))
	}
	if len(got.SetAside) != 2 || got.SetAside[0].Readings+got.SetAside[1].Readings != 3 || !slices.ContainsFunc(got.SetAside, func(s SetAside) bool { return s.Quantity == "pond_level_m" && s.Readings == 2 }) {
		t.Errorf("set aside: %+v", got.SetAside)
	}
	if c := strings.Join(got.Cautions, "|"); c != "Left out here as slips of the pen: pond level 2 times, voltage 1 time; the Log shows and corrects them" {
		t.Errorf("it cautions %q", c)
	}
}
