package form

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// Field is one field with what is typed into it. It is a value: Update returns the changed one.
type Field struct {
	Spec
	line    line
	verdict Verdict
	refused string // why the last key or paste changed nothing; "" where there was nothing to refuse
	ahead   string // the letters of a choice's word that were typed so far
}

// NewField makes an empty field.
func NewField(s Spec) Field { return Field{Spec: s} }

// Value returns the text as typed, without the spaces around it.
func (f Field) Value() string { return strings.TrimSpace(f.line.text) }

// Verdict returns what was last said of the text.
func (f Field) Verdict() Verdict { return f.verdict }

// SetValue replaces the text, as from a draft, and judges it.
func (f Field) SetValue(s string) Field {
	f.line = line{text: s, pos: utf8.RuneCountInString(s)}
	f.refused = ""
	return f.judged()
}

// judged asks for the verdict on the present text.
func (f Field) judged() Field {
	f.verdict = Verdict{}
	if f.Judge != nil && f.Value() != "" {
		f.verdict = f.Judge(f.Value())
	}
	if f.noWord() {
		f.verdict = Verdict{Err: "no such word; expected " + strings.Join(f.Words, ", ")}
	}
	return f
}

// Takes reports whether a key is text for this field. A field for numbers or words leaves "?" to the help, which no value
// can contain.
func (f Field) Takes(key tea.KeyMsg) bool {
	return ui.Printable(key) && (f.Kind == Text || key.Paste || string(key.Runes) != "?")
}

// Update applies a key and reports whether the text changed. A key that is refused leaves its reason for View.
func (f Field) Update(key tea.KeyMsg) (Field, bool) {
	f.refused = ""
	if ui.Printable(key) && !f.Takes(key) || key.Alt {
		return f, false
	}
	old := f.line.text
	switch {
	case f.Kind == Button:
		return f, false
	case key.Paste:
		f = f.paste(string(key.Runes))
	case f.Kind == Choice:
		f = f.choose(key)
	case f.Kind == Number && f.line.text == "" && string(key.Runes) == "=":
		f = f.takeLast()
	default:
		f.line = f.line.edit(key, f.limit())
	}
	if f.line.text == old {
		return f, false
	}
	return f.judged(), true
}

func (f Field) limit() int {
	if f.Limit > 0 {
		return f.Limit
	}
	return DefaultLimit
}

// takeLast fills the field with the last value, which spares typing one that has not changed.
func (f Field) takeLast() Field {
	if f.Last == "" {
		f.refused = "there is no last value to take"
		return f
	}
	return f.SetValue(f.Last)
}

// paste fills the field from the clipboard, whole or not at all.
func (f Field) paste(s string) Field {
	s = strings.Trim(s, " \r\n") // the line end that comes with a copied line
	if why := oneLine(s); why != "" {
		f.refused = why
		return f
	}
	if f.Kind == Choice {
		for _, w := range f.Words {
			if strings.EqualFold(w, strings.TrimSpace(s)) {
				return f.SetValue(w)
			}
		}
		f.refused = "not pasted: it is none of " + strings.Join(f.Words, ", ")
		return f
	}
	if n := utf8.RuneCountInString(f.line.text) + utf8.RuneCountInString(s); n > f.limit() {
		f.refused = fmt.Sprintf("not pasted: it has %d characters, this field takes %d", n, f.limit())
		return f
	}
	f.line = f.line.edit(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(s)}, f.limit())
	return f
}

// choose changes a choice: Space and Right to the next word, Left to the one before, through "not read" between the last and
// the first; letters to the word that begins with all of them, so that it can be typed out, with the blanks within it; the same
// letter again to the next word that begins with it; Backspace and Del to not read.
func (f Field) choose(key tea.KeyMsg) Field {
	ahead := f.ahead
	f.ahead = ""
	switch {
	case f.noWord() && key.Type != tea.KeyLeft && key.Type != tea.KeyRight:
		f.line = f.line.edit(key, f.limit())
		return f
	case key.Type == tea.KeySpace && ahead != "" && f.goesOn(ahead+" "):
		f.ahead = ahead
		return f.typed(' ')
	case key.Type == tea.KeySpace || key.Type == tea.KeyRight:
		return f.step(1)
	case key.Type == tea.KeyLeft:
		return f.step(-1)
	case key.Type == tea.KeyBackspace || key.Type == tea.KeyDelete:
		return f.SetValue("")
	case key.Type == tea.KeyRunes && string(key.Runes) == "=":
		return f.takeLast()
	case key.Type == tea.KeyRunes && len(key.Runes) > 0:
		f.ahead = ahead
		for _, r := range key.Runes {
			if f.noWord() || f.Value() == "" && f.begunAsNumber(r) {
				f.line = f.line.edit(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}}, f.limit())
				continue
			}
			f = f.typed(r)
		}
	}
	return f
}

// noWord reports whether a choice holds a text that is none of its words: it is kept as it was typed, and is no value.
func (f Field) noWord() bool { return f.Kind == Choice && f.Value() != "" && f.index() < 0 }

// begunAsNumber reports whether a key begins a number where no word begins so: a value typed one line off. Its letters must not
// choose words.
func (f Field) begunAsNumber(r rune) bool {
	number := unicode.IsDigit(r) || strings.ContainsRune("-+.", r)
	return number && !slices.ContainsFunc(f.Words, func(w string) bool { return strings.HasPrefix(w, string(r)) })
}

// typed takes the next letter of a word that is being typed out; where no word goes on so, the letter begins another.
func (f Field) typed(r rune) Field {
	ahead := f.ahead + string(r)
	if f.ahead != "" {
		if w, ok := f.beginning(ahead); ok {
			if !strings.EqualFold(w, f.Value()) {
				f = f.SetValue(w)
			}
			f.ahead = ahead
			return f
		}
	}
	f = f.byLetter(r)
	if f.refused == "" {
		f.ahead = string(r)
	}
	return f
}

// beginning returns the word that begins with some letters: the one that they are, else the chosen one, else the first.
func (f Field) beginning(letters string) (string, bool) {
	for _, w := range f.Words {
		if strings.EqualFold(w, letters) {
			return w, true
		}
	}
	if i := f.index(); i >= 0 && begins(f.Words[i], letters) {
		return f.Words[i], true
	}
	for _, w := range f.Words {
		if begins(w, letters) {
			return w, true
		}
	}
	return "", false
}

// goesOn reports whether a word begins with some letters.
func (f Field) goesOn(letters string) bool {
	_, ok := f.beginning(letters)
	return ok
}

// begins reports whether a word begins with some letters, whatever their case.
func begins(word, letters string) bool {
	return len(word) >= len(letters) && strings.EqualFold(word[:len(letters)], letters)
}

// index returns the chosen word's place, -1 for none.
func (f Field) index() int {
	for i, w := range f.Words {
		if strings.EqualFold(w, f.Value()) {
			return i
		}
	}
	return -1
}

func (f Field) step(by int) Field {
	n := len(f.Words) + 1 // not read stands before the first
	i := (f.index() + 1 + by + n) % n
	if i == 0 {
		return f.SetValue("")
	}
	return f.SetValue(f.Words[i-1])
}

func (f Field) byLetter(r rune) Field {
	start := f.index()
	for i := range f.Words {
		w := f.Words[(start+1+i+len(f.Words))%len(f.Words)]
		if first, _ := utf8.DecodeRuneInString(w); unicode.ToLower(first) == unicode.ToLower(r) {
			return f.SetValue(w)
		}
	}
	f.refused = fmt.Sprintf("no word begins with %c: %s", r, strings.Join(f.Words, ", "))
	return f
}
