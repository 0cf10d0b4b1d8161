package round

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

var halifax = time.FixedZone("ADT", -3*3600)

// bench is a book with the demo's plant and a few rounds, and the screen on it.
type bench struct {
	t    testing.TB
	book *logbook.Book
	now  time.Time
	s    ui.Screen
	said []string // notices
	went []string // screens asked for
}

func newBench(t testing.TB, look uitest.Look, w, h int) *bench {
	t.Helper()
	b := &bench{t: t, now: time.Date(2026, 6, 4, 8, 0, 0, 0, halifax)}
	o := logbook.Options{Clock: func() time.Time { return b.now }, Location: halifax, Writer: [16]byte{1}}
	var err error
	if b.book, err = logbook.Create(context.Background(), filepath.Join(t.TempDir(), "test.book"), o); err != nil {
		t.Fatal(err)
	}
	if _, err := b.book.AddPlant(context.Background(), demo.PlantText(), b.now.AddDate(0, 0, -3), "Imke"); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		r := record.Round{Time: b.now.Add(time.Duration(i-3) * 12 * time.Hour), By: "Ro", Running: &[]string{"A"},
			Values: map[quantity.Key]float64{"pond_level_m": -0.3 - 0.01*float64(i), "pressure_kpa": 129, "volts": 241, "hertz": 60.1, "load_kw": 3.1, "dump_share_pct": 43, "bearing_c": 44, "A.hours": 1200 + 12*float64(i), "water_c": 12},
			Words:  map[quantity.Key]string{"screen": "clear"}}
		if _, err := b.book.AddRound(context.Background(), r, ""); err != nil {
			t.Fatal(err)
		}
	}
	b.start(look, w, h)
	return b
}

// start makes the screen anew, as a new start of the program does.
func (b *bench) start(look uitest.Look, w, h int) {
	b.t.Helper()
	c := uitest.Common(look, w, h, b.now)
	c.Now = func() time.Time { return b.now }
	d := desk.Desk{Book: b.book, Now: c.Now, Location: halifax}
	b.s = New(c, d).SetSize(w, h)
	l := d.Load(context.Background(), 1)
	if l.Err != nil {
		b.t.Fatal(l.Err)
	}
	b.give(l)
}

// give hands a message to the screen and then every message that its commands bring.
func (b *bench) give(msg tea.Msg) {
	b.t.Helper()
	var cmd tea.Cmd
	b.s, cmd = b.s.Update(msg)
	b.run(cmd)
}

func (b *bench) run(cmd tea.Cmd) {
	b.t.Helper()
	if cmd == nil {
		return
	}
	switch m := cmd().(type) {
	case nil:
	case tea.BatchMsg:
		for _, c := range m {
			b.run(c)
		}
	case ui.Notice:
		b.said = append(b.said, m.Text)
	case desk.GoTo:
		b.went = append(b.went, m.Screen)
	default:
		b.give(m)
	}
}

func (b *bench) press(names ...string) {
	b.t.Helper()
	for _, n := range names {
		b.give(uitest.Key(b.t, n))
	}
}

func (b *bench) typed(s string) {
	b.t.Helper()
	for _, r := range s {
		b.press(string(r))
	}
}

func (b *bench) last() record.Round {
	b.t.Helper()
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{})
	if err != nil {
		b.t.Fatal(err)
	}
	r, _ := h.Last()
	return r
}

func (b *bench) saidWith(part string) bool {
	for _, s := range b.said {
		if strings.Contains(s, part) {
			return true
		}
	}
	return false
}

// A round in which three of eleven readings changed, with the rest as last time. The count is written in DEVELOPERS.md.
func TestKeystrokesOfARoundWithThreeChangedValues(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	keys := 0
	type_ := func(s string) { keys += len([]rune(s)); b.typed(s) }
	press := func(n ...string) { keys += len(n); b.press(n...) }
	to := func(key string) { // by the arrows, as a person does
		for {
			f, _ := b.s.(Screen).form.Focused()
			if f.Key == key {
				return
			}
			press("down")
		}
	}
	type_("-.33")
	to("pressure_kpa")
	type_("127")
	to("load_kw")
	type_("3.4")
	press("=")
	press("f2")
	got := b.last()
	want := map[quantity.Key]float64{"pond_level_m": -0.33, "pressure_kpa": 127, "load_kw": 3.4, "volts": 241, "hertz": 60.1, "dump_share_pct": 43, "bearing_c": 44, "water_c": 12}
	for k, v := range want {
		if x, ok := got.Value(k); !ok || x != v {
			t.Errorf("%s = %g (%v), want %g", k, x, ok, v)
		}
	}
	if _, ok := got.Value("A.hours"); ok {
		t.Error("an hour meter was taken over as last time")
	}
	if got.Words["screen"] != "clear" || got.By != "Ro" || got.Running == nil || len(*got.Running) != 1 {
		t.Errorf("words %v, by %q, running %v", got.Words, got.By, got.Running)
	}
	const counted = 22
	if keys != counted {
		t.Errorf("%d keystrokes; DEVELOPERS.md says %d", keys, counted)
	}
}

// What nobody has read for days is not written down as read today because two keys were pressed.
func TestOldReadingsAreNotTakenOverWithAllOthers(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.now = b.now.Add(47 * time.Hour)
	fresh := record.Round{Time: b.now.Add(-13 * time.Hour), By: "Ro", Running: &[]string{"A"}, Values: map[quantity.Key]float64{"volts": 240, "hertz": 60}}
	if _, err := b.book.AddRound(context.Background(), fresh, ""); err != nil {
		t.Fatal(err)
	}
	b.start(uitest.Look{}, 80, 20)
	b.typed("-.33")
	b.press("down")
	b.press("=")
	b.press("=")
	b.press("f2")
	got := b.last()
	if v, ok := got.Value("volts"); !ok || v != 240 {
		t.Errorf("yesterday's voltage was not taken over: %g %v", v, ok)
	}
	for _, k := range []quantity.Key{"pressure_kpa", "load_kw", "bearing_c"} {
		if v, ok := got.Value(k); ok {
			t.Errorf("%s = %g was taken over, though nobody has read it for two days", k, v)
		}
	}
	if !b.saidWith("too old for that") {
		t.Errorf("it is not said that some were left out: %q", b.said)
	}
}

func TestBlankIsNotRead(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("0")
	b.press("f2")
	got := b.last()
	if v, ok := got.Value("pond_level_m"); !ok || v != 0 || len(got.Values) != 1 || got.Running != nil || len(got.Words) != 0 {
		t.Errorf("saved %+v", got)
	}
}

func TestUnitsAreTakenAsTyped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-1 ft")
	b.s = focus(b.s, "pressure_kpa")
	b.typed("19 psi")
	b.press("f2")
	got := b.last()
	if v := got.Values["pond_level_m"]; v != -0.3048 {
		t.Errorf("-1 ft is kept as %g m", v)
	}
	if v := got.Values["pressure_kpa"]; v < 131.0 || v > 131.01 { // 19 x 6.894757 (NIST SP 811)
		t.Errorf("19 psi is kept as %g kPa", v)
	}
	if got.Typed["pressure_kpa"] != "19 psi" {
		t.Errorf("what was typed is kept as %q", got.Typed["pressure_kpa"])
	}
}

func focus(s ui.Screen, key string) ui.Screen {
	r := s.(Screen)
	r.form = r.form.Focus(key)
	return r
}

// Whatever was typed is on disk at each key, and comes back on the next start with the time at which it was typed.
func TestTheDraftSurvivesAtEveryKey(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	typed := ""
	for _, r := range "-0.42" {
		typed += string(r)
		b.press(string(r))
		d, ok, err := b.book.Draft(context.Background(), Name)
		if err != nil || !ok || !strings.Contains(string(d.Data), fmt.Sprintf("%q:%q", "pond_level_m", typed)) {
			t.Fatalf("after %q the disk has %s (%v, %v)", typed, d.Data, ok, err)
		}
	}
	b.now = b.now.Add(3 * time.Hour) // the power comes back
	b.start(uitest.Look{}, 80, 20)
	if !strings.Contains(b.s.View(), "was kept") || b.s.(Screen).text("pond_level_m") != "-0.42" {
		t.Fatalf("the draft is not offered again:\n%s", b.s.View())
	}
	b.press("f2")
	if got := b.last(); got.Values["pond_level_m"] != -0.42 || !got.Time.Equal(b.now.Add(-3*time.Hour)) {
		t.Errorf("saved %v at %s; it was read three hours before", got.Values, got.Time)
	}
	if _, ok, _ := b.book.Draft(context.Background(), Name); ok {
		t.Error("the draft is still there after saving")
	}
}

func TestEscKeepsTheDraftAndSaysSo(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("1")
	b.press("esc")
	if len(b.went) != 1 || b.went[0] != "now" || !b.saidWith("Draft kept") {
		t.Errorf("went %v, said %v", b.went, b.said)
	}
	if _, ok, _ := b.book.Draft(context.Background(), Name); !ok {
		t.Error("no draft on disk")
	}
}

func TestThrowingAwayIsAskedFirst(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("1")
	b.press("f8", "f8")
	if _, ok, _ := b.book.Draft(context.Background(), Name); !ok {
		t.Fatal("the key that asks also answers")
	}
	b.press("esc")
	if b.s.(Screen).text("pond_level_m") != "1" {
		t.Fatal("no lost what was typed")
	}
	b.press("f8", "y")
	if _, ok, _ := b.book.Draft(context.Background(), Name); ok || b.s.(Screen).text("pond_level_m") != "" {
		t.Error("it was not thrown away")
	}
}

func TestImplausibleValuesAreAskedAboutAndMayBeConfirmed(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := b.last().ID
	b.s = focus(b.s, "volts")
	b.typed("2411")
	b.press("f2")
	if b.last().ID != before || !strings.Contains(b.s.View(), "2411") {
		t.Fatalf("saved without asking:\n%s", b.s.View())
	}
	b.press("enter") // Enter is no
	if b.last().ID != before || b.s.(Screen).text("volts") != "2411" {
		t.Fatal("Enter answered yes, or the text is gone")
	}
	b.press("f2", "y")
	if got := b.last(); got.Values["volts"] != 2411 || !got.Confirmed {
		t.Errorf("saved %+v", got)
	}
}

func TestWhatCannotBeReadIsShownWhereItStands(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := b.last().ID
	b.s = focus(b.s, "hertz")
	b.typed("6o.1")
	b.s = focus(b.s, "pond_level_m")
	b.press("f2")
	f, _ := b.s.(Screen).form.Focused()
	if b.last().ID != before || f.Key != "hertz" || !b.saidWith("Frequency") {
		t.Errorf("focus on %s, said %v", f.Key, b.said)
	}
}

func TestBackFillingFromPaper(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.35")
	b.s = focus(b.s, "time")
	b.typed("yesterday 17:30")
	b.press("f2")
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	want := time.Date(2026, 6, 3, 17, 30, 0, 0, halifax)
	for _, r := range h.Rounds {
		if r.Time.Equal(want) && r.WrittenAt.Equal(b.now) {
			return
		}
	}
	t.Errorf("no round of %s written at %s", want, b.now)
}

func TestExpectedFollowsWhatIsTyped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.3")
	with := b.s.(Screen).expected["pressure_kpa"]
	b.s = focus(b.s, "running")
	b.typed("none")
	without := b.s.(Screen).expected["volts"]
	if with < 100 || without != 0 {
		t.Errorf("with A running the pressure should be %g kPa; with none the voltage %g V", with, without)
	}
}

func TestGoldens(t *testing.T) {
	for name, look := range uitest.Looks() {
		for _, size := range []struct{ w, h int }{{80, 20}, {120, 36}} {
			t.Run(fmt.Sprintf("%s-%dx%d", name, size.w, size.h+4), func(t *testing.T) {
				b := newBench(t, look, size.w, size.h)
				b.typed("-0.33")
				b.s = focus(b.s, "hertz")
				b.typed("57.5")
				golden.RequireEqual(t, []byte(b.s.View()))
			})
		}
	}
}

func TestNeverLargerThanTheRoom(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.33")
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 140).Draw(t, "w"), rapid.IntRange(1, 50).Draw(t, "h")
		view := ui.Clamp(uitest.Theme(uitest.Look{}), b.s.SetSize(w, h).View(), w, h)
		if err := uitest.Fits(view, w, h); err != nil {
			t.Fatal(err)
		}
	})
}

func TestNoLeadsToWhatWasAskedAbout(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.s = focus(b.s, "volts")
	b.typed("2411")
	b.press("f2")
	if !strings.Contains(b.s.View(), "Voltage 2411 V") {
		t.Fatalf("it is not asked in words:\n%s", b.s.View())
	}
	b.press("n")
	if f, _ := b.s.(Screen).form.Focused(); f.Key != "volts" {
		t.Errorf("no leads to %s", f.Key)
	}
}

// The bench's pond stands at about -0.3 m; 3 ft are 0.914 m, half a metre over the highest of its stage rows.
func TestALevelThatCannotBeIsAskedAbout(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := b.last().ID
	b.s = focus(b.s, "pond_level_m")
	b.typed("3 ft")
	b.press("f2")
	if b.last().ID != before || !strings.Contains(b.s.View(), "far above the highest of the pond's stage") {
		t.Fatalf("not asked about:\n%s", b.s.View())
	}
	b.press("y")
	if r := b.last(); r.ID == before || !r.Confirmed {
		t.Errorf("%+v", r)
	}
}

func TestATimeThatHasNotComeIsAskedAboutAndIsNoConfirmedReading(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := b.last().ID
	b.typed("-0.35")
	b.s = focus(b.s, "time")
	b.typed("23:00")
	b.press("f2")
	if b.last().ID != before || !strings.Contains(b.s.View(), "23:00 today has not come yet") {
		t.Fatalf("not asked about:\n%s", b.s.View())
	}
	b.press("n")
	if f, _ := b.s.(Screen).form.Focused(); f.Key != "time" {
		t.Errorf("no leads to %s", f.Key)
	}
}

func TestANumberTypedIntoAChoiceIsNotSaved(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := b.last().ID
	b.s = focus(b.s, "screen")
	b.typed("-12 in")
	if !strings.Contains(b.s.View(), "no such word") {
		t.Errorf("not said:\n%s", b.s.View())
	}
	b.press("f2")
	if f, _ := b.s.(Screen).form.Focused(); b.last().ID != before || f.Key != "screen" {
		t.Errorf("saved, or the focus is on %s", f.Key)
	}
}
