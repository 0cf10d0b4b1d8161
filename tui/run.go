package tui

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// framesPerSecond is low because nothing moves by itself and the line may be slow.
const framesPerSecond = 30

// ErrCrashed is what Run returns after a fault of the program's own: its sentence was composed for people already.
type ErrCrashed struct{ Sentence string }

// Error is the sentence.
func (e *ErrCrashed) Error() string { return e.Sentence }

// Run shows the screens until the person leaves, the window is closed, or a signal comes. However it ends, the newest state
// of every draft is on disk. saveTrace puts the trace of a fault into a file and returns where; it may be nil.
func Run(ctx context.Context, o Options, in io.Reader, out io.Writer, saveTrace func(ui.Crash) string) error {
	app := New(ctx, o)
	return run(ctx, &latest{model: app, begin: func() tea.Model { return app.Loaded(o.Desk.Load(ctx, 1)) }}, in, out, saveTrace)
}

// run drives any root model of this package.
func run(ctx context.Context, last *latest, in io.Reader, out io.Writer, saveTrace func(ui.Crash) string) error {
	guard := ui.NewGuard(last, func(c ui.Crash) string {
		err := last.flush()
		sentence := "Headpond had to stop because of a fault of its own. What was saved is safe"
		if err == nil {
			sentence += ", and so is what you were typing"
		}
		sentence += "."
		if saveTrace != nil {
			if where := saveTrace(c); where != "" {
				sentence += " Please send the file " + where + " to whoever looks after Headpond for you."
			}
		}
		return sentence
	})
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	p := tea.NewProgram(guard, tea.WithContext(ctx), tea.WithInput(in), tea.WithOutput(out), tea.WithAltScreen(),
		tea.WithFPS(framesPerSecond), tea.WithoutSignalHandler())
	_, err := p.Run()
	flushErr := last.flush()
	switch {
	case guard.Sentence() != "":
		return &ErrCrashed{guard.Sentence()}
	case flushErr != nil:
		return fmt.Errorf("the draft could not be kept: %w", flushErr)
	case err != nil && !errors.Is(err, tea.ErrProgramKilled) && !errors.Is(err, tea.ErrInterrupted) && ctx.Err() == nil:
		return fmt.Errorf("the terminal could not be used: %w", err)
	}
	return nil
}

// latest remembers the newest model, so that its drafts can be put on disk when the loop ends without asking it.
type latest struct {
	model tea.Model
	begin func() tea.Model // makes the model of the first frame; nil: the model is
}

// Init reads the book for the first frame. The library asks for it when the terminal is set up and its drawing has begun, which
// draws a thirtieth of a second later at the soonest: so long the reading may take without a person waiting for it.
func (l *latest) Init() tea.Cmd {
	if l.begin != nil {
		l.model = l.begin()
	}
	return l.model.Init()
}

func (l *latest) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	m, cmd := l.model.Update(msg)
	l.model = m
	return l, cmd
}

func (l *latest) View() string { return l.model.View() }

func (l *latest) flush() error {
	if f, ok := l.model.(interface{ Flush() error }); ok {
		return f.Flush()
	}
	return nil
}
