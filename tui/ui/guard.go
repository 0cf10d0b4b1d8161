package ui

import (
	"fmt"
	"reflect"
	"runtime/debug"

	tea "github.com/charmbracelet/bubbletea"
)

// Crash is what a panic left: what was panicked with, where the goroutine stood, and in which part of the loop.
type Crash struct {
	Value any
	Stack []byte
	In    string // "Init", "Update", "View" or "Cmd"
}

// Guard runs a model so that no panic reaches the terminal: not in Init, Update, View or any command, those within Batch and
// Sequence included. The first panic calls Save with what happened, to put the draft and the trace into files; Save returns
// the one sentence for the person. The program then ends in order, the terminal restored, and Sentence gives that sentence to
// whoever ran it. Goroutines that a command starts by itself are its own affair.
type Guard struct {
	Model tea.Model
	Save  func(Crash) string

	state *guardState // shared by the copies that bubbletea makes, so that the caller's copy knows as well
}

// guardState is touched by the program's loop only; commands report by message.
type guardState struct {
	sentence string
	frame    *string // what the last Update drew; nil before the first
}

// crashed brings a command's panic into the loop.
type crashed Crash

// NewGuard wraps a model.
func NewGuard(m tea.Model, save func(Crash) string) Guard {
	return Guard{Model: m, Save: save, state: &guardState{}}
}

// Sentence returns what to tell the person after the program has ended; "" where nothing went wrong.
func (g Guard) Sentence() string { return g.state.sentence }

// Init starts the model.
func (g Guard) Init() (cmd tea.Cmd) {
	defer func() {
		if v := recover(); v != nil {
			cmd = g.fail(Crash{Value: v, Stack: debug.Stack(), In: "Init"})
		}
	}()
	return guardCmd(g.Model.Init())
}

// Update passes a message on. After a crash it does nothing more.
func (g Guard) Update(msg tea.Msg) (next tea.Model, cmd tea.Cmd) {
	if g.state.sentence != "" {
		return g, tea.Quit
	}
	if c, ok := msg.(crashed); ok {
		return g, g.fail(Crash(c))
	}
	defer func() {
		if v := recover(); v != nil {
			next, cmd = g, g.fail(Crash{Value: v, Stack: debug.Stack(), In: "Update"})
		}
	}()
	m, c := g.Model.Update(msg)
	g.Model = m
	frame, quit := g.draw()
	g.state.frame = &frame
	if quit != nil {
		return g, quit
	}
	return g, guardCmd(c)
}

// View gives the frame that Update drew. Update draws it because only Update can end the program when drawing fails; bubbletea
// asks for one frame a message, so nothing is drawn twice.
func (g Guard) View() string {
	switch {
	case g.state.sentence != "":
		return g.state.sentence
	case g.state.frame != nil:
		return *g.state.frame
	}
	frame, _ := g.draw()
	return frame
}

// draw draws the model; after a panic it gives the sentence and the command that ends the program.
func (g Guard) draw() (frame string, quit tea.Cmd) {
	defer func() {
		if v := recover(); v != nil {
			quit = g.fail(Crash{Value: v, Stack: debug.Stack(), In: "View"})
			frame = g.state.sentence
		}
	}()
	return g.Model.View(), nil
}

// fail saves once and ends the program. Save itself may panic, since whatever broke may be what it saves.
func (g Guard) fail(c Crash) tea.Cmd {
	if g.state.sentence == "" {
		g.state.sentence = "Headpond had to stop because of a fault of its own."
		func() {
			defer func() { _ = recover() }()
			if s := g.Save(c); s != "" {
				g.state.sentence = s
			}
		}()
	}
	return tea.Quit
}

// guardCmd makes a command report a panic as a message.
func guardCmd(cmd tea.Cmd) tea.Cmd {
	if cmd == nil {
		return nil
	}
	return func() (msg tea.Msg) {
		defer func() {
			if v := recover(); v != nil {
				msg = crashed{Value: v, Stack: debug.Stack(), In: "Cmd"}
			}
		}()
		return guardInner(cmd())
	}
}

// guardInner guards the commands that Batch and Sequence hold. Sequence's type is bubbletea's own, hence the reflection: both
// are slices of commands.
func guardInner(msg tea.Msg) tea.Msg {
	v := reflect.ValueOf(msg)
	if !v.IsValid() || v.Kind() != reflect.Slice || v.Type().Elem() != reflect.TypeFor[tea.Cmd]() {
		return msg
	}
	guarded := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
	for i := range v.Len() {
		cmd, _ := v.Index(i).Interface().(tea.Cmd)
		guarded.Index(i).Set(reflect.ValueOf(guardCmd(cmd)))
	}
	return guarded.Interface()
}

// String describes the crash for a file: the panic's value, its place and the trace.
func (c Crash) String() string { return fmt.Sprintf("panic in %s: %v\n\n%s", c.In, c.Value, c.Stack) }
