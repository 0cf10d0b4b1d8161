package form_test

import (
	"testing"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/google/go-cmp/cmp"

	"example.org/headpond/tui/ui/uitest"
)

// FuzzKeys reads bytes as keys: a control character as its key, 0x80 as a paste of all that follows, 0x81 to 0xbf (which begin no
// character in UTF-8) as the keys with names, the rest as characters. Whatever comes, the view fits, no control character is
// drawn, and a draft that is kept and read back is the same.
func FuzzKeys(f *testing.F) {
	f.Add([]byte("\x09241 V\x0d\x7f"))
	f.Add([]byte("\x80241\t60.1\n"))
	f.Add([]byte("\xff\xfe\x1b[31m"))
	th := uitest.Theme(uitest.Look{Color: true})
	f.Fuzz(func(t *testing.T, keys []byte) {
		form := round().SetSize(60, 12)
		for len(keys) > 0 {
			b := keys[0]
			var k tea.KeyMsg
			switch {
			case b == 0x80:
				k, keys = uitest.Paste(string(keys[1:])), nil
			case b < 0x20 || b == 0x7f:
				k, keys = tea.KeyMsg{Type: tea.KeyType(b)}, keys[1:]
			case b > 0x80 && b < 0xc0:
				k, keys = tea.KeyMsg{Type: tea.KeyUp - tea.KeyType(b-0x81)}, keys[1:]
			default:
				r, n := utf8.DecodeRune(keys)
				k, keys = tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}}, keys[n:]
			}
			form, _ = form.Update(k)
		}
		if err := uitest.Fits(form.View(th), 60, 12); err != nil {
			t.Fatal(err)
		}
		back, unknown := round().SetValues(form.Values())
		if diff := cmp.Diff(form.Values(), back.Values()); diff != "" || unknown != nil {
			t.Fatalf("the draft read back differs (unknown %v):\n%s", unknown, diff)
		}
	})
}
