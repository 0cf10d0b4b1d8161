package weekview

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// words takes the spaces that do not break out of a text, and the breaks between lines.
func words(s string) string { return flat([]string{s}) }

// What the page for a browser is made of stands on the screen in the same words: sentences, decisions, and the numbers of the
// tables.
func TestThePartsSayWhatTheScreenSays(t *testing.T) {
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	plant := ternHollow(t)
	rapid.Check(t, func(t *rapid.T) {
		r := sample()
		// Parts that are there or not, as in different books.
		if rapid.Bool().Draw(t, "first week") {
			r.Before = nil
		}
		if rapid.Bool().Draw(t, "no money") {
			r.Money, r.Payback = nil, nil
		}
		if rapid.Bool().Draw(t, "no pond") {
			r.Water, r.Forecast, r.Permits = nil, nil, nil
		}
		r.Stops = r.Stops[:rapid.IntRange(0, len(r.Stops)).Draw(t, "stops")]
		r.ClearingList = r.ClearingList[:rapid.IntRange(0, len(r.ClearingList)).Draw(t, "clearings")]
		r.Decisions = r.Decisions[:rapid.IntRange(1, len(r.Decisions)).Draw(t, "decisions")]
		report := Report{Review: r, Plant: plant}
		p := page{report: report, common: c, text: true}
		screen := words(strings.Join(p.lines(400), " "))
		has := func(what, s string) {
			if s = words(s); s != "" && !strings.Contains(screen, s) {
				t.Fatalf("%s %q is not on the screen: %s", what, s, screen)
			}
		}
		parts := PartsOf(report, c)
		has("the period", strings.Replace(parts.Period, " 2026 10:05:", " 10:05:", 1)) // what is filed has the year besides
		has("the verdict", parts.Verdict.Text)
		has("the frequency", parts.Frequency.Text)
		for _, d := range parts.Decisions {
			has("a decision", strings.TrimRight(d.Text, "."))
			has("its urgency", d.Mark)
		}
		for _, b := range parts.Blocks {
			for _, i := range b.Items {
				has("in "+b.Title, i.Text)
			}
		}
		for _, i := range parts.Cautions {
			has("a caution", i.Text)
		}
		for _, tb := range []Table{parts.Energy, parts.Bands} {
			for _, row := range tb.Rows {
				for _, cell := range row[1:min(len(row), 5)] { // the extremes' times stand elsewhere
					has("in "+tb.Title, cell.Text)
				}
			}
		}
		if len(parts.Figures) != int(kinds) || len(parts.Days.Rows) != len(r.Days) {
			t.Fatalf("%d charts, %d days", len(parts.Figures), len(parts.Days.Rows))
		}
	})
}

// Each chart's table has a row for each place of the cursor, in the words that the screen reads out there.
func TestThePartsTablesReadAsTheCursorDoes(t *testing.T) {
	for name, r := range map[string]*week.Review{"week": sample(), "year": byDays()} {
		report := Report{Review: r, Plant: ternHollow(t)}
		p := pageOf(t, r)
		for k, figure := range PartsOf(report, p.common).Figures {
			f := p.figure(kind(k))
			if len(figure.Table.Rows) != len(f.stops) {
				t.Errorf("%s, %s: %d rows for %d places", name, figure.Title, len(figure.Table.Rows), len(f.stops))
				continue
			}
			for i, row := range figure.Table.Rows {
				first, state, _ := p.readout(f, f.stops[i])
				if when, what, _ := strings.Cut(first, ": "); row[0].Text != upper(when) || !strings.EqualFold(row[1].Text, what) || row[1].State != state {
					t.Errorf("%s, %s: the table has %v, the cursor reads %q", name, figure.Title, row, first)
				}
			}
			if figure.Title == "" || figure.Desc == "" {
				t.Errorf("%s, chart %d has no words", name, k)
			}
		}
	}
	if got := PartsOf(Report{}, uitest.Common(uitest.Look{}, 80, 24, clock)); len(got.Figures)+len(got.Blocks)+len(got.Decisions) != 0 {
		t.Errorf("without a review there are parts: %+v", got)
	}
}

// A state that the screen shows by a sign is a state in the parts as well.
func TestThePartsKeepTheStates(t *testing.T) {
	parts := PartsOf(Report{Review: sample(), Plant: ternHollow(t)}, uitest.Common(uitest.Look{}, 80, 24, clock))
	states := map[string]ui.State{}
	for _, b := range parts.Blocks {
		for _, i := range b.Items {
			states[b.Title] = max(states[b.Title], i.State)
		}
	}
	for title, want := range map[string]ui.State{"Stops and trips": ui.Near, "Permit": ui.Out, "Upkeep": ui.Near, "Lowest and highest": ui.Out, "Water": ui.Unjudged} {
		if got, ok := states[title]; !ok || got != want {
			t.Errorf("%s is %v (there: %v), want %v", title, got, ok, want)
		}
	}
	if parts.Verdict.State != ui.Out || parts.Decisions[0].State != ui.Out || parts.Decisions[1].State != ui.Near {
		t.Errorf("the verdict is %v, the decisions %v", parts.Verdict.State, parts.Decisions)
	}
}
