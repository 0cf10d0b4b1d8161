package form_test

import (
	"strconv"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

// press sends keys by name to a field.
func press(t *testing.T, f form.Field, keys ...string) form.Field {
	t.Helper()
	for _, k := range keys {
		f, _ = f.Update(uitest.Key(t, k))
	}
	return f
}

// typed sends text rune by rune.
func typed(t *testing.T, f form.Field, s string) form.Field {
	t.Helper()
	for _, r := range s {
		f = press(t, f, string(r))
	}
	return f
}

// judgeVolts judges as the default bands of the design do at 240 V.
func judgeVolts(s string) form.Verdict {
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	switch {
	case err != nil:
		return form.Verdict{Err: "not a number with an optional unit, such as 241 or 0.24 kV"}
	case v >= 228 && v <= 252:
		return form.Verdict{State: ui.Good, Remark: "band 228 to 252"}
	case v >= 220 && v <= 254:
		return form.Verdict{State: ui.Near, Remark: "band 228 to 252"}
	}
	return form.Verdict{State: ui.Out, Remark: "band 228 to 252"}
}

func volts() form.Spec {
	return form.Spec{Key: "volts", Section: "Panel", Label: "Voltage", Unit: "V", Last: "241", Expect: "240.6 V", Hint: "band 228 to 252", Judge: judgeVolts}
}

func screen() form.Spec {
	return form.Spec{Key: "screen", Section: "Screen", Label: "Screen", Kind: form.Choice, Words: []string{"clear", "partly", "blocked", "iced"}, Last: "clear"}
}

func TestFieldIsJudgedAtEachKey(t *testing.T) {
	f := form.NewField(volts())
	for _, step := range []struct {
		key   string
		state ui.State
		err   bool
	}{{"2", ui.Out, false}, {"5", ui.Out, false}, {"3", ui.Near, false}, {"backspace", ui.Out, false}, {"1", ui.Good, false}, {"x", ui.Unjudged, true}} {
		f = press(t, f, step.key)
		if v := f.Verdict(); v.State != step.state || (v.Err != "") != step.err {
			t.Errorf("after %s the field %q is judged %+v", step.key, f.Value(), v)
		}
	}
}

func TestABlankFieldIsNotJudged(t *testing.T) {
	s := volts()
	s.Judge = func(text string) form.Verdict {
		if strings.TrimSpace(text) == "" {
			t.Error("judged while blank")
		}
		return form.Verdict{}
	}
	f := press(t, form.NewField(s), "1", "backspace", " ")
	if f.Value() != "" {
		t.Errorf("value %q, want blank", f.Value())
	}
}

func TestEditingWithinTheLine(t *testing.T) {
	cases := []struct {
		name string
		keys []string
		want string
	}{
		{"insert before", []string{"2", "4", "home", "1"}, "124"},
		{"insert between", []string{"2", "4", "left", "0"}, "204"},
		{"delete under the caret", []string{"2", "4", "home", "delete"}, "4"},
		{"end", []string{"2", "4", "home", "end", "1"}, "241"},
		{"delete word", []string{"1", "9", " ", "p", "s", "i", "ctrl+w"}, "19"},
		{"delete all before", []string{"1", "9", "ctrl+u"}, ""},
		{"decimal comma is kept as typed", []string{"0", ",", "9"}, "0,9"},
		{"keys that terminals keep do nothing", []string{"1", "ctrl+a", "ctrl+k", "ctrl+b", "ctrl+v", "2"}, "12"},
		{"the help key is no text", []string{"1", "?", "2"}, "12"},
	}
	for _, c := range cases {
		if got := press(t, form.NewField(volts()), c.keys...).Value(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	if got := typed(t, form.NewField(form.Spec{Kind: form.Text}), "really?").Value(); got != "really?" {
		t.Errorf("a text takes %q, want a question mark in it", got)
	}
}

func TestEqualsTakesTheLastValueOver(t *testing.T) {
	f := press(t, form.NewField(volts()), "=")
	if f.Value() != "241" || f.Verdict().State != ui.Good {
		t.Errorf("value %q judged %+v, want the last one, judged", f.Value(), f.Verdict())
	}
	if f = press(t, form.NewField(volts()), "2", "="); f.Value() != "2=" {
		t.Errorf("value %q: in a field that is not empty, = is a character", f.Value())
	}
	s := volts()
	s.Last = ""
	if f = press(t, form.NewField(s), "="); f.Value() != "" || !strings.Contains(f.Remark(uitest.Theme(uitest.Look{})), "no last value") {
		t.Errorf("value %q, remark %q", f.Value(), f.Remark(uitest.Theme(uitest.Look{})))
	}
	if f = press(t, form.NewField(screen()), "="); f.Value() != "clear" {
		t.Errorf("choice %q, want the last one", f.Value())
	}
}

// Words are typed out as people type them, letter by letter or all at once; what was typed last must stand in the box.
func TestAChoiceCanBeTypedOut(t *testing.T) {
	kinds := []string{"start", "stop", "trip", "element-out", "element-back", "alarm", "repair", "note"}
	elements := []string{"E1", "E2", "E3", "E4"}
	for _, c := range []struct {
		words []string
		typed string
		want  string
	}{
		{kinds, "stop", "stop"}, {kinds, "start", "start"}, {kinds, "st", "start"}, {kinds, "sto", "stop"},
		{kinds, "trip", "trip"}, {kinds, "element-back", "element-back"}, {kinds, "element-out", "element-out"}, {kinds, "ELEMENT-B", "element-back"},
		{kinds, "ss", "stop"}, {kinds, "sss", "start"}, {kinds, "ee", "element-back"}, {kinds, "na", "alarm"}, {kinds, "noter", "repair"},
		{elements, "E2", "E2"}, {elements, "e4", "E4"}, {elements, "e9", "E1"}, {elements, "EE", "E2"},
		{[]string{"none", "A", "B", "A+B"}, "a+b", "A+B"}, {[]string{"none", "A", "B", "A+B"}, "aa", "A+B"},
		{[]string{"größte", "grün"}, "grü", "grün"},
	} {
		one := form.NewField(form.Spec{Kind: form.Choice, Words: c.words})
		for _, r := range c.typed {
			one, _ = one.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
		}
		if got := one.Value(); got != c.want {
			t.Errorf("%q letter by letter chooses %q, want %q", c.typed, got, c.want)
		}
		burst, _ := form.NewField(form.Spec{Kind: form.Choice, Words: c.words}).Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(c.typed)})
		if got := burst.Value(); got != c.want {
			t.Errorf("%q at once chooses %q, want %q", c.typed, got, c.want)
		}
	}
	// An arrow ends what was being typed.
	f := form.NewField(form.Spec{Kind: form.Choice, Words: kinds})
	f, _ = f.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("s")})
	f, _ = f.Update(tea.KeyMsg{Type: tea.KeyRight})
	f, _ = f.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("t")})
	if got := f.Value(); got != "trip" {
		t.Errorf("s, right, t choose %q", got)
	}
}

func TestChoice(t *testing.T) {
	cases := []struct {
		name string
		keys []string
		want string
	}{
		{"first letter", []string{"b"}, "blocked"},
		{"capital letter", []string{"I"}, "iced"},
		{"space goes on", []string{" "}, "clear"},
		{"space twice", []string{" ", " "}, "partly"},
		{"through not read at the end", []string{" ", " ", " ", " ", " "}, ""},
		{"left from not read", []string{"left"}, "iced"},
		{"right and left", []string{"right", "right", "left"}, "clear"},
		{"backspace is not read", []string{"b", "backspace"}, ""},
		{"a letter that no word has", []string{"b", "z"}, "blocked"},
		{"the help key", []string{"b", "?"}, "blocked"},
		{"a number typed one line off", []string{"-", "1", "2", " ", "i", "n"}, "-12 in"},
		{"and taken back", []string{"-", "1", "backspace", "backspace", "i"}, "iced"},
	}
	for _, c := range cases {
		if got := press(t, form.NewField(screen()), c.keys...).Value(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestATextThatIsNoWordIsKeptAndIsNoValue(t *testing.T) {
	f := press(t, form.NewField(screen()), "-", "1")
	if v := f.Verdict(); v.Err != "no such word; expected clear, partly, blocked, iced" {
		t.Errorf("%+v", v)
	}
	if f = press(t, f, "backspace", "backspace", "c"); f.Verdict().Err != "" || f.Value() != "clear" {
		t.Errorf("%q, %+v", f.Value(), f.Verdict())
	}
}

func TestALetterThatSeveralWordsHaveGoesThroughThem(t *testing.T) {
	f := form.NewField(form.Spec{Kind: form.Choice, Words: []string{"none", "A", "B", "A+B"}})
	var got []string
	for range 3 {
		f = press(t, f, "a")
		got = append(got, f.Value())
	}
	if strings.Join(got, " ") != "A A+B A" {
		t.Errorf("a, a, a choose %v", got)
	}
}

func TestAPasteFillsOneFieldOnlyOrSaysWhyNot(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	note := form.Spec{Key: "note", Label: "Note", Kind: form.Text, Limit: 20}
	cases := []struct {
		name    string
		spec    form.Spec
		before  string
		paste   string
		want    string
		refused string
	}{
		{"a number", volts(), "", "241 V", "241 V", ""},
		{"into a text", volts(), "2", "41", "241", ""},
		{"a copied line with its end", volts(), "", "241\n", "241", ""},
		{"two lines", volts(), "2", "41\n60", "2", "one field only"},
		{"a spreadsheet's row", volts(), "", "241\t60.1\t3.2", "", "one field only"},
		{"old line end", volts(), "", "241\r60", "", "one field only"},
		{"too long", note, "", "this is longer than twenty", "", "26 characters, this field takes 20"},
		{"as long as may be", note, "", "exactly twenty chars", "exactly twenty chars", ""},
		{"a word", screen(), "", "Partly", "partly", ""},
		{"another word", screen(), "clear", "dirty", "clear", "none of clear, partly, blocked, iced"},
		{"one letter is not a key", screen(), "", "b", "", "none of"},
		{"equals is not a key", volts(), "", "=", "=", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, _ := form.NewField(c.spec).SetValue(c.before).Update(uitest.Paste(c.paste))
			if f.Value() != c.want {
				t.Errorf("value %q, want %q", f.Value(), c.want)
			}
			if remark := f.Remark(th); c.refused != "" && !strings.Contains(remark, c.refused) {
				t.Errorf("remark %q, want the reason with %q", remark, c.refused)
			}
			if f = press(t, f, "end"); c.refused != "" && strings.Contains(f.Remark(th), c.refused) {
				t.Error("the reason stays after the next key")
			}
		})
	}
}

func TestPastedControlCharactersAreNeverDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, _ := form.NewField(form.Spec{Key: "note", Label: "Note", Kind: form.Text}).Update(uitest.Paste(rapid.String().Draw(t, "paste")))
		for range rapid.IntRange(0, 5).Draw(t, "left") {
			f, _ = f.Update(tea.KeyMsg{Type: tea.KeyLeft})
		}
		w := rapid.IntRange(1, 100).Draw(t, "w")
		for _, l := range uitest.Looks() {
			for _, focused := range []bool{true, false} {
				if err := uitest.Fits(f.View(uitest.Theme(l), w, focused), w, 1); err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}

func TestTheCaretIsAlwaysInSight(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	f := typed(t, form.NewField(volts()), "1234567890 abcdefghij é漢")
	for i := range 30 {
		if view := f.View(th, 80, true); strings.Count(view, "\x1b[7m") != 1 {
			t.Fatalf("%d to the left, the caret is not there once: %q", i, view)
		}
		if w := text.Width(f.View(th, 80, true)); w > 80 {
			t.Fatalf("%d to the left, the field is %d wide", i, w)
		}
		f = press(t, f, "left")
	}
}

func TestWithoutColoursTheCaretIsASign(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	f := typed(t, form.NewField(volts()), "241")
	for _, c := range []struct{ key, want string }{{"end", "241_ "}, {"left", "24|1 "}, {"home", "|241 "}} {
		f = press(t, f, c.key)
		if view := f.View(th, 80, true); !strings.Contains(view, c.want) {
			t.Errorf("after %s: %q, want %q in it", c.key, view, c.want)
		}
	}
	if view := f.View(th, 80, false); strings.ContainsAny(view, "_|") {
		t.Errorf("a field without the focus has a caret: %q", view)
	}
}

func TestALongTextShowsThatItGoesOnToTheLeft(t *testing.T) {
	f := typed(t, form.NewField(volts()), "123456789012345678")
	if view := f.View(uitest.Theme(uitest.Look{}), 80, true); !strings.Contains(view, "…789012345678_") {
		t.Errorf("view %q", view)
	}
}

func TestFieldsAreValues(t *testing.T) {
	a := typed(t, form.NewField(volts()), "24")
	b := typed(t, a, "1")
	c := typed(t, a, "9")
	if a.Value() != "24" || b.Value() != "241" || c.Value() != "249" {
		t.Errorf("copies share their text: %q %q %q", a.Value(), b.Value(), c.Value())
	}
}
