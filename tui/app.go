// Package tui shows the plant and takes what the caretaker writes. It is one program of several screens: the App owns the
// window, asks the desk for what the book says, and hands each message to the screen that it concerns.
package tui

import (
	"context"
	"fmt"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
)

// pollEvery is how often the book's file is looked at for what another process wrote. A new round shows within a second.
const pollEvery = 500 * time.Millisecond

// Options are what the screens are given.
type Options struct {
	Desk   desk.Desk
	Common ui.Common
	Title  string // beside the plant's name: "demo", "read only"; may be empty
	Start  string // the screen to begin with; "" is Now
}

// App is the root model.
type App struct {
	desk     desk.Desk
	common   ui.Common
	title    string
	plant    string
	tabs     []tab
	at       int
	help     *ui.Help
	notice   ui.Notice
	wrote    bool     // the last key was text
	hinted   []string // the screens on which it was said that a digit is text there
	version  int
	loading  bool
	again    bool // the book changed while it was being loaded
	stamp    logbook.Stamp
	mark     uint64
	next     time.Time // when the first entry that is dated in the future comes into force; zero: there is none
	ending   bool
	uncopied string  // why the last copy could not be kept: it is said once
	away     string  // that the stick for copies is not there: it is said once, until it was back
	first    tea.Cmd // what the load before the first frame asked for
	ctx      context.Context
}

// tab is one screen with its digit and the name by which others ask for it.
type tab struct {
	digit  string
	name   string
	screen ui.Screen
}

// arrival is what a screen may implement to be told why it was asked for.
type arrival interface {
	Arrive(arg string) (ui.Screen, tea.Cmd)
}

// keeping is implemented by screens with a draft: Flush puts the newest state on disk before the program ends.
type keeping interface {
	Flush(ctx context.Context) error
}

// polled says what the book's file looks like now, and how many entries it holds. A kept draft changes the first alone.
type polled struct {
	stamp logbook.Stamp
	mark  uint64
	err   error
}

// New makes the program on a book that holds a plant.
func New(ctx context.Context, o Options) App {
	a := App{desk: o.Desk, common: o.Common, title: o.Title, tabs: screens(o.Common, o.Desk), ctx: ctx}
	for i, t := range a.tabs {
		if t.name == o.Start {
			a.at = i
		}
	}
	return a.sized(o.Common.Width, o.Common.Height)
}

// Loaded gives the program what the book says before the first frame, so that it is whole at once.
func (a App) Loaded(l desk.Loaded) App {
	l.Version = 1
	m, cmd := a.take(l)
	m.first = cmd
	return m
}

// Init starts every screen, the looking at the book, and the forecast.
func (a App) Init() tea.Cmd {
	cmds := []tea.Cmd{a.poll(), a.tick(), a.desk.CopyDue(a.ctx)}
	for _, t := range a.tabs {
		cmds = append(cmds, t.screen.Init())
	}
	if a.version == 0 {
		cmds = append(cmds, a.desk.LoadCmd(a.ctx, 1))
	}
	return tea.Batch(append(cmds, a.first)...)
}

// tickMsg makes ages move on.
type tickMsg time.Time

func (a App) tick() tea.Cmd {
	return tea.Tick(30*time.Second, func(t time.Time) tea.Msg { return tickMsg(t) })
}

func (a App) poll() tea.Cmd {
	book, seen, mark, ctx := a.desk.Book, a.stamp, a.mark, a.ctx
	return tea.Tick(pollEvery, func(time.Time) tea.Msg {
		stamp, err := book.Stamp()
		if err != nil || stamp == seen {
			return polled{stamp, mark, err}
		}
		mark, err := book.Mark(ctx)
		return polled{stamp, mark, err}
	})
}

// Update dispatches: the window and the program's own keys here, a key to the screen on show, everything else to all.
func (a App) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		return a.sized(msg.Width, msg.Height), nil
	case tea.KeyMsg:
		return a.keys(msg)
	case ui.Run:
		return a.act(msg)
	case ui.CloseHelp:
		a.help = nil
		return a, nil
	case ui.Notice:
		a.notice = msg
		return a, nil
	case tickMsg:
		if !a.next.IsZero() && !a.common.Now().Before(a.next) { // an entry that was dated in the future has come into force
			a.next = time.Time{}
			m, cmd := a.reload()
			return m, tea.Batch(cmd, m.tick())
		}
		return a, a.tick()
	case polled:
		return a.polled(msg)
	case desk.GoTo:
		return a.goTo(msg.Screen, msg.Arg)
	case desk.Loaded:
		return a.take(msg)
	case desk.Water:
		if msg.Version != a.version {
			return a, nil
		}
	case desk.Saved:
		m, cmd := a.reload()
		all, more := m.broadcast(msg)
		return all, tea.Batch(cmd, more, ui.Say(ui.Good, savedSentence(msg)), a.desk.CopyDue(a.ctx))
	case desk.Copied:
		return a.copied(msg)
	case desk.Failed:
		m, cmd := a.broadcast(msg)
		return m, tea.Batch(cmd, ui.Say(ui.Out, failedSentence(msg)))
	}
	return a.broadcast(msg)
}

// copied tells every screen how well the book is copied. A failure is said when it is new, and so is a stick that is not there.
func (a App) copied(msg desk.Copied) (tea.Model, tea.Cmd) {
	why := ""
	if msg.Err != nil {
		why = "No copy of the book was kept: " + message(msg.Err)
	}
	fresh := why != "" && why != a.uncopied
	a.uncopied = why
	gone, away := false, a.away
	if msg.Status != nil {
		away = msg.Status.Away()
	}
	if !fresh { // one thing at a time: a failure comes first
		gone, a.away = away != "" && a.away == "", away
	}
	m, cmd := a.broadcast(msg)
	switch {
	case fresh, why != "" && msg.Asked:
		cmd = tea.Batch(cmd, ui.Say(ui.Near, why))
	case gone && !msg.Asked:
		cmd = tea.Batch(cmd, ui.Say(ui.Near, away))
	case msg.Asked && msg.Status != nil && away != "":
		cmd = tea.Batch(cmd, ui.Say(ui.Near, "A copy of the book was made, but none in "+msg.Status.AwayFrom()+", which is not there now"))
	case msg.Asked:
		cmd = tea.Batch(cmd, ui.Say(ui.Good, "A copy of the book was made"))
	}
	return m, cmd
}

// take hands a load to every screen and starts the forecast for it.
func (a App) take(l desk.Loaded) (App, tea.Cmd) {
	if l.Version < a.version {
		return a, nil
	}
	a.version, a.loading = l.Version, false
	if l.Err == nil {
		a.mark, a.next = l.Mark, time.Time{}
		if later := l.History.Later; later != nil {
			a.next = later.Next()
		}
	}
	if l.Err == nil && l.History.Plant != nil {
		a.plant = l.History.Plant.Site.Name
		a.common.Units = quantity.System(l.History.Plant.Site.Units)
		a.common.Location = l.History.Plant.Location
	}
	m, cmd := a.broadcast(l)
	cmds := []tea.Cmd{cmd}
	if l.Err != nil {
		cmds = append(cmds, ui.Say(ui.Out, message(l.Err)))
	} else {
		cmds = append(cmds, a.desk.WaterOf(a.ctx, a.version, l.History))
	}
	if a.again || l.Short {
		m.again = false
		var more tea.Cmd
		m, more = m.reload()
		cmds = append(cmds, more)
	}
	return m, tea.Batch(cmds...)
}

// reload reads the book again, once at a time.
func (a App) reload() (App, tea.Cmd) {
	if a.loading {
		a.again = true
		return a, nil
	}
	a.loading = true
	return a, a.desk.LoadCmd(a.ctx, a.version+1)
}

func (a App) polled(p polled) (tea.Model, tea.Cmd) {
	if p.err != nil {
		return a, tea.Batch(a.poll(), ui.Say(ui.Out, message(p.err)))
	}
	same := p.mark == a.mark
	a.stamp, a.mark = p.stamp, p.mark
	if same {
		return a, a.poll()
	}
	m, cmd := a.reload()
	return m, tea.Batch(cmd, m.poll())
}

// broadcast gives a message to every screen.
func (a App) broadcast(msg tea.Msg) (App, tea.Cmd) {
	a.tabs = append([]tab(nil), a.tabs...)
	cmds := make([]tea.Cmd, 0, len(a.tabs))
	for i := range a.tabs {
		var cmd tea.Cmd
		a.tabs[i].screen, cmd = a.tabs[i].screen.Update(msg)
		cmds = append(cmds, cmd)
	}
	return a, tea.Batch(cmds...)
}

// toScreen gives a message to the screen on show alone.
func (a App) toScreen(msg tea.Msg) (App, tea.Cmd) {
	a.tabs = append([]tab(nil), a.tabs...)
	var cmd tea.Cmd
	a.tabs[a.at].screen, cmd = a.tabs[a.at].screen.Update(msg)
	return a, cmd
}

// goTo shows another screen.
func (a App) goTo(name, arg string) (tea.Model, tea.Cmd) {
	for i, t := range a.tabs {
		if t.name != name {
			continue
		}
		a.at, a.help = i, nil
		if s, ok := t.screen.(arrival); ok {
			a.tabs = append([]tab(nil), a.tabs...)
			var cmd tea.Cmd
			a.tabs[i].screen, cmd = s.Arrive(arg)
			return a, cmd
		}
		return a, nil
	}
	return a, ui.Say(ui.Unjudged, fmt.Sprintf("There is no %s screen yet", name))
}
