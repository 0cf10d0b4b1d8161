package tui

import (
	"testing"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

// fuzzed is a program on the demo's book that was loaded once; each trial begins from it. Its drafts go nowhere.
func fuzzed(f *testing.F, name string) (begin func(tb testing.TB, drafts map[string]logbook.Draft) *monkey) {
	f.Helper()
	var kind kindOfBook
	for _, k := range books()(f) {
		if k.name == name {
			kind = k
		}
	}
	m := newMonkey(f, kind, 1)
	m.look, m.lag = uitest.Look{}, true
	d := desk.Desk{Book: m.book, Now: m.app.common.Now, Location: m.now.Location(), Forecast: water.Options{Members: 10}}
	loaded := d.Load(f.Context(), 1)
	return func(tb testing.TB, drafts map[string]logbook.Draft) *monkey {
		one := *m
		one.tb, one.pending, one.done = tb, nil, nil
		l := loaded
		l.Drafts = drafts
		one.app = New(tb.Context(), Options{Desk: d, Common: uitest.Common(m.look, 80, 24, m.now)}).Loaded(l)
		return &one
	}
}

// FuzzDrafts puts any bytes where a form's draft is kept. Whatever they are, the program begins, the form opens and fits, nothing
// harmful is drawn, and the form can still be typed into and left.
func FuzzDrafts(f *testing.F) {
	for _, s := range []string{
		"", "{}", "null", "[", `{"values":null}`, `{"begun":"2026-11-25T09:00:00-04:00","focus":"volts","units":"us","values":{"volts":"241","note":"a\u001b[2J","time":"06:40"}}`,
		`{"entry":"01","what":"x","begun":"0001-01-01T00:00:00Z","values":{"key":"volts","value":"\u202e","why":"w"}}`, `{"begun":"2026-11-01T01:30:00-04:00","values":{"kind":"trip","unit":"A+B"}}`,
		`{"begun":"9999-12-31T23:59:59+14:00","values":{"":"","kind":"element-out","element":"E9"}}`, "\xff\xfe", `{"values":{"volts":1}}`, `{"list":{"name":"Starting","steps":["a"]},"ticks":[{}],"at":-1,"typed":"x"}`,
	} {
		f.Add([]byte(s))
	}
	begin := fuzzed(f, "normal")
	f.Fuzz(func(t *testing.T, data []byte) {
		drafts := map[string]logbook.Draft{}
		for _, form := range []string{"round", "event", "amend", "upkeep", "checklist: Starting", "done: x"} {
			drafts[form] = logbook.Draft{Form: form, Data: data}
		}
		m := begin(t, drafts)
		for _, n := range []string{"2", "down", "7", "up", "enter", "f2", "n", "esc", "3", "e", "down", "x", "f2", "esc", "3", "enter", "c", "x", "f2", "n", "esc", "esc", "8", "enter", "x", "esc", "1", "ctrl+c"} {
			m.give(n, key(n))
		}
	})
}

// FuzzScreens reads bytes as what comes to the whole program: 0x80 to 0xbf, which begin no character in UTF-8, are keys with names, sizes,
// and the carrying out of what is under way; 0xff is a paste of the rest; all others are characters. On a book whose every text is hostile
// nothing harmful is drawn, and every frame fits.
func FuzzScreens(f *testing.F) {
	for _, s := range []string{"2-0.4\x81241\x90", "3\x85\x85\x81c\xb3x\x90", "8\x85\x81\x81\x81s", "6mccc\x87\x87\x81", "5/", "4a7b9", "?ballast\x81", "2\xff\x1b[2J\u202e", "\xa1\xa2\xa3\xa4", "3e3t\x85"} {
		f.Add([]byte(s))
	}
	named := []string{"esc", "enter", "tab", "shift+tab", "up", "down", "left", "right", "pgup", "pgdown", "home", "end", "backspace", "delete", "f1", "f2", "f8", "ctrl+u", "ctrl+w", "ctrl+k", "ctrl+o", "ctrl+a", "ctrl+e", "ctrl+r"}
	begin := fuzzed(f, "hostile")
	f.Fuzz(func(t *testing.T, data []byte) {
		m := begin(t, nil)
		for i := 0; i < len(data) && i < 400; {
			b := data[i]
			switch {
			case b == 0xff:
				m.give("paste", uitest.Paste(string(data[i+1:])))
				return
			case b >= 0x80 && int(b-0x80) < len(named):
				m.give(named[b-0x80], key(named[b-0x80]))
			case b >= 0xa0 && b < 0xb0:
				m.give("size", tea.WindowSizeMsg{Width: 11 * int(b-0xa0), Height: 4 * int(b-0xa0)})
			case b >= 0xb0 && b < 0xc0:
				if len(m.pending) > 0 {
					cmd := m.pending[0]
					m.pending = m.pending[1:]
					m.carry(cmd)
				}
			default:
				r, n := utf8.DecodeRune(data[i:])
				m.give(string(r), tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
				i += n
				continue
			}
			i++
		}
	})
}
