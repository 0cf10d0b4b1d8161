package round

import (
	"context"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

// talker answers what it is asked, one after the other; then its terminal is closed.
type talker struct {
	answers []string
	rest    string // what answers everything after them; "" closes the terminal, "Enter" is Enter alone
	asked   []string
	said    []string
}

func (k *talker) dialogue() Dialogue {
	return Dialogue{
		Ask: func(_ context.Context, prompt string) (string, error) {
			k.asked = append(k.asked, strings.TrimSpace(prompt))
			if len(k.answers) > 0 {
				a := k.answers[0]
				k.answers = k.answers[1:]
				return a, nil
			}
			switch k.rest {
			case "":
				return "", io.EOF
			case "Enter":
				return "", nil
			}
			return k.rest, nil
		},
		Say: func(line string) { k.said = append(k.said, line) },
	}
}

// ask walks the round with answers.
func (b *bench) ask(preset map[string]string, k *talker) (record.Round, error) {
	b.t.Helper()
	c := uitest.Common(uitest.Look{}, 80, 24, b.now)
	c.Now = func() time.Time { return b.now }
	d := desk.Desk{Book: b.book, Now: c.Now, Location: halifax}
	l := d.Load(context.Background(), 1)
	if l.Err != nil {
		b.t.Fatal(l.Err)
	}
	r, _, err := AskLines(context.Background(), c, d, l, preset, k.dialogue())
	return r, err
}

func (b *bench) kept() string {
	b.t.Helper()
	d, _, err := b.book.Draft(context.Background(), Name)
	if err != nil {
		b.t.Fatal(err)
	}
	return string(d.Data)
}

// hears fails where a line of these does not come, in this order, each within a line of its own.
func hears(t *testing.T, lines []string, parts ...string) {
	t.Helper()
	at := 0
	for _, part := range parts {
		for at < len(lines) && !strings.Contains(lines[at], part) {
			at++
		}
		if at == len(lines) {
			t.Fatalf("%q does not come, or not in its order, in:\n%s", part, strings.Join(lines, "\n"))
		}
		at++
	}
}

// Everything is asked for once, in the form's order, and the buttons are no questions. Nothing answered is no round and leaves no draft.
func TestEverythingIsAskedForOnceInTheFormsOrder(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	k := &talker{rest: "Enter"}
	if _, err := b.ask(nil, k); !errors.Is(err, ErrNothing) {
		t.Errorf("%v", err)
	}
	hears(t, k.asked, "Pond level, m (last -0.32", "Water temperature, °C (last 12", "Screen (clear, partly, blocked, iced; last clear)", "Intake pressure, kPa", "Running (last A; none, or A+B)",
		"Voltage, V (last 241; expected 240; band 228 to 252)", "Note", "By (who walked the round; last Ro)", "Time (now; or 06:30")
	for i, p := range k.asked {
		for _, q := range k.asked[:i] {
			if p == q {
				t.Errorf("%q is asked twice", p)
			}
		}
		if strings.Contains(p, "Save this round") || strings.Contains(p, "Show every reading") {
			t.Errorf("a button is asked for: %q", p)
		}
	}
	hears(t, k.said, "Pond:", "Screen:", "Valve and gauge:", "Machines:", "Panel:", "Who and when:")
	if b.kept() != "" {
		t.Errorf("a draft of nothing: %s", b.kept())
	}
}

// What is answered wrongly is asked again with what was expected, whatever kind of field it is, and the draft never holds it.
func TestAWrongAnswerIsAskedAgain(t *testing.T) {
	for _, c := range []struct{ field, wrong, said, right string }{
		{"Pond level", "deep", `"deep" is not taken: expected a number in m`, "-0.3"},
		{"Screen (", "9", `"9" is not one of clear, partly, blocked, iced`, "partly"},
		{"Running", "A+C", `"A+C" is not taken: expected none, or A+B`, "none"},
		{"Time", "25:99", `"25:99" is not taken: `, "07:30"},
		{"Voltage", "2o0", `"2o0" is not taken: expected a number in V`, "241 V"},
		{"Pond level", "=1", `"=1" is not taken`, "-0.3"},
		{"Pond level", "no_such=1", `"no_such=1" is not taken`, "-0.3"},
	} {
		b := newBench(t, uitest.Look{}, 80, 20)
		k := &talker{rest: "Enter"}
		d := k.dialogue()
		times := 0
		ask := d.Ask
		d.Ask = func(ctx context.Context, prompt string) (string, error) {
			answer, err := ask(ctx, prompt)
			if !strings.HasPrefix(strings.TrimSpace(prompt), c.field) {
				return answer, err
			}
			if times++; times == 1 {
				return c.wrong, nil
			}
			if strings.Contains(b.kept(), c.wrong) {
				t.Errorf("the draft holds %q: %s", c.wrong, b.kept())
			}
			return c.right, nil
		}
		cm := uitest.Common(uitest.Look{}, 80, 24, b.now)
		dk := desk.Desk{Book: b.book, Now: cm.Now, Location: halifax}
		_, _, err := AskLines(context.Background(), cm, dk, dk.Load(context.Background(), 1), map[string]string{"note": "calm"}, d)
		if err != nil || times != 2 {
			t.Errorf("%s: asked %d times, %v", c.field, times, err)
		}
		hears(t, k.said, c.said)
	}
}

// Answers lead back, forward and away as they say; "<" before the first question stays there.
func TestGoingBackAndForth(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	k := &talker{answers: []string{"<", "-0.41", "<", "?", "-0.42", "air_c=9", "=", ".", "", "<", "Time?", "07:15", "y"}}
	r, err := b.ask(nil, k)
	if err != nil {
		t.Fatalf("%v\n%s", err, strings.Join(append(k.asked, k.said...), "\n"))
	}
	if r.Values["pond_level_m"] != -0.42 || r.Values["air_c"] != 9 || r.Values["water_c"] != 12 || r.By != "" || r.Time.In(halifax).Format("15:04") != "07:15" {
		t.Errorf("%+v", r)
	}
	hears(t, k.said, "Pond level -0.41 m", "Expected here: a number in m", "Pond level -0.42 m", "Air temperature 9 °C", "Water temperature 12 °C", "The whole round, Thu 4 Jun 08:00, nobody named:",
		`"Time?" is not taken`, "Time Thu 4 Jun 07:15", "The whole round, Thu 4 Jun 07:15, nobody named:", "Pond level -0.42 m", "Water temperature 12 °C", "Air temperature 9 °C")
}

func TestNoLastValueIsSaid(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	k := &talker{answers: []string{"-0.3", "", "", "="}}
	_, err := b.ask(nil, k)
	if !errors.Is(err, ErrLeft) || !errors.Is(err, io.EOF) {
		t.Errorf("%v", err)
	}
	hears(t, k.said, "There is no last value to take.")
}

// A closed terminal keeps what was answered as the form does, and says so; with nothing answered there is nothing to keep.
func TestAClosedTerminalKeepsTheAnswers(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	if _, err := b.ask(nil, &talker{}); !errors.Is(err, ErrNothing) {
		t.Errorf("nothing was answered: %v", err)
	}
	_, err := b.ask(nil, &talker{answers: []string{"-0.41", "7"}})
	if !errors.Is(err, ErrLeft) || !strings.Contains(err.Error(), "kept as a draft") {
		t.Errorf("%v", err)
	}
	b.start(uitest.Look{}, 80, 20) // the form goes on with it
	if s := b.s.(Screen); s.text("pond_level_m") != "-0.41" || s.text("water_c") != "7" || !strings.Contains(s.View(), "was kept") {
		t.Errorf("the form has %v:\n%s", s.values(), s.View())
	}
	b.typed("1") // and so does the asking with what the form has
	b.now = b.now.Add(time.Hour)
	k := &talker{answers: []string{".", ""}}
	_, _ = b.ask(nil, k)
	hears(t, k.said, "A round begun Thu 4 Jun 08:00 was not saved. Its answers are kept")
	hears(t, k.asked, "Pond level, m (kept -0.41")
	hears(t, k.asked, "with 2 answers?") // those that are read back: the time that came with the draft is none
}

func TestTheEndOfTheAsking(t *testing.T) {
	for answer, want := range map[string]error{"y": nil, "Y": nil, "yes": nil, "": nil, "n": ErrLeft, "No": ErrLeft, "drop": ErrDropped} {
		b := newBench(t, uitest.Look{}, 80, 20)
		r, err := b.ask(map[string]string{"by": "Imke"}, &talker{answers: []string{"-0.41", ".", "what", answer}})
		if !errors.Is(err, want) || err == nil && r.By != "Imke" {
			t.Errorf("%q: %v, %+v", answer, err, r)
		}
		if kept := b.kept() != ""; kept != (want != ErrDropped) {
			t.Errorf("%q: the draft is kept: %v", answer, kept) // whoever saves the round drops it in the same step
		}
	}
}

// In US units a bare number is in the unit that the question names, and is read back in it. 1 ft = 0.3048 m (NIST SP 811).
func TestAskingInUSUnits(t *testing.T) {
	b := usBench(t, 80, 20)
	k := &talker{answers: []string{"-1", ".", "", "y"}}
	r, err := b.ask(nil, k)
	if err != nil || r.Values["pond_level_m"] != -0.3048 {
		t.Errorf("%v, %v", r.Values, err)
	}
	hears(t, k.asked, "Pond level, ft (last -1.05")
	hears(t, k.said, "Pond level -1 ft", "The whole round")
}

// usBench is bench with the plant's screens in US units.
func usBench(t *testing.T, w, h int) *bench {
	t.Helper()
	b := newBench(t, uitest.Look{}, w, h)
	us := strings.Replace(demo.PlantText(), `units = "metric"`, `units = "us"`, 1)
	if _, err := b.book.AddPlant(context.Background(), us, b.now.Add(-time.Hour), "Imke"); err != nil {
		t.Fatal(err)
	}
	b.start(uitest.Look{}, w, h)
	return b
}

func TestAskingNeedsAPlant(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	var err error
	if b.book, err = logbook.Create(context.Background(), b.book.Path()+".empty", logbook.Options{Clock: func() time.Time { return b.now }, Location: halifax}); err != nil {
		t.Fatal(err)
	}
	k := &talker{rest: "Enter"}
	if _, err := b.ask(nil, k); err == nil || !strings.Contains(err.Error(), "holds no plant description yet") || len(k.asked) != 0 {
		t.Errorf("%v, asked %v", err, k.asked)
	}
}

// A disk that is gone ends the asking with a message that names the file, not with a round that is nowhere.
func TestADiskThatIsGoneEndsTheAsking(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	k := &talker{answers: []string{"-0.41"}, rest: "Enter"}
	d := k.dialogue()
	ask := d.Ask
	d.Ask = func(ctx context.Context, prompt string) (string, error) {
		if err := os.Rename(b.book.Path(), b.book.Path()+".away"); err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
		return ask(ctx, prompt)
	}
	cm := uitest.Common(uitest.Look{}, 80, 24, b.now)
	dk := desk.Desk{Book: b.book, Now: cm.Now, Location: halifax}
	_, _, err := AskLines(context.Background(), cm, dk, dk.Load(context.Background(), 1), nil, d)
	if err == nil || !strings.Contains(err.Error(), b.book.Path()) || len(k.asked) != 1 {
		t.Errorf("%v after %d questions", err, len(k.asked))
	}
}
