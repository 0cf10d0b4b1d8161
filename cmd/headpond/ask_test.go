package main

import (
	"context"
	"io"
	"strings"
	"testing"
)

// robot answers prompts by what they ask for, so that a test does not depend on the order of the fields.
type robot struct {
	p       *person
	answers map[string]string // by a beginning of the prompt, without blanks; each is given once
	read    int               // bytes of the output that were answered
	asked   []string
	then    string // what is typed at every other prompt; "EOF" closes the terminal
}

// Read gives one line for the newest prompt.
func (ty *robot) Read(b []byte) (int, error) {
	out := ty.p.out.String()
	fresh := out[ty.read:]
	ty.read = len(out)
	prompt := strings.TrimSpace(fresh[strings.LastIndex(fresh, "\n")+1:])
	ty.asked = append(ty.asked, prompt)
	for begin, answer := range ty.answers {
		if strings.HasPrefix(prompt, begin) {
			delete(ty.answers, begin)
			return typed(b, answer)
		}
	}
	return typed(b, ty.then)
}

func typed(b []byte, line string) (int, error) {
	if line == "EOF" {
		return 0, io.EOF
	}
	return copy(b, line+"\n"), nil
}

func (p *person) answers(then string, answers map[string]string) *robot {
	ty := &robot{p: p, answers: answers, then: then}
	p.in = ty
	return ty
}

func TestARoundIsAskedLineByLineInWalkingOrder(t *testing.T) {
	p := newPerson(t)
	p.run(0, "record", "time=2025-06-04 07:30", "by=Ro", "pond_level_m=-0.12", "pressure_kpa=134", "volts=241", "hertz=60", "load_kw=3.1", "dump_kw=2.4", "running=A", "screen=clear")
	ty := p.answers("", map[string]string{"Pond level": "-0,15", "Screen (": "pa", "Intake pressure": "19 psi", "Voltage": "=", "Frequency": "57,5", "Note": "calm", "By": "="})
	out := p.run(0, "record")
	p.wants(strings.Join(ty.asked, "\n"), "Pond level, m (last -0.12", "Screen (clear, partly, blocked, iced; last clear)", "Screen cleared", "Intake pressure, kPa (last 134; expected 13",
		"Running", "Voltage, V (last 241; expected 240; band 228 to 252)", "Frequency", "Consumer load", "Note", "By", "Time", "Save this round of Thu 5 Jun 12:00 with 7 answers?")
	p.wants(out, "Pond:", "Voltage", "in: ", "near !: ", "Saved: round of 2025-06-05 12:00, by Ro, id ", "Frequency", "near !")
	p.wants(p.run(0, "rounds", "--json", "--last", "1"), `"by":"Ro"`, `"hertz":57.5`, `"pond_level_m":-0.15`, `"pressure_kpa":131.0003885`, `"screen":"partly"`, `"volts":241`, `"note":"calm"`)
	if d := p.draft(); d != "" {
		t.Errorf("the draft is still there: %s", d)
	}
}

func TestWhatIsNoValueIsAskedAgain(t *testing.T) {
	p := newPerson(t)
	p.types("deep", "?", "-0.15", ".", "", "y")
	out := p.run(0, "record")
	p.wants(out, "Pond level", "is not taken: expected a number in m", "Pond level", "Expected here: a number in m", "Pond level", "Save this round", "Saved")
	p.wants(p.run(0, "rounds", "--json"), `"readings":{"pond_level_m":-0.15}`)
}

func TestOneCanGoBackTakeAnAnswerAwayAndGiveAnotherReading(t *testing.T) {
	p := newPerson(t)
	p.types("-0.15", "<", "-0.16", "<", "-", "air_c=12", "partly", ".", "y")
	p.run(0, "record", "by=Imke", "time=2025-06-04 18:00")
	p.wants(p.run(0, "rounds", "--json"), `"time":"2025-06-04T18:00:00-03:00","by":"Imke"`, `"readings":{"air_c":12,"screen":"partly"}`)
}

func TestAClearedScreenAsksForThePressures(t *testing.T) {
	p := newPerson(t)
	ty := p.answers("", map[string]string{"Screen cleared": "yes", "Pressure before": "120", "Pressure after": "134"})
	p.run(0, "record")
	p.wants(strings.Join(ty.asked, "\n"), "Screen cleared", "Pressure before", "Pressure after")
	p.wants(p.run(0, "rounds", "--json"), `"pressure_after_kpa":134,"pressure_before_kpa":120,"screen_cleared":"yes"`)
}

func TestEveryAnswerIsOnDiskWhenTheTerminalCloses(t *testing.T) {
	p := newPerson(t)
	p.answers("EOF", map[string]string{"Pond level": "-0.15"})
	p.run(1, "record")
	p.wants(p.err.String(), "not saved; what was answered is kept as a draft")
	p.wants(p.draft(), `"pond_level_m":"-0.15"`)
	if p.run(0, "rounds", "--json") != "" {
		t.Error("a round was saved")
	}

	// The next time the draft is gone on with.
	p.types("", ".", "", "y")
	p.wants(p.run(0, "record"), "A round begun Thu 5 Jun 12:00 was not saved", "Pond level, m (kept -0.15")
	p.wants(p.run(0, "rounds", "--json"), `"pond_level_m":-0.15`)
	if d := p.draft(); d != "" {
		t.Errorf("the draft is still there: %s", d)
	}
}

func TestCtrlCWhileAnsweringKeepsTheAnswers(t *testing.T) {
	p := newPerson(t)
	ctx, stop := context.WithCancel(context.Background())
	p.in = io.MultiReader(strings.NewReader("-0.15\n"), stuck{stop})
	p.runIn(ctx, 1, "record")
	p.wants(p.err.String(), "not saved; what was answered is kept as a draft")
	p.wants(p.draft(), `"pond_level_m":"-0.15"`)
}

func TestADraftIsKeptOrThrownAwayAsTold(t *testing.T) {
	p := newPerson(t)
	p.types("-0.15", ".", "", "n")
	p.run(1, "record")
	p.wants(p.draft(), "-0.15")
	p.types(".", "", "drop")
	p.run(1, "record")
	p.wants(p.err.String(), "not saved; the draft was thrown away")
	if d := p.draft(); d != "" {
		t.Errorf("the draft is still there: %s", d)
	}
}

func TestNothingAnsweredIsNoRound(t *testing.T) {
	p := newPerson(t)
	p.answers("", nil)
	p.run(1, "record", "by=Ro")
	p.wants(p.err.String(), "nothing was read, so nothing was saved")
}

func TestWhatIsNotPlausibleIsAskedAboutAfterTheLastLine(t *testing.T) {
	p := newPerson(t)
	p.answers("", map[string]string{"Voltage": "2411", "Is that what was read?": "n"})
	p.run(1, "record")
	p.wants(p.err.String(), "not saved; what was answered is kept as a draft")
	p.wants(p.draft(), `"volts":"2411"`)
	p.answers("", map[string]string{"Is that what was read?": "y"})
	p.run(0, "record")
	p.wants(p.run(0, "rounds", "--json"), `"volts":2411`, `"confirmed":true`)
}

func TestAskingDrawsNothingTwice(t *testing.T) {
	p := newPerson(t)
	p.answers("", map[string]string{"Voltage": "241"})
	out := p.run(0, "record", "--ascii")
	for _, sign := range []string{"\r", "\x1b", "\b"} {
		if strings.Contains(out, sign) {
			t.Errorf("the lines hold %q", sign)
		}
	}
	for _, r := range out {
		if r > 0x7e {
			t.Errorf("with --ascii the lines hold %q", r)
		}
	}
}

// Every accepted answer is read back as it was understood, with its unit and how it stands.
func TestEachAnswerIsReadBack(t *testing.T) {
	p := newPerson(t)
	p.run(0, "record", "time=2025-06-04 07:30", "by=Ro", "pond_level_m=-0.12", "volts=241", "running=A", "pressure_kpa=134")
	p.answers("", map[string]string{"Pond level": "-0,15", "Screen (": "pa", "Intake pressure": "19 psi", "Running": "=", "Voltage": "2o0", "Frequency": "61", "Note": "calm", "By": "=", "Time": "-2h"})
	out := p.run(0, "record")
	p.wants(out, "    Pond level -0.15 m\n", "    Screen partly\n", "    Intake pressure 19 psi, in: = 131 kPa, expect 133, band 129 to 137\n", "    Running A\n",
		`"2o0" is not taken: expected a number in V`, "    Frequency 61.0 Hz, in: ", "    Note calm\n", "    By Ro\n", "    Time Thu 5 Jun 10:00\n")
}

// Before it is saved the whole round is read back, with who and when; after that only what is out of order is said again.
func TestTheWholeRoundIsReadBackBeforeItIsSaved(t *testing.T) {
	p := newPerson(t)
	p.answers("", map[string]string{"Pond level": "-0.15", "Voltage": "241", "Frequency": "55", "By": "Imke", "Note": "calm"})
	out := p.run(0, "record")
	p.wants(out, "The whole round, Thu 5 Jun 12:00, by Imke:\n  Pond level -0.15 m\n", "  Voltage 241 V, in: ", "  Frequency 55.0 Hz, out !!: ", "  Note calm\n", "Save this round of Thu 5 Jun 12:00 with 5 answers?", "Saved: ", "Frequency")
	_, after, _ := strings.Cut(out, "Saved: ")
	if strings.Contains(after, "Voltage") || strings.Contains(after, "Pond level") {
		t.Errorf("what is in order is said a third time:\n%s", after)
	}
}

// Who walked the round is asked on the way to the end too; a yes that comes too early is no name.
func TestWhoWalkedTheRoundIsAskedBeforeTheEnd(t *testing.T) {
	p := newPerson(t)
	p.types("-0.15", ".", "y", "No", "Imke", "y")
	out := p.run(0, "record")
	p.wants(out, "By (who walked the round): ", "Here a name is expected", "By (who walked", "Here a name is expected", "By (who walked", "By Imke", "The whole round", "with 2 answers?", "Saved")
	p.wants(p.run(0, "rounds", "--json"), `"by":"Imke"`)

	p.types("-0.16", ".", "", "y")
	p.wants(p.run(0, "record"), "The whole round, Thu 5 Jun 12:00, nobody named:", "with 1 answer?")
}

// What was given on the command line is on disk like an answer, so that the sentence about the draft is true.
func TestWhoWalkedTheRoundIsKeptWhenTheTerminalClosesAtOnce(t *testing.T) {
	p := newPerson(t)
	p.answers("EOF", nil)
	p.run(1, "record", "by=Ro")
	p.wants(p.err.String(), "not saved; what was answered is kept as a draft")
	p.wants(p.draft(), `"by":"Ro"`)
}

func TestAnAnswerThatIsTakenAwayIsSaid(t *testing.T) {
	p := newPerson(t)
	p.types("-0.15", "<", "-", "partly", ".", "", "y")
	p.wants(p.run(0, "record"), "Pond level -0.15 m", "Pond level not read", "The whole round", "Screen partly", "Save")
	if out := p.run(0, "rounds", "--json"); strings.Contains(out, "pond_level") {
		t.Errorf("what was taken away was saved: %s", out)
	}
}

// Asked whether it was yesterday, y keeps yesterday's time, t today's, and Enter nothing, for a round and for an event. The clock says
// Thu 5 Jun 2025, 12:00.
func TestEachAnswerAboutYesterdayDoesWhatItSays(t *testing.T) {
	for answer, want := range map[string]string{"y": "2025-06-04 23:00", "yes": "2025-06-04 23:00", "t": "2025-06-05 23:00", "today": "2025-06-05 23:00", "": "", "n": ""} {
		for _, args := range [][]string{{"event", "trip", "unit=A", "time=23:00"}, {"record", "volts=241", "time=23:00"}} {
			p := newPerson(t)
			p.answers("EOF", map[string]string{"y (yes, yesterday), t (today, as it is typed) or n (go back) [n]:": answer})
			if want == "" {
				p.run(1, args...)
				p.wants(p.err.String(), "not saved, since the time has not come")
				continue
			}
			p.wants(p.run(0, args...), "23:00 today has not come yet (it is 12:00). Was it yesterday, Wed 4 Jun 23:00?", " of "+want)
		}
	}
}
