package tui

import (
	"flag"
	"os"
	"strings"
	"testing"

	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// The README's key table and its picture of the Now screen are made from the program, so that they cannot go stale.
// -update writes them.
func TestTheReadmeShowsWhatThereIs(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.startWith(uitest.Look{}, 80, 24, water.Options{}) // the forecast as everybody sees it
	groups := []ui.HelpGroup{}
	for _, tb := range b.app.tabs {
		groups = append(groups, ui.HelpGroup{Title: tb.digit + " " + tb.screen.Title(), Bindings: tb.screen.Bindings()})
		if s, ok := tb.screen.(interface{ Modes() []ui.HelpGroup }); ok {
			groups = append(groups, s.Modes()...)
		}
	}
	groups = append(groups, ui.HelpGroup{Title: "Everywhere", Bindings: b.app.bindings()})
	const path = "../README.md"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text := replaceBetween(t, string(data), "keys", "\n"+ui.Markdown(groups...)+"\n")
	text = replaceBetween(t, text, "screens", "\n```text\n"+strings.TrimRight(b.app.View(), "\n")+"\n```\n")
	if text == string(data) {
		return
	}
	if f := flag.Lookup("update"); f == nil || f.Value.String() != "true" {
		t.Fatal("README.md is stale; write it anew with: go test ./tui -run Readme -update")
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// replaceBetween puts a text between the two marks of a part.
func replaceBetween(t *testing.T, s, part, with string) string {
	t.Helper()
	begin, end := "<!-- "+part+":begin -->\n", "<!-- "+part+":end -->"
	i, j := strings.Index(s, begin), strings.Index(s, end)
	if i < 0 || j < i {
		t.Fatalf("README.md has no part %q", part)
	}
	return s[:i+len(begin)] + with + "\n" + s[j:]
}
