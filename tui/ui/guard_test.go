package ui_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// brittle panics in the place that it is told to.
type brittle struct {
	in      string
	updates int
}

type poke struct{}

func boom() tea.Msg { panic("boom") }

func (b brittle) Init() tea.Cmd {
	if b.in == "Init" {
		panic("boom")
	}
	return func() tea.Msg { return poke{} }
}

func (b brittle) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	if _, ok := msg.(poke); !ok {
		return b, nil
	}
	b.updates++
	switch b.in {
	case "Update":
		panic(errors.New("boom"))
	case "Cmd":
		return b, boom
	case "Batch":
		return b, tea.Batch(func() tea.Msg { return nil }, tea.Batch(boom, nil))
	case "Sequence":
		return b, tea.Sequence(func() tea.Msg { return nil }, boom)
	case "none":
		return b, tea.Quit
	}
	return b, nil
}

func (b brittle) View() string {
	if b.in == "View" && b.updates > 0 {
		panic("boom")
	}
	return "frame"
}

// run runs a model to its end on a buffer, as on a terminal without input, and fails the test if it does not end.
func run(t *testing.T, m tea.Model) (out string, err error) {
	t.Helper()
	var buf bytes.Buffer
	p := tea.NewProgram(m, tea.WithInput(nil), tea.WithOutput(&buf), tea.WithoutSignalHandler())
	limit := time.AfterFunc(20*time.Second, p.Kill)
	defer limit.Stop()
	_, err = p.Run()
	return buf.String(), err
}

func TestNoPanicReachesTheScreen(t *testing.T) {
	for in, want := range map[string]string{"Init": "Init", "Update": "Update", "View": "View", "Cmd": "Cmd", "Batch": "Cmd", "Sequence": "Cmd"} {
		t.Run(in, func(t *testing.T) {
			var crashes []ui.Crash
			g := ui.NewGuard(brittle{in: in}, func(c ui.Crash) string {
				crashes = append(crashes, c)
				return "Headpond had to stop. Your draft is kept."
			})
			out, err := run(t, g)
			if err != nil {
				t.Errorf("the program ended with %v, want in order", err)
			}
			if len(crashes) != 1 || crashes[0].In != want {
				t.Fatalf("saved %d times (%+v), want once, in %s", len(crashes), crashes, want)
			}
			if s := crashes[0].String(); !strings.Contains(s, "boom") || !strings.Contains(s, "guard_test.go") {
				t.Errorf("the file would not say what happened and where:\n%s", s)
			}
			if got := g.Sentence(); got != "Headpond had to stop. Your draft is kept." {
				t.Errorf("sentence %q", got)
			}
			for _, trace := range []string{"goroutine", "guard_test.go", "panic", "boom"} {
				if strings.Contains(out, trace) {
					t.Errorf("%q is on the screen:\n%s", trace, out)
				}
			}
		})
	}
}

func TestGuardLeavesASoundProgramAlone(t *testing.T) {
	g := ui.NewGuard(brittle{in: "none"}, func(ui.Crash) string { t.Error("saved without a crash"); return "" })
	out, err := run(t, g)
	if err != nil || g.Sentence() != "" || !strings.Contains(out, "frame") {
		t.Errorf("error %v, sentence %q, output %q", err, g.Sentence(), out)
	}
}

func TestASaveThatPanicsStillEndsWithASentence(t *testing.T) {
	for name, save := range map[string]func(ui.Crash) string{
		"panics": func(ui.Crash) string { panic("again") }, "says nothing": func(ui.Crash) string { return "" }, "is missing": nil,
	} {
		t.Run(name, func(t *testing.T) {
			g := ui.NewGuard(brittle{in: "Update"}, save)
			out, err := run(t, g)
			if err != nil || g.Sentence() == "" || strings.Contains(out, "goroutine") {
				t.Errorf("error %v, sentence %q, output %q", err, g.Sentence(), out)
			}
		})
	}
}

func TestAfterACrashNothingMoreIsDone(t *testing.T) {
	saved := 0
	g := ui.NewGuard(brittle{in: "Update"}, func(ui.Crash) string { saved++; return "Stopped." })
	next, cmd := g.Update(poke{})
	next, _ = next.Update(poke{})
	if saved != 1 || cmd == nil || next.View() != "Stopped." {
		t.Errorf("saved %d times, command %v, view %q", saved, cmd != nil, next.View())
	}
}

func TestCommonAndNotices(t *testing.T) {
	zone := time.FixedZone("AST", -4*3600)
	now := time.Date(2026, 8, 14, 7, 30, 0, 0, zone)
	c := uitest.Common(uitest.Look{ASCII: true}, 80, 24, now)
	if !c.ASCII() || !c.Now().Equal(now) || c.Local(now.UTC()).Hour() != 7 {
		t.Errorf("ASCII %v, now %v, local hour %d", c.ASCII(), c.Now(), c.Local(now.UTC()).Hour())
	}
	if s := c.Sized(-1, 7); s.Width != 0 || s.Height != 7 || c.Width != 80 {
		t.Errorf("sized %d by %d, before %d", s.Width, s.Height, c.Width)
	}
	if n := ui.Say(ui.Near, "The clock went back.")(); n != (ui.Notice{Text: "The clock went back.", State: ui.Near}) {
		t.Errorf("notice %#v", n)
	}
}
