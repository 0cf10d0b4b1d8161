package form_test

import (
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/uitest"
)

// The words of a choice may come from the plant's file, such as a ballast element's name: in the reason why a key or a paste was
// refused they are as harmless as in the list.
func TestTheReasonOfARefusalIsHarmless(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	for _, k := range []tea.KeyMsg{uitest.Key(t, "z"), uitest.Key(t, "3"), uitest.Paste("none of them")} {
		f := form.New(form.Spec{Key: "element", Label: "Element", Kind: form.Choice, Words: []string{"E1", "E2\u202e\u2066\u200b"}}).SetSize(100, 4)
		f, e := f.Update(k)
		if want := map[bool]form.EventKind{true: form.Changed, false: form.Refused}[k.String() == "3"]; e.Kind != want { // a number is kept as no word
			t.Fatalf("%q was not refused: %v", k, e)
		}
		if err := uitest.Harmless(f.View(th), false); err != nil {
			t.Error(err)
		}
	}
}
