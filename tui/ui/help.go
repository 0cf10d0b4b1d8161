package ui

import (
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui/text"
)

// HelpGroup is a heading with the keys under it: a screen's own, then those of the whole program.
type HelpGroup struct {
	Title    string
	Bindings []Binding
}

// CloseHelp tells that the help page is done with.
type CloseHelp struct{}

// Help is the page of all keys. Typing finds actions by key or word, Enter does the chosen one, Esc leaves. It is a Screen.
type Help struct {
	theme  Theme
	groups []HelpGroup
	words  [][]string // of the groups' bindings: what the filter is looked for in
	filter string
	at     int // the chosen action among those found
	scroll Scroll
	w, h   int
}

// longestFilter is more than any action has words for; a pasted page is cut.
const longestFilter = 60

// NewHelp makes the page.
func NewHelp(t Theme, groups ...HelpGroup) Help {
	h := Help{theme: t, groups: groups, words: make([][]string, len(groups))}
	for i, g := range groups {
		for _, b := range g.Bindings {
			h.words[i] = append(h.words[i], strings.ToLower(b.Short+" "+b.Long+" "+b.KeyNames()))
		}
	}
	return h
}

// Init does nothing.
func (h Help) Init() tea.Cmd { return nil }

// Title names the page.
func (h Help) Title() string { return "Keys" }

// Capturing is true: letters go into the filter.
func (h Help) Capturing() bool { return true }

// Bindings lists the page's own keys.
func (h Help) Bindings() []Binding {
	none := ""
	if len(h.found()) == 0 {
		none = "nothing is found"
	}
	return []Binding{
		{Action: "help.do", Keys: []string{"enter"}, Short: "do it", Long: "Do the chosen action", Off: none},
		{Action: "help.leave", Keys: []string{"esc"}, Short: "back", Long: "Empty the filter, then go back"},
		{Action: "help.up", Keys: []string{"up"}, Short: "up", Long: "Choose the action above", Hidden: true},
		{Action: "help.down", Keys: []string{"down"}, Short: "down", Long: "Choose the action below", Hidden: true},
	}
}

// SetSize sets the page's room.
func (h Help) SetSize(w, ht int) Screen { h.w, h.h = w, ht; return h.reveal() }

// Update filters, chooses and sends Run or CloseHelp.
func (h Help) Update(msg tea.Msg) (Screen, tea.Cmd) {
	key, ok := msg.(tea.KeyMsg)
	if !ok {
		return h, nil
	}
	if Printable(key) {
		filter := []rune(h.filter + text.Show(string(key.Runes)))
		h.filter, h.at = string(filter[:min(len(filter), longestFilter)]), 0
		return h.reveal(), nil
	}
	if key.Type == tea.KeyBackspace {
		if r := []rune(h.filter); len(r) > 0 {
			h.filter, h.at = string(r[:len(r)-1]), 0
		}
		return h.reveal(), nil
	}
	return h.command(key)
}

// command handles the keys that are no text.
func (h Help) command(key tea.KeyMsg) (Screen, tea.Cmd) {
	action, cmd := Act(key, h.Bindings(), false)
	switch action {
	case "help.do":
		return h, h.run()
	case "help.leave":
		if h.filter == "" {
			return h, func() tea.Msg { return CloseHelp{} }
		}
		h.filter, h.at = "", 0
	case "help.up":
		h.at--
	case "help.down":
		h.at++
	default:
		if cmd != nil {
			return h, cmd
		}
		switch key.Type {
		case tea.KeyPgUp:
			h.at -= max(1, h.h/3)
		case tea.KeyPgDown:
			h.at += max(1, h.h/3)
		default:
			return h, nil
		}
	}
	return h.reveal(), nil
}

// run closes the page and does the chosen action, in that order, or says why it is off.
func (h Help) run() tea.Cmd {
	found := h.found()
	if h.at >= len(found) {
		return nil
	}
	b := found[h.at]
	if b.Off != "" {
		return Say(Unjudged, capital(b.Short)+" is off: "+b.Off)
	}
	return tea.Sequence(
		func() tea.Msg { return CloseHelp{} },
		func() tea.Msg { return Run{Action: b.Action} },
	)
}

// found returns the actions that the filter leaves, in the page's order.
func (h Help) found() []Binding {
	var found []Binding
	wanted := h.wanted()
	for i, g := range h.groups {
		for j, b := range g.Bindings {
			if holds(h.words[i][j], wanted) {
				found = append(found, b)
			}
		}
	}
	return found
}

// wanted are the words of the filter.
func (h Help) wanted() []string { return strings.Fields(strings.ToLower(h.filter)) }

// holds reports whether each of the wanted words stands in a binding's words, or is one of its keys.
func holds(words string, wanted []string) bool {
	for _, w := range wanted {
		if !strings.Contains(words, w) {
			return false
		}
	}
	return true
}

// reveal keeps the choice among what is found and in sight.
func (h Help) reveal() Help {
	h.at = max(0, min(h.at, len(h.found())-1))
	lines, first, last := h.lines()
	h.scroll = h.scroll.Reveal(first, last, len(lines), h.body())
	return h
}

// body is the height left under the filter's line.
func (h Help) body() int { return max(0, h.h-2) }

// View draws the filter and the keys that it leaves.
func (h Help) View() string {
	lines, _, _ := h.lines()
	head := "Find: " + h.theme.Input.Render(h.filter) + caret(h.theme)
	if len(lines) == 0 {
		lines = []string{"No key or action has these words."}
	}
	return Clamp(h.theme, head+"\n\n"+h.scroll.View(h.theme, lines, h.w, h.body()), h.w, h.h)
}

// caret draws the typing place at the end of a text.
func caret(t Theme) string {
	if t.Caret.Plain() {
		return "_"
	}
	return t.Caret.Render(" ")
}

// lines lays the page out and tells which lines hold the chosen action.
func (h Help) lines() (lines []string, first, last int) {
	t := h.theme
	keys, short := h.columns()
	n, wanted := 0, h.wanted()
	for i, g := range h.groups {
		begun := false
		for j, b := range g.Bindings {
			if !holds(h.words[i][j], wanted) {
				continue
			}
			if !begun {
				if len(lines) > 0 {
					lines = append(lines, "")
				}
				lines, begun = append(lines, t.Heading.Render(g.Title)), true
			}
			entry := h.entry(b, n == h.at, keys, short)
			if n == h.at {
				first, last = len(lines), len(lines)+len(entry)-1
			}
			lines, n = append(lines, entry...), n+1
		}
	}
	if first == 1 {
		first = 0 // the first action brings its heading with it
	}
	return lines, first, last
}

// columns returns the widths of the keys' and the short words' columns.
func (h Help) columns() (keys, short int) {
	for _, g := range h.groups {
		for _, b := range g.Bindings {
			keys, short = max(keys, text.Width(b.KeyNames())), max(short, text.Width(b.Short))
		}
	}
	return min(keys, 20), min(short, 20)
}

// entry draws one action, its long text wrapped beside its keys, or under them in a narrow window.
func (h Help) entry(b Binding, chosen bool, keys, short int) []string {
	t := h.theme
	long := b.Long
	if b.Off != "" {
		long += " (off: " + b.Off + ")"
	}
	sign, look := " ", t.Key
	if chosen {
		sign, look = t.Glyphs.Select, t.Selected
	}
	head := sign + " " + look.Render(t.Fit(b.KeyNames(), keys)) + "  " + t.Fit(b.Short, short)
	indent := 2 + keys + 2 + short + 2
	if h.w-indent < 24 {
		lines := []string{head}
		for _, l := range text.Wrap(long, h.w-4) {
			lines = append(lines, "    "+l)
		}
		return lines
	}
	var lines []string
	for i, l := range text.Wrap(long, h.w-indent) {
		if i == 0 {
			lines = append(lines, head+"  "+l)
			continue
		}
		lines = append(lines, strings.Repeat(" ", indent)+l)
	}
	return lines
}

// Markdown writes the keys as tables for the README, a heading a group.
func Markdown(groups ...HelpGroup) string {
	var b strings.Builder
	cell := func(s string) string { return strings.ReplaceAll(s, "|", `\|`) }
	for i, g := range groups {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString("### " + g.Title + "\n\n| Key | Action | What it does |\n|---|---|---|\n")
		for _, k := range g.Bindings {
			b.WriteString("| " + cell(k.KeyNames()) + " | " + cell(k.Short) + " | " + cell(k.Long) + " |\n")
		}
	}
	return b.String()
}
