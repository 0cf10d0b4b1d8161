package form_test

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/uitest"
)

// round is a short round in walking order.
func round() form.Form {
	return form.New(
		form.Spec{Key: "pond_level_m", Section: "Pond", Label: "Pond level", Unit: "m", Last: "-0.32", Expect: "-0.33 m", Hint: "stop -0.85"},
		form.Spec{Key: "ice", Section: "Pond", Label: "Ice", Kind: form.Choice, Words: []string{"none", "skim", "cover"}, Last: "none"},
		screen(),
		form.Spec{Key: "pressure_kpa", Section: "Valve and gauge", Label: "Intake pressure", Unit: "kPa"},
		form.Spec{Key: "A.hours", Section: "Machines", Label: "Hour meter, unit A", Unit: "h", Last: "20417"},
		volts(),
		form.Spec{Key: "hertz", Section: "Panel", Label: "Frequency", Unit: "Hz", Last: "60.1"},
		form.Spec{Key: "note", Section: "Panel", Label: "Note", Kind: form.Text},
		form.Spec{Key: "save", Label: "Keep the round", Kind: form.Button, Hint: "Enter"},
	)
}

// send sends keys by name and returns the last event.
func send(t *testing.T, f form.Form, keys ...string) (form.Form, form.Event) {
	t.Helper()
	var e form.Event
	for _, k := range keys {
		f, e = f.Update(uitest.Key(t, k))
	}
	return f, e
}

func focus(f form.Form) string {
	x, _ := f.Focused()
	return x.Key
}

// Why a text is no value is read whole below the fields, in any ordinary window; the field itself stays in sight and the fields
// above it where they were.
func TestALongMessageIsReadWhole(t *testing.T) {
	why := "expected a number of kPa, or with another unit: 19 psi, 1.3 bar, 13 m; a comma and a point both make a decimal, and two of them are no number"
	refuse := func(s form.Spec) form.Spec {
		s.Judge = func(string) form.Verdict { return form.Verdict{Err: why} }
		return s
	}
	for _, size := range [][2]int{{40, 14}, {60, 12}, {80, 19}, {80, 8}} {
		for _, key := range []string{"pond_level_m", "note"} {
			f := round().SetSize(size[0], size[1]).Focus(key)
			before := strings.Split(f.View(uitest.Theme(uitest.Look{})), "\n")
			f, _ = f.Respec(refuse).Update(uitest.Key(t, "x"))
			view := f.View(uitest.Theme(uitest.Look{}))
			if size[1] > 8 && !strings.Contains(strings.Join(strings.Fields(view), " "), ": ! "+why) {
				t.Errorf("%s at %v: the message is not whole:\n%s", key, size, view)
			}
			if err := uitest.Fits(view, size[0], size[1]); err != nil {
				t.Errorf("%s at %v: %v", key, size, err)
			}
			if !strings.Contains(view, "> ") {
				t.Errorf("%s at %v: the field is out of sight:\n%s", key, size, view)
			}
			if lines := strings.Split(view, "\n"); key == "pond_level_m" && (lines[0] != before[0] || lines[2] != before[2]) {
				t.Errorf("%v: the fields moved:\n%s", size, view)
			}
		}
	}
}

// In a window too low for the whole message its beginning ends in a mark.
func TestALongMessageInALowWindowIsCutWithAMark(t *testing.T) {
	f := round().SetSize(40, 6).Respec(func(s form.Spec) form.Spec {
		s.Judge = func(string) form.Verdict { return form.Verdict{Err: strings.Repeat("expected a number ", 20)} }
		return s
	})
	f, _ = send(t, f, "x")
	lines := strings.Split(f.View(uitest.Theme(uitest.Look{ASCII: true})), "\n")
	if len(lines) != 6 || !strings.HasSuffix(strings.TrimSpace(lines[5]), "~") || !strings.Contains(lines[4], "expected") {
		t.Errorf("%q", lines)
	}
}

// The judgement's look is on its own word, and each line of a message is closed on its own.
func TestTheLooksOfALongRemark(t *testing.T) {
	theme := uitest.Theme(uitest.Look{Color: true})
	spec := form.Spec{Key: "v", Label: "Voltage", Unit: "V", Judge: func(s string) form.Verdict {
		if s == "1" {
			return form.Verdict{State: ui.Out, Remark: strings.Repeat("far below the band ", 6)}
		}
		return form.Verdict{Err: strings.Repeat("no number ", 14)}
	}}
	f := form.New(spec, volts()).SetSize(80, 12)
	out, _ := send(t, f, "1")
	if view := out.View(theme); !strings.Contains(view, "Voltage: "+theme.Out.Render("out !!")+"  far below the band") {
		t.Errorf("%q", view)
	}
	bad, _ := send(t, f, "x")
	lines := strings.Split(bad.View(theme), "\n")
	for _, l := range lines[len(lines)-2:] {
		if strings.Count(l, "\x1b[0m") != strings.Count(l, "\x1b[")/2 || !strings.Contains(l, "\x1b[0m") {
			t.Errorf("a look runs on beyond its line: %q", l)
		}
	}
}

func TestMovingThroughTheForm(t *testing.T) {
	cases := []struct {
		name string
		from string
		keys []string
		want string
	}{
		{"Enter", "pond_level_m", []string{"enter"}, "ice"},
		{"Down", "ice", []string{"down"}, "screen"},
		{"Tab", "screen", []string{"tab"}, "pressure_kpa"},
		{"Up", "ice", []string{"up"}, "pond_level_m"},
		{"Shift-Tab", "ice", []string{"shift+tab"}, "pond_level_m"},
		{"Up at the top stays", "pond_level_m", []string{"up"}, "pond_level_m"},
		{"Down at the end stays", "save", []string{"down"}, "save"},
		{"Tab goes round", "save", []string{"tab"}, "pond_level_m"},
		{"Shift-Tab goes round", "pond_level_m", []string{"shift+tab"}, "save"},
		{"PgDn to the next section", "pond_level_m", []string{"pgdown"}, "screen"},
		{"PgDn from within a section", "volts", []string{"pgdown"}, "save"},
		{"PgDn at the end", "save", []string{"pgdown"}, "save"},
		{"PgUp to the section's first", "note", []string{"pgup"}, "volts"},
		{"PgUp to the section before", "volts", []string{"pgup"}, "A.hours"},
		{"PgUp at the top", "ice", []string{"pgup", "pgup"}, "pond_level_m"},
		{"Home stays in the field", "volts", []string{"home"}, "volts"},
	}
	for _, c := range cases {
		f, _ := send(t, round().SetSize(80, 20).Focus(c.from), c.keys...)
		if got := focus(f); got != c.want {
			t.Errorf("%s: from %s to %s, want %s", c.name, c.from, got, c.want)
		}
	}
}

func TestEventsSayWhatAKeyDid(t *testing.T) {
	cases := []struct {
		name string
		at   string
		keys []string
		want form.Event
	}{
		{"a character", "volts", []string{"2"}, form.Event{Kind: form.Changed, Key: "volts"}},
		{"caret", "volts", []string{"2", "left"}, form.Event{Kind: form.Moved, Key: "volts"}},
		{"caret at its end belongs to the field", "volts", []string{"left"}, form.Event{Kind: form.Moved, Key: "volts"}},
		{"another field", "volts", []string{"enter"}, form.Event{Kind: form.Moved, Key: "hertz"}},
		{"refused", "screen", []string{"x"}, form.Event{Kind: form.Refused, Key: "screen"}},
		{"Esc is the screen's", "volts", []string{"esc"}, form.Event{}},
		{"F2 is the screen's", "volts", []string{"f2"}, form.Event{}},
		{"? is the help's", "volts", []string{"?"}, form.Event{}},
		{"? in a note is text", "note", []string{"?"}, form.Event{Kind: form.Changed, Key: "note"}},
		{"button by Enter", "save", []string{"enter"}, form.Event{Kind: form.Pressed, Key: "save"}},
		{"button by Space", "save", []string{" "}, form.Event{Kind: form.Pressed, Key: "save"}},
		{"a letter on a button does nothing", "save", []string{"q"}, form.Event{Kind: form.Moved, Key: "save"}},
	}
	for _, c := range cases {
		if _, got := send(t, round().SetSize(80, 20).Focus(c.at), c.keys...); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	last := form.New(volts())
	if _, got := send(t, last, "2", "enter"); got != (form.Event{Kind: form.Pressed, Key: "volts"}) {
		t.Errorf("Enter on the last field of a form without a button: %+v", got)
	}
	if _, got := last.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("2"), Alt: true}); got != (form.Event{}) {
		t.Errorf("Alt and a character: %+v", got)
	}
	if _, got := send(t, form.New(), "2"); got != (form.Event{}) {
		t.Errorf("a form without fields: %+v", got)
	}
}

func TestDraftGoesOutAndComesBack(t *testing.T) {
	f, _ := send(t, round().SetSize(80, 20), "-", "0", ".", "4", "down", "s", "down", "down", "1", "9", " ", "p", "s", "i")
	draft := f.Values()
	if diff := cmp.Diff(map[string]string{"pond_level_m": "-0.4", "ice": "skim", "pressure_kpa": "19 psi"}, draft); diff != "" {
		t.Fatal(diff)
	}
	draft["B.volts"] = "238"
	back, unknown := round().SetSize(80, 20).SetValues(draft)
	if diff := cmp.Diff([]string{"B.volts"}, unknown); diff != "" {
		t.Error(diff)
	}
	delete(draft, "B.volts")
	if diff := cmp.Diff(draft, back.Values()); diff != "" {
		t.Error(diff)
	}
}

func TestWhatIsExpectedMayChangeWhileTyping(t *testing.T) {
	f, _ := round().SetSize(80, 20).SetValues(map[string]string{"volts": "241"})
	f = f.Respec(func(s form.Spec) form.Spec {
		if s.Key == "volts" {
			s.Judge = func(string) form.Verdict { return form.Verdict{Err: "the meter is said to be broken"} }
		}
		return s
	})
	if x, ok := f.FirstError(); !ok || x.Key != "volts" || x.Value() != "241" {
		t.Errorf("field %q %q with an error: %v", x.Key, x.Value(), ok)
	}
}

func TestFormsAreValues(t *testing.T) {
	a, _ := send(t, round().SetSize(80, 20), "1")
	b, _ := send(t, a, "2", "down", "n")
	c, _ := send(t, a, "3")
	if d := cmp.Diff([]map[string]string{{"pond_level_m": "1"}, {"pond_level_m": "12", "ice": "none"}, {"pond_level_m": "13"}},
		[]map[string]string{a.Values(), b.Values(), c.Values()}); d != "" {
		t.Error(d)
	}
}

func TestFormView(t *testing.T) {
	filled := func(t *testing.T) form.Form {
		f, _ := round().SetValues(map[string]string{"pond_level_m": "-0.34", "screen": "partly", "hertz": "57"})
		f, _ = send(t, f.Focus("volts"), "2", "5", "3")
		return f
	}
	for look, l := range uitest.Looks() {
		for size, wh := range map[string][2]int{"60x20": {60, 20}, "80x24": {80, 24}, "100x30": {100, 30}, "40x8": {40, 8}} {
			t.Run(look+"/"+size, func(t *testing.T) {
				golden.RequireEqual(t, []byte(filled(t).SetSize(wh[0], wh[1]).View(uitest.Theme(l))))
			})
		}
	}
	t.Run("refused paste", func(t *testing.T) {
		f, _ := filled(t).Update(uitest.Paste("1\t2"))
		golden.RequireEqual(t, []byte(f.SetSize(80, 24).View(uitest.Theme(uitest.Look{}))))
	})
	t.Run("choice", func(t *testing.T) {
		golden.RequireEqual(t, []byte(filled(t).Focus("screen").SetSize(80, 24).View(uitest.Theme(uitest.Look{}))))
	})
	t.Run("button", func(t *testing.T) {
		golden.RequireEqual(t, []byte(filled(t).Focus("save").SetSize(80, 24).View(uitest.Theme(uitest.Look{}))))
	})
}

// One keystroke in a field must not repaint the screen: over a slow line each changed line is seen.
func TestOneKeystrokeChangesTwoLinesAtMost(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	f := round().SetSize(80, 24).Focus("volts")
	for _, k := range []string{"2", "5", "3", "x", "backspace", "left", "="} {
		before := strings.Split(f.View(th), "\n")
		f, _ = send(t, f, k)
		after := strings.Split(f.View(th), "\n")
		changed := 0
		for i := range after {
			if i >= len(before) || before[i] != after[i] {
				changed++
			}
		}
		if len(before) != len(after) || changed > 2 {
			t.Errorf("%s changed %d lines of %d (before %d)", k, changed, len(after), len(before))
		}
	}
}

// anyKeys are the keys that a hand, a cat or a broken terminal may send.
func anyKey() *rapid.Generator[tea.KeyMsg] {
	return rapid.Custom(func(t *rapid.T) tea.KeyMsg {
		k := tea.KeyMsg{Type: tea.KeyType(rapid.IntRange(-60, 130).Draw(t, "type")), Alt: rapid.IntRange(0, 9).Draw(t, "alt") == 0}
		if rapid.Bool().Draw(t, "text") {
			k.Type = tea.KeyRunes
		}
		if k.Type == tea.KeyRunes {
			k.Runes = []rune(rapid.StringN(0, 4, -1).Draw(t, "runes"))
			k.Paste = rapid.Bool().Draw(t, "paste")
		}
		return k
	})
}

func TestAnyKeysAtAnySizeKeepTheFormWhole(t *testing.T) {
	th, plain := uitest.Theme(uitest.Look{Color: true}), uitest.Theme(uitest.Look{ASCII: true})
	rapid.Check(t, func(t *rapid.T) {
		f := round().SetSize(rapid.IntRange(1, 120).Draw(t, "w"), rapid.IntRange(1, 30).Draw(t, "h"))
		w, h := 0, 0
		for _, k := range rapid.SliceOfN(anyKey(), 1, 30).Draw(t, "keys") {
			before := f.Values()
			next, e := f.Update(k)
			if e.Kind != form.Changed && cmp.Diff(before, next.Values()) != "" {
				t.Fatalf("key %q changed the form without saying so", k)
			}
			f = next
			if rapid.IntRange(0, 4).Draw(t, "resize") == 0 {
				w, h = rapid.IntRange(1, 120).Draw(t, "w"), rapid.IntRange(1, 30).Draw(t, "h")
				f = f.SetSize(w, h)
			}
			if w == 0 {
				continue
			}
			for _, look := range []string{f.View(th), f.View(plain)} {
				if err := uitest.Fits(look, w, h); err != nil {
					t.Fatal(err)
				}
			}
			if view := f.View(plain); w >= 20 && !strings.HasPrefix(view, "> ") && !strings.Contains(view, "\n> ") {
				t.Fatalf("the focused field is out of sight at %d by %d:\n%s", w, h, view)
			}
		}
	})
}

func BenchmarkFormKeyAndView(b *testing.B) {
	th := uitest.Theme(uitest.Look{Color: true})
	var specs []form.Spec
	for range 5 {
		for _, x := range round().Fields() {
			specs = append(specs, x.Spec)
		}
	}
	f := form.New(specs...).SetSize(120, 38)
	for b.Loop() {
		f, _ = f.Update(uitest.Key(b, "2"))
		f, _ = f.Update(uitest.Key(b, "backspace"))
		_ = f.View(th)
	}
}
