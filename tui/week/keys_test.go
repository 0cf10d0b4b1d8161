package weekview

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// press sends keys; the last one's message is returned, nil where it has none.
func press(tb testing.TB, s Screen, keys ...string) (Screen, tea.Msg) {
	tb.Helper()
	next, msg := uitest.Ask(tb, s, keys...)
	return next.(Screen), msg
}

func sees(tb testing.TB, s Screen, parts ...string) {
	tb.Helper()
	view := strings.ReplaceAll(s.View(), "\u00a0", " ")
	for _, p := range parts {
		if !strings.Contains(view, p) {
			tb.Errorf("%q is not on the screen:\n%s", p, view)
		}
	}
}

func TestWalkingReadsTheRoundsAndOpensOne(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	sees(t, s, "To decide", "OUT !!", "460 kWh")
	s, _ = press(t, s, "left")
	sees(t, s, "> Power used and dumped", "Wed 25 Nov 07:05: used 3.2 kW, dumped 1.3 kW, generated 4.5 kW", "voltage 242 V in; frequency 60.4 Hz in; intake", "^")
	s, _ = press(t, s, "home")
	sees(t, s, "Wed 18 Nov 17:00")
	s, _ = press(t, s, "left")
	sees(t, s, "Wed 18 Nov 17:00") // the end holds
	s, _ = press(t, s, "pgdown")
	sees(t, s, "Thu 19 Nov 17:10")
	s, _ = press(t, s, "right")
	sees(t, s, "Fri 20 Nov 07:15")
	_, msg := press(t, s, "enter")
	if got, want := msg, (desk.GoTo{Screen: "log", Arg: "R200715"}); got != want {
		t.Errorf("Enter asks for %v, want %v", got, want)
	}
	s, _ = press(t, s, "esc")
	sees(t, s, "To decide")
	if strings.Contains(s.View(), "^") {
		t.Error("Esc leaves the chart on show")
	}
	if _, msg := press(t, s, "enter"); msg != nil {
		t.Errorf("Enter on the page asks for %v", msg)
	}
}

func TestTheCursorTellsWhatHappenedBeforeARound(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	s.cursor.At = at(24, 7, 55)
	s, _ = press(t, s, "left", "right")
	sees(t, s, "Tue 24 Nov 07:55", "17:20 trip of A (ice at the intake); 18:40 start of A")
	s, _ = press(t, s, "left")
	sees(t, s, "Mon 23 Nov 07:45", "screen cleared")
}

func TestTheChartsFollowEachOtherAndKeepTheTime(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	var titles []string
	s, _ = press(t, s, "c", "home", "right", "right", "right", "right")
	for range kinds {
		titles = append(titles, s.kind.title())
		sees(t, s, "> "+s.kind.title(), "Fri 20 Nov 17:20")
		s, _ = press(t, s, "c")
	}
	if got, want := strings.Join(titles, ", "), "Power used and dumped, Voltage, Frequency, Intake pressure, Pond level"; got != want || s.kind != powerChart {
		t.Errorf("charts %s, then %s", got, s.kind.title())
	}
	// A quantity that nobody read is passed over.
	r := sample()
	for i := range r.Points {
		delete(r.Points[i].Values, "volts")
	}
	s, _ = press(t, screen(t, uitest.Look{}, 80, 20, r), "c", "c")
	if s.kind != hertzChart {
		t.Errorf("after the power comes %s, but no voltage was read", s.kind.title())
	}
}

func TestStatesStandAsWordsUnderTheCursor(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	s, _ = press(t, s, "c", "c", "home", "right", "right", "right", "right")
	sees(t, s, "!  Fri 20 Nov 17:20: voltage 226 V near !")
	s, _ = press(t, s, "right", "right")
	sees(t, s, "!! Sat 21 Nov 17:30: voltage 258 V out !!")
}

func TestOtherPeriods(t *testing.T) {
	base := screen(t, uitest.Look{}, 80, 20, sample())
	past := base
	past.end = at(1, 10, 5)
	past.report.Review = func() *week.Review { r := sample(); r.From, r.To = at(-6, 10, 5), at(1, 10, 5); return r }()
	cases := []struct {
		name string
		from Screen
		key  string
		span week.Span
		end  time.Time
	}{
		{"the week before", base, "e", week.Week, at(18, 10, 5)},
		{"the newest has nothing after it", base, "l", week.Week, time.Time{}},
		{"the month that ends now", base, "m", week.Month, time.Time{}},
		{"the year that ends now", base, "y", week.Year, time.Time{}},
		{"the week after", past, "l", week.Week, at(8, 10, 5)},
		{"back to now", past, "t", week.Week, time.Time{}},
		{"the month of a past week", past, "m", week.Month, at(1, 10, 5)},
	}
	for _, c := range cases {
		next, _ := c.from.Update(uitest.Key(t, c.key))
		got := next.(Screen)
		if got.span != c.span || !got.end.Equal(c.end) {
			t.Errorf("%s: a %s to %v, want a %s to %v", c.name, got.span, got.end, c.span, c.end)
		}
	}
	nearly := past
	nearly.end, nearly.report.Review.To = at(20, 10, 5), at(20, 10, 5)
	if next, _ := nearly.Update(uitest.Key(t, "l")); !next.(Screen).end.IsZero() {
		t.Errorf("a week later than the 20th ends at %v, which is yet to come", next.(Screen).end)
	}
	if _, msg := press(t, base, "l"); !strings.Contains(msg.(ui.Notice).Text, "this is the newest") {
		t.Errorf("the key that is off says %v", msg)
	}
}

// A period takes a moment to be worked out; until then the last one stands and it is said, and only the newest question is
// answered.
func TestPagingOnDoesNotWaitAndDoesNotPileUp(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	next, _ := s.Update(uitest.Key(t, "y"))
	sees(t, next.(Screen), "Working out the year; what stands here is the last.", "To decide", "690 kWh")
	if s.job == nil || !s.job.done() || next.(Screen).job.done() {
		t.Fatal("what was asked before goes on, or what is asked now does not")
	}
	dropped := give(next, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Year}, Err: context.Canceled})
	sees(t, dropped, "690 kWh")
	done := give(dropped, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Year}, Review: byDays()})
	if strings.Contains(done.View(), "Working out") {
		t.Errorf("it still says that it works:\n%s", done.View())
	}
}

func TestOldAnswersAreDropped(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	other := sample()
	other.Verdict = "of another time"
	for name, of := range map[string]desk.ReviewOf{
		"an older load":  {Version: 0, Span: week.Week},
		"another span":   {Version: 1, Span: week.Month},
		"another period": {Version: 1, Span: week.Week, End: at(18, 10, 5)},
	} {
		if got := give(s, desk.Review{Of: of, Review: other}); got.report.Review == other {
			t.Errorf("%s is shown", name)
		}
	}
	full := give(s, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week, Full: true}, Review: other})
	if full.report.Review != other {
		t.Error("the review with its forecasts is not shown")
	}
	if got := give(full, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week}, Review: sample()}); got.report.Review != other {
		t.Error("the review loses its forecasts to the same one without")
	}
}

func TestTheForecastAsksForTheReviewAgain(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	if _, cmd := s.Update(desk.Water{Version: 1, Facts: &water.Facts{}}); cmd == nil {
		t.Error("a forecast that comes is not put into the review")
	}
	for name, w := range map[string]desk.Water{"of an older load": {Version: 0, Facts: &water.Facts{}}, "that could not be made": {Version: 1, Err: errors.New("no levels")}} {
		if _, cmd := s.Update(w); cmd != nil {
			t.Errorf("a forecast %s asks for something", name)
		}
	}
	s.end = at(18, 10, 5)
	if _, cmd := s.Update(desk.Water{Version: 1, Facts: &water.Facts{}}); cmd != nil {
		t.Error("today's forecast is put into last week's review")
	}
	if _, cmd := s.Update(desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week, End: s.end}, Review: sample()}); cmd == nil {
		t.Error("a past week is not asked for with its forecasts")
	}
}

// byDays is a year's review, which has days and no rounds.
func byDays() *week.Review {
	r := sample()
	r.Span, r.Points = week.Year, nil
	return r
}

func TestAYearIsWalkedByDays(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, byDays())
	s, _ = press(t, s, "left")
	sees(t, s, "kWh a day", "Wed 25 Nov: generated 108 kWh (104 to 112), used 71 kWh (66 to 77), dumped", "37 kWh (31 to 42)", "1 round; 10 h known")
	s, _ = press(t, s, "left")
	sees(t, s, "Mon 23 Nov", "1 trip") // nothing is known of the 24th
	s, _ = press(t, s, "c", "left", "left")
	sees(t, s, "lowest to highest of the day", "!! Sat 21 Nov: voltage from 236 V in to 258 V out !!")
	next, _ := s.Update(uitest.Key(t, "enter"))
	got := next.(Screen)
	if got.span != week.Week || !got.end.Equal(at(22, 0, 0)) {
		t.Errorf("Enter on the 21st shows a %s to %v, want the week to its end", got.span, got.end)
	}
	s, _ = press(t, s, "pgup")
	sees(t, s, "Wed 18 Nov") // by thirty days, or to the end
}

func TestThePageIsWrittenWhereItIsTyped(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	if _, msg := press(t, s, "p"); !strings.Contains(msg.(ui.Notice).Text, "headpond week --html") {
		t.Errorf("without a writer the key says %v", msg)
	}
	var paths []string
	var pending bool
	fail := error(nil)
	s.desk.WritePage = func(_ context.Context, r desk.Review, path string) (string, error) {
		paths, pending = append(paths, path), r.Pending
		if r.Review != s.report.Review || r.Plant == nil {
			t.Errorf("the page is of another review: %+v", r)
		}
		return "/there/" + path, fail
	}
	open, _ := press(t, s, "p")
	sees(t, open, "Write the page to", "beside the book")
	if !open.Capturing() || !open.Takes(uitest.Key(t, "e")) {
		t.Error("letters are not text for the field")
	}
	typed := uitest.Type(t, open, "week.html").(Screen)
	if typed.span != week.Week || !typed.end.IsZero() {
		t.Error("typing turned the period")
	}
	done, msg := press(t, typed, "enter")
	if n := msg.(ui.Notice); n.Text != "Written: /there/week.html" || n.State != ui.Good || done.Capturing() {
		t.Errorf("says %v", msg)
	}
	fail = errors.New("the disk is full\x1b[2J")
	_, msg = press(t, open, "enter")
	if n := msg.(ui.Notice); n.State != ui.Out || !strings.Contains(n.Text, `No page was written: the disk is full\x1b[2J`) {
		t.Errorf("a failure says %v", msg)
	}
	fail = nil
	open.report.Pending = true
	_, msg = press(t, open, "enter")
	if n := msg.(ui.Notice); n.State != ui.Near || !strings.HasPrefix(n.Text, "Written without how long the water lasts, which is still being worked out: /there/.") || !pending {
		t.Errorf("before the forecast has come it says %v, and the page is told that it is missing: %v", msg, pending)
	}
	left, msg := press(t, typed, "esc")
	if msg != nil || left.Capturing() || len(paths) != 3 || paths[0] != "week.html" || paths[1] != "" {
		t.Errorf("Esc writes: %v, written %q", msg, paths)
	}
}

func TestThePageScrollsAndStaysWithinItself(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	sees(t, s, "more below")
	s, _ = press(t, s, "end")
	sees(t, s, "more above", "never replace", "engineers.")
	s, _ = press(t, s, "home")
	sees(t, s, "Week from")
	s, _ = press(t, s, "down", "down", "up", "pgdown", "pgup")
	sees(t, s, "2 more above") // the hint hides a line itself
	wide := screen(t, uitest.Look{}, 120, 36, sample())
	wide, _ = press(t, wide, "end")
	sees(t, wide, "engineers.", "> Power used and dumped")
}

func TestNothingIsWorkedOutBeforeTheScreenIsLookedAt(t *testing.T) {
	var s ui.Screen = New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20)
	loaded := desk.Loaded{Version: 1, History: &record.History{At: clock, Plant: ternHollow(t)}}
	s, cmd := s.Update(loaded)
	if cmd != nil {
		t.Error("a load asks for a review that nobody looks at")
	}
	s, cmd = s.(Screen).Arrive("")
	if cmd == nil {
		t.Error("arriving asks for no review")
	}
	if _, again := s.(Screen).Arrive(""); again != nil {
		t.Error("arriving again asks again")
	}
	if _, cmd = s.Update(loaded); cmd == nil {
		t.Error("once looked at, a load asks for no review")
	}
}

func TestBeforeAndWithoutAReview(t *testing.T) {
	s := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20).(Screen)
	sees(t, s, "Working out the review")
	if _, msg := press(t, s, "left"); !strings.Contains(msg.(ui.Notice).Text, "there is no review yet") {
		t.Errorf("the cursor without a review says %v", msg)
	}
	if _, cmd := s.Update(desk.Water{Version: 0, Facts: &water.Facts{}}); cmd != nil {
		t.Error("a review is asked for before the book is read")
	}
	sees(t, give(s, desk.Loaded{Err: errors.New("it is locked")}), "The book could not be read: it is locked")
	s = give(s, desk.Loaded{Version: 1, History: &record.History{At: clock, Plant: ternHollow(t)}})
	s = give(s, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week}, Err: errors.New("no round was written")})
	sees(t, s, "There is no review yet: no round was written.", "What is needed")
}

func TestTheKeysAreTheOnesThatWork(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	line := ui.BottomLine(s.Theme, s, 80)
	for _, want := range []string{"e earlier", "m month", "y year", "c chart", "Left walk", "? "} {
		if !strings.Contains(line, want) {
			t.Errorf("the bottom line lacks %q: %s", want, line)
		}
	}
	s, _ = press(t, s, "left")
	if line = ui.BottomLine(s.Theme, s, 80); !strings.HasPrefix(line, "Enter open round  Esc leave chart") {
		t.Errorf("on the chart the bottom line is %s", line)
	}
	for _, b := range s.Bindings() {
		if strings.HasSuffix(b.Long, ".") || b.Long == "" {
			t.Errorf("%s: %q", b.Action, b.Long)
		}
	}
}

// No key has two meanings at once, in any mode, and each mode is in the key table.
func TestNoKeyHasTwoMeanings(t *testing.T) {
	page := screen(t, uitest.Look{}, 80, 20, sample())
	walking, _ := press(t, page, "left")
	typing := page
	typing.typing = true
	for name, s := range map[string]Screen{"page": page, "chart": walking, "field": typing} {
		seen := map[string]string{}
		for _, b := range s.Bindings() {
			for _, k := range b.Keys {
				if other, twice := seen[k]; twice {
					t.Errorf("on the %s, %s is both %s and %s", name, k, other, b.Action)
				}
				seen[k] = b.Action
			}
		}
	}
	var actions []string
	for _, g := range page.Modes() {
		for _, b := range g.Bindings {
			actions = append(actions, b.Action)
		}
	}
	if got, want := strings.Join(actions, " "), "week.open week.leave week.leap week.write week.leave"; got != want {
		t.Errorf("the key table has %s, want %s", got, want)
	}
}

// A week is not called well before its forecast has come: the command, which waits for it, may call it otherwise.
func TestThePlantIsNotWellBeforeTheForecast(t *testing.T) {
	const waits = "still being worked out"
	r := sample()
	r.Verdict, r.Well = "The plant is well, 2 things to do", true
	s := screen(t, uitest.Look{}, 120, 40, r)
	s.of = desk.ReviewOf{}
	s = give(s, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week}, Review: r, Plant: ternHollow(t)}) // the quick one, which comes first
	end := at(18, 10, 5)
	past := desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week, End: end}, Review: r, Plant: ternHollow(t)}
	for _, c := range []struct {
		name string
		s    Screen
		want bool
	}{
		{"now", s, true},
		{"now, without a forecast", give(s, desk.Water{Version: 1, Err: errors.New("no level was read")}), false},
		{"now, with it", give(s, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week, Full: true}, Review: r, Plant: past.Plant}), false},
	} {
		if v := c.s.page().verdict(); strings.Contains(v.Text, waits) != c.want || (v.State == ui.Good) == c.want {
			t.Errorf("%s: %v %q", c.name, v.State, v.Text)
		}
	}
	s.end = end
	if v := give(s, past).page().verdict(); !strings.Contains(v.Text, waits) {
		t.Errorf("a past week: %q", v.Text)
	}
	past.Of.Full = true
	if v := give(s, past).page().verdict(); strings.Contains(v.Text, waits) {
		t.Errorf("a past week with its forecast: %q", v.Text)
	}
}
