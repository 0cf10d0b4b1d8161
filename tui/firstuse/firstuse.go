// Package firstuse is what Headpond shows while there is no book: load a plant file, write a new one to fill in, or look
// round the demo. It makes no book itself; it tells the program what was chosen.
package firstuse

import (
	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// Choice is what the person wants.
type Choice int

// The choices. Leave is also what holds when the window is closed.
const (
	Leave Choice = iota
	Load         // make a book with the plant of Result
	Demo         // open the demo
)

// Result is what was chosen.
type Result struct {
	Choice Choice
	Path   string       // of the plant file, as it was typed
	Text   []byte       // its content, as it was read and checked
	Plant  *plant.Plant // Text parsed
}

// Options are what the screen needs from outside. It touches no file but through them.
type Options struct {
	Common ui.Common
	Book   string // where the book will be made, to be told
	// ReadFile reads a file by its path as typed. An error is told as it is, after the path.
	ReadFile func(path string) ([]byte, error)
	// WriteNew writes a file that is not there yet; where one is, the error is fs.ErrExist and the file is untouched.
	WriteNew func(path string, data []byte) error
	// InFolder says in which folder a file of a bare name stands, ", in the folder /home/ro", "" where the path says it; may be nil.
	InFolder func(path string) string
}

// step is what is on show.
type step int

const (
	choosing step = iota
	loadPath      // where the plant file is, is typed
	mending       // the file has problems
	ready         // the file is sound
	newPath       // where the starting file goes, is typed
	written       // the starting file is there
)

// suggested is the name that is offered for a plant file.
const suggested = "plant.toml"

// screen is everything but the frame.
type screen struct {
	o        Options
	step     step
	at       int // the chosen line of the menu
	form     form.Form
	path     string // that was read or written
	text     []byte
	plant    *plant.Plant
	problems *plant.Problems
	failed   string // why a file could not be read or written
	working  bool
	seq      int // an answer to an older question is dropped
	scroll   ui.Scroll
	w, h     int
}

// chosen ends the screen.
type chosen struct{ Result }

// read answers the reading of a file.
type read struct {
	seq      int
	path     string
	text     []byte
	plant    *plant.Plant
	problems *plant.Problems
	err      error
}

// wrote answers the writing of the starting file.
type wrote struct {
	seq  int
	path string
	err  error
}

func newScreen(o Options) screen { return screen{o: o} }

// Init does nothing.
func (s screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s screen) Title() string { return "First use" }

// Capturing reports whether a path is typed.
func (s screen) Capturing() bool { return s.typing() }

func (s screen) typing() bool { return s.step == loadPath || s.step == newPath }

// Takes reports whether a key is text for the path.
func (s screen) Takes(key tea.KeyMsg) bool { return s.typing() && s.form.Takes(key) }

// SetSize sets the screen's room.
func (s screen) SetSize(w, h int) ui.Screen {
	s.w, s.h = w, h
	s.form = s.form.SetSize(w, 1)
	return s
}

// Update takes keys, and the answers of the disk.
func (s screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case read:
		return s.read(msg), nil
	case wrote:
		return s.wrote(msg), nil
	case tea.KeyMsg, ui.Run:
		return s.key(msg)
	}
	return s, nil
}

// key treats a key of the step on show.
func (s screen) key(msg tea.Msg) (ui.Screen, tea.Cmd) {
	key, isKey := msg.(tea.KeyMsg)
	action, cmd := ui.Act(msg, s.Bindings(), isKey && s.Takes(key))
	switch action {
	case "first.choose":
		return s.choose(s.at)
	case "first.load":
		return s.choose(0)
	case "first.new":
		return s.choose(1)
	case "first.demo":
		return s.choose(2)
	case "first.back":
		return s.to(choosing), nil
	case "first.path":
		return s.act()
	case "first.again":
		return s.load(s.path)
	case "first.other":
		return s.ask(loadPath, s.path), nil
	case "first.filled":
		return s.load(s.path)
	case "first.make":
		r := Result{Choice: Load, Path: s.path, Text: s.text, Plant: s.plant}
		return s, func() tea.Msg { return chosen{r} }
	case "first.move":
		return s.move(key), nil
	}
	if isKey && cmd == nil && s.typing() {
		var e form.Event
		s.form, e = s.form.Update(key)
		s.failed = ""
		if f, ok := s.form.Focused(); ok && e.Kind == form.Refused {
			s.failed = f.Remark(ui.Theme{})
		}
	}
	return s, cmd
}

// move goes through the menu, or scrolls.
func (s screen) move(key tea.KeyMsg) screen {
	if s.step != choosing {
		s.scroll, _ = s.scroll.Key(key, len(s.lines()), s.h)
		return s
	}
	switch key.Type {
	case tea.KeyUp:
		s.at = max(0, s.at-1)
	case tea.KeyDown:
		s.at = min(len(menu())-1, s.at+1)
	}
	return s
}

// choose goes where a line of the menu leads.
func (s screen) choose(at int) (ui.Screen, tea.Cmd) {
	s.at = at
	switch at {
	case 0:
		return s.ask(loadPath, suggested), nil
	case 1:
		return s.ask(newPath, suggested), nil
	}
	return s, func() tea.Msg { return chosen{Result{Choice: Demo}} }
}

// to goes to a step from its top. An answer that is still under way no longer matters.
func (s screen) to(step step) screen {
	s.step, s.scroll, s.failed, s.working = step, ui.Scroll{}, "", false
	s.seq++
	return s
}

// ask asks for a path.
func (s screen) ask(step step, offered string) screen {
	s = s.to(step)
	s.form, _ = form.New(form.Spec{Key: "path", Label: "File", Kind: form.Text, Limit: 1000}).SetValues(map[string]string{"path": offered})
	s.form = s.form.Focus("path").SetSize(s.w, 1)
	return s
}

// act reads or writes the file whose path was typed.
func (s screen) act() (ui.Screen, tea.Cmd) {
	path := s.form.Values()["path"]
	if path == "" {
		s.failed = "Write the name of a file"
		return s, nil
	}
	if s.step == newPath {
		return s.write(path)
	}
	return s.load(path)
}

// load reads and checks a plant file.
func (s screen) load(path string) (ui.Screen, tea.Cmd) {
	s.seq++
	s.working, s.failed = true, ""
	seq, readFile := s.seq, s.o.ReadFile
	return s, func() tea.Msg {
		m := read{seq: seq, path: path}
		if m.text, m.err = readFile(path); m.err != nil {
			return m
		}
		p, err := plant.Parse(path, m.text)
		m.plant = p
		if err != nil && !asProblems(err, &m.problems) {
			m.err = err
		}
		return m
	}
}

// write writes the starting file.
func (s screen) write(path string) (ui.Screen, tea.Cmd) {
	s.seq++
	s.working, s.failed = true, ""
	seq, writeNew := s.seq, s.o.WriteNew
	return s, func() tea.Msg { return wrote{seq: seq, path: path, err: writeNew(path, plant.Template())} }
}
