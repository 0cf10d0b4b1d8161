package form_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/uitest"
)

// uniqueBeginnings are the beginnings of a word with which no other begins, and the word itself.
func uniqueBeginnings(words []string, word string) []string {
	out := []string{word}
	for n := range word {
		if n == 0 {
			continue
		}
		others := 0
		for _, w := range words {
			if strings.HasPrefix(strings.ToLower(w), strings.ToLower(word[:n])) {
				others++
			}
		}
		if others == 1 {
			out = append(out, word[:n])
		}
	}
	return out
}

// Whatever words a choice has, whatever was chosen before, and though the form is built anew under the typing at every change, the word
// that is typed is the one that is chosen, by all of its letters and by any beginning that is its own.
func TestAWordThatIsTypedIsTheOneThatIsChosen(t *testing.T) {
	letter := rapid.SampledFrom([]rune("abcdE-é12"))
	word := rapid.Custom(func(t *rapid.T) string {
		parts := rapid.SliceOfN(rapid.StringOfN(letter, 1, 5, -1), 1, 3).Draw(t, "parts")
		return string(rapid.SampledFrom([]rune("abcE")).Draw(t, "first")) + strings.Join(parts, " ")
	})
	rapid.Check(t, func(rt *rapid.T) {
		words := rapid.SliceOfNDistinct(word, 1, 8, strings.ToLower).Draw(rt, "words")
		specs := []form.Spec{{Key: "kind", Label: "Kind", Kind: form.Choice, Words: words}, {Key: "note", Label: "Note", Kind: form.Text}}
		want := rapid.SampledFrom(words).Draw(rt, "word")
		keys := rapid.SampledFrom(uniqueBeginnings(words, want)).Draw(rt, "typed")
		before := rapid.SampledFrom(append([]string{""}, words...)).Draw(rt, "before")
		f, _ := form.New(specs...).SetValues(map[string]string{"kind": before})
		for _, r := range keys {
			var e form.Event
			if f, e = f.Update(uitest.Key(t, string(r))); e.Kind == form.Changed {
				f, _ = f.Rebuilt(f.Values(), append([]form.Spec{{Key: f.Values()["kind"], Label: "New", Kind: form.Text}}, specs...)...)
			}
		}
		if got := f.Values()["kind"]; got != want {
			rt.Fatalf("%q typed among %q, with %q before, chooses %q", keys, words, before, got)
		}
	})
}

// A field that is left and come back to begins a word anew.
func TestAWordIsBegunAnewInAFieldThatIsComeBackTo(t *testing.T) {
	f := form.New(form.Spec{Key: "kind", Kind: form.Choice, Words: []string{"stop", "trip", "start"}}, form.Spec{Key: "note", Kind: form.Text})
	for _, k := range []string{"s", "down", "up", "t"} {
		f, _ = f.Update(uitest.Key(t, k))
	}
	if got := f.Values()["kind"]; got != "trip" {
		t.Errorf("t after coming back chooses %q", got)
	}
}

// A form that is built anew under somebody's hands keeps the place of typing within a text.
func TestAFormThatIsBuiltAnewKeepsThePlaceOfTyping(t *testing.T) {
	note := form.Spec{Key: "note", Label: "Note", Kind: form.Text}
	f := form.New(note)
	for _, k := range []string{"a", "c", "left"} {
		f, _ = f.Update(uitest.Key(t, k))
	}
	f, hidden := f.Rebuilt(map[string]string{"note": "ac", "unit": "A"}, form.Spec{Key: "by", Label: "By", Kind: form.Text}, note)
	f, _ = f.Update(uitest.Key(t, "b"))
	if got := f.Values()["note"]; got != "abc" || len(hidden) != 1 || hidden[0] != "unit" {
		t.Errorf("the note is %q, without a field are %q", got, hidden)
	}
}
