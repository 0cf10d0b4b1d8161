package plantview

import (
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/model/safety"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// check lays out what is worth a second look, then the numbers of safe operation.
func (p page) check(w int) []string {
	t := p.common.Theme
	out := []string{ui.Section(t, "Worth a second look", "", w)}
	if p.checked.Err != nil {
		out = append(out, p.item(ui.Out, "The plant cannot be solved: "+p.checked.Err.Error(), w)...)
	}
	for _, a := range p.checked.Advice {
		out = append(out, p.item(ui.Near, a.String(), w)...)
	}
	if len(out) == 1 {
		out = append(out, " Nothing.")
	}
	if len(p.checked.Numbers) == 0 {
		return out
	}
	out = append(out, ui.Section(t, "Numbers of safe operation", "", w))
	for _, past := range []bool{true, false} { // those that are past their limit first
		for _, n := range p.checked.Numbers {
			if past == n.Past() {
				out = append(out, p.number(n, w)...)
			}
		}
	}
	caution := "Estimates from this description. They support, and never replace, the makers' papers, the local electrical code, the water permit, and licensed engineers."
	return append(out, p.sentence(caution, ui.Near, w)...)
}

// summary says at the end what came of the check: how many warnings there are and what they concern.
func (p page) summary(w int) []string {
	var past, keys []string
	for _, n := range p.checked.Numbers {
		if n.Past() {
			name := n.Name
			if n.Of != "" {
				name += " (" + n.Of + ")"
			}
			past = append(past, name)
		}
	}
	for _, a := range p.checked.Advice {
		if !slices.Contains(keys, a.Key) {
			keys = append(keys, a.Key)
		}
	}
	out := []string{ui.Section(p.common.Theme, "In sum", "", w)}
	if p.checked.Err != nil {
		out = append(out, p.item(ui.Out, "The plant cannot be solved.", w)...)
	}
	if len(keys) > 0 {
		out = append(out, p.item(ui.Near, fmt.Sprintf("%d worth a second look: %s.", len(p.checked.Advice), strings.Join(keys, ", ")), w)...)
	}
	if len(past) > 0 {
		out = append(out, p.item(ui.Near, fmt.Sprintf("%d beyond a limit: %s.", len(past), strings.Join(past, ", ")), w)...)
	}
	if len(out) == 1 {
		out = append(out, p.item(ui.Good, "Nothing is worth a second look, and no number is beyond its limit.", w)...)
	}
	return out
}

// markWidth is the room of the word in front of a number or an advice.
const markWidth = 9

// item is one thing to look at: its mark, and the words, further lines indented.
func (p page) item(state ui.State, words string, w int) []string {
	sign := state.Sign()
	var out []string
	for i, l := range text.Wrap(text.Show(p.ascii(words)), max(10, w-4)) {
		if i == 0 {
			out = append(out, " "+p.common.Theme.State(state).Render(text.PadRight(sign, 2))+" "+l)
			continue
		}
		out = append(out, "    "+l)
	}
	return out
}

// number is one number of safe operation: how it stands, its name and value, what it means, and by which formula from which
// source.
func (p page) number(n safety.Number, w int) []string {
	t := p.common.Theme
	word, state := "", ui.Unjudged
	switch {
	case n.OK == nil && n.Information:
		word = "to know"
	case n.OK == nil:
	case *n.OK:
		word, state = "ok", ui.Good
	default:
		word, state = "BEYOND !", ui.Near
	}
	name := n.Name
	if n.Of != "" {
		name += " (" + n.Of + ")"
	}
	var out []string
	lead := strings.Repeat(" ", 1+markWidth)
	for i, l := range text.Wrap(text.Show(name+": "+n.Shown(p.common.Units)), max(10, w-len(lead)-1)) {
		front := lead
		if i == 0 {
			front = " " + t.State(state).Render(text.PadRight(word, markWidth-1)) + " "
		}
		out = append(out, front+t.Strong.Render(l))
	}
	for _, s := range []string{upper(n.Says) + ".", "By " + n.Formula + "; " + n.Source + " (" + n.Status + ")."} {
		for _, l := range text.Wrap(text.Show(p.ascii(s)), max(10, w-len(lead)-1)) {
			out = append(out, lead+l)
		}
	}
	return out
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// ascii spells out the signs of formulas that have no likeness in ASCII, where only that can be shown.
func (p page) ascii(s string) string {
	if !p.common.Theme.ASCII {
		return s
	}
	return strings.NewReplacer("√", "sqrt ", "Σ", "sum of ", "Δ", "d", "ρ", "rho ").Replace(s)
}
