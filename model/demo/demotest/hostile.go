// Package demotest makes the demo's story hostile, for tests of what must not reach a terminal. No program uses it.
package demotest

import (
	"fmt"
	"maps"
	"strings"
	"time"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// evils are what a free text must not bring to a terminal: ESC sequences that colour, clear, move, retitle, write the clipboard
// and ask for answers, C0, C1 as one byte and as UTF-8, DEL, reordering, invisible and line-separating characters, and bytes
// that are no UTF-8 (the book keeps those as U+FFFD). After them comes what is lawful and hard to fit: wide, joined and very long.
var evils = []string{
	"\x1b[31m\x1b[2J\x1b[10;10H", "\x1b]0;t\x07\x1b]52;c;aGk=\x1b\\", "\x1bP+q\x1b\\\x1b[6n\x1b[c", "\x00\x01\x05\x07\x08\x0b\x0c\x0e\x0f\x1a\r\n\t\x7f",
	"\u0080\u0085\u009b31m\u009d0;x\u009c", "\x9b2J\x90\xff\xc0\xaf\xed\xa0\x80", "\u202e\u202d\u2066\u2067\u2069\u200e\u200f\u061c",
	"\u200b\u2060\ufeff\u00ad\u2028\u2029\U000e0041", "\u0301\u0301\u0301\u20dd", "漢字かな👩\u200d👩\u200d👧🏽ﾞ", strings.Repeat("w", 300), strings.Repeat("語", 90), strings.Repeat("e\u0301\u0302", 60),
}

// Evil is a text of a name of one's own, by which it is known again, with one of the evils in it or all of them.
func Evil(name string, n int) string {
	if n%5 == 4 {
		return name + strings.Join(evils, name)
	}
	return name + evils[n%len(evils)] + "z"
}

// MakeHostile puts hostile text wherever the book takes free text. The plant file takes no control characters, but reordering,
// invisible and wide ones.
func MakeHostile(s *demo.Story) error {
	text, err := hostilePlant(s.Revision.Text)
	if err != nil {
		return err
	}
	s.Revision.Text = text
	for i := range s.Rounds {
		r := &s.Rounds[i]
		r.By, r.Note = Evil("RB", i), Evil("RN", i)
		r.Words, r.Extra, r.Typed = maps.Clone(r.Words), map[string]string{Evil("XK", i): Evil("XV", i)}, map[quantity.Key]string{"volts": Evil("TY", i)}
		if i%3 == 0 && r.Words != nil {
			for k := range r.Words {
				r.Words[k] = Evil("WD", i)
			}
		}
		if i%7 == 0 {
			r.Running = &[]string{Evil("RU", i)}
		}
	}
	for i := range s.Events {
		e := &s.Events[i]
		e.By, e.Note, e.Cause = Evil("EB", i), Evil("EN", i), Evil("EC", i)
		if i%4 == 0 {
			e.Kind, e.Units, e.Element = record.EventKind(Evil("EK", i)), []string{Evil("EU", i)}, Evil("EE", i)
		}
	}
	for i := range s.Done {
		d := &s.Done[i]
		d.By, d.Note = Evil("DB", i), Evil("DN", i)
		if i%2 == 0 {
			d.Task = Evil("DT", i)
			d.Walk = &record.Walk{For: Evil("WF", i), Units: []string{Evil("WU", i)}, Begun: d.Time, Ticks: []record.Tick{
				{Step: Evil("WS", i), State: record.TickDone, At: d.Time}, {Step: Evil("WT", i), State: record.TickNotOK, Note: Evil("WN", i), At: d.Time}}}
		}
	}
	last := s.Rounds[len(s.Rounds)-1]
	for i := range s.Amendments {
		a := &s.Amendments[i]
		a.Why, a.By = Evil("AW", i), Evil("AB", i)
		a.Changes = maps.Clone(a.Changes)
		a.Changes["note"] = Evil("AN", i)
	}
	s.Amendments = append(s.Amendments, demo.Amendment{Round: len(s.Rounds) - 1, At: last.WrittenAt.Add(time.Minute), Why: Evil("AW", 4), By: Evil("AB", 4),
		Changes: map[string]string{"note": Evil("AN", 4), "by": Evil("AB", 3)}})
	return nil
}

// hostilePlant is the plant file with every name as bad as the file may hold it.
func hostilePlant(text string) (string, error) {
	const bad = "\u202e\u2066\u200b\u2028\ufeff\u0301漢字👩\u200d👧"
	for _, name := range []string{"Tern Hollow", "large set", "small set", "freezer", "kitchen range", "workshop saw", "propane", "diesel", "the bearing maker's sheet", "move the main valve", "CAD"} {
		if !strings.Contains(text, `"`+name) {
			return "", fmt.Errorf("the demo's plant has no %q", name)
		}
		text = strings.ReplaceAll(text, `"`+name, `"`+name[:2]+bad+name[2:])
	}
	text = strings.Replace(text, `unit = "L"`, `unit = "L`+bad+`"`, 1)
	text = strings.ReplaceAll(text, `"E4"`, `"E4`+bad+`"`)
	text = strings.ReplaceAll(text, `"main"`, `"ma`+bad+`in"`)
	text += fmt.Sprintf("\n[[checklist]]\nname = \"CL%s\"\ncaution = [\"CC%s\"]\nstep = [\"CS%s\", \"CT%s\"]\n", bad, bad, bad, strings.Repeat("語", 100))
	if _, err := plant.Parse("hostile.toml", []byte(text)); err != nil {
		return "", fmt.Errorf("the hostile plant is no plant: %w", err)
	}
	return text, nil
}
