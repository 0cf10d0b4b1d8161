package tui

import (
	"bytes"
	"context"
	"errors"
	"reflect"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// sequence takes bubbletea's own message of tea.Sequence apart, which has no exported type.
func sequence(msg tea.Msg) ([]tea.Cmd, bool) {
	v := reflect.ValueOf(msg)
	if !v.IsValid() || v.Kind() != reflect.Slice || v.Type().Elem() != reflect.TypeFor[tea.Cmd]() {
		return nil, false
	}
	var cmds []tea.Cmd
	for i := range v.Len() {
		cmd, _ := v.Index(i).Interface().(tea.Cmd)
		cmds = append(cmds, cmd)
	}
	return cmds, true
}

// breaking is a program that panics where it is told to.
type breaking struct {
	where   string
	flushed *int
}

func (b breaking) Init() tea.Cmd {
	if b.where == "Init" {
		panic("boom")
	}
	return func() tea.Msg {
		if b.where == "Cmd" {
			panic("boom")
		}
		return "go"
	}
}

func (b breaking) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	if b.where == "Update" && msg == "go" {
		panic("boom")
	}
	return b, nil
}

func (b breaking) View() string {
	if b.where == "View" {
		panic("boom")
	}
	return ""
}

func (b breaking) Flush() error { *b.flushed++; return nil }

// A fault in the reading of the book before the first frame ends like any other: there is a sentence, and no trace on the terminal.
func TestAFaultOfTheFirstReadingEndsInOneSentence(t *testing.T) {
	flushed := 0
	var out bytes.Buffer
	err := run(context.Background(), &latest{model: breaking{"", &flushed}, begin: func() tea.Model { panic("boom") }}, strings.NewReader(""), &out, nil)
	var crashed *ErrCrashed
	if !errors.As(err, &crashed) || flushed == 0 || strings.Contains(out.String(), "boom") {
		t.Errorf("error %v, flushed %d times, on the terminal %q", err, flushed, out.String())
	}
}

// Wherever it breaks, the draft is flushed, the trace goes into a file, and the person reads one sentence and no trace.
func TestAFaultEndsInOneSentence(t *testing.T) {
	for _, where := range []string{"Init", "Update", "View", "Cmd"} {
		t.Run(where, func(t *testing.T) {
			flushed := 0
			var out bytes.Buffer
			var trace ui.Crash
			err := run(context.Background(), &latest{model: breaking{where, &flushed}}, strings.NewReader(""), &out, func(c ui.Crash) string { trace = c; return "crash.txt" })
			var crashed *ErrCrashed
			if !errors.As(err, &crashed) || !strings.Contains(err.Error(), "crash.txt") || !strings.Contains(err.Error(), "what you were typing") {
				t.Fatalf("error %v", err)
			}
			if flushed == 0 || trace.In != where || len(trace.Stack) == 0 {
				t.Errorf("flushed %d times, trace in %q of %d bytes", flushed, trace.In, len(trace.Stack))
			}
			if s := out.String() + err.Error(); strings.Contains(s, "goroutine") || strings.Contains(s, "boom") {
				t.Errorf("the trace reached the person: %q", s)
			}
		})
	}
}
