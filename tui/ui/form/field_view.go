package form

import (
	"cmp"
	"slices"
	"strings"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// View draws the field in one line of at most w cells: sign, label, box, unit and, where there is room, the remark.
func (f Field) View(t ui.Theme, w int, focused bool) string {
	sign, label := "  ", text.Show(f.Label)
	if focused {
		sign = t.Glyphs.Select + " "
	}
	if f.Kind == Button {
		return f.button(t, w, focused, sign)
	}
	labelW := labelRoom(w)
	if focused {
		label = t.Strong.Render(t.Fit(label, labelW))
	} else {
		label = t.Fit(label, labelW)
	}
	row := sign + label + f.box(t, max(1, min(f.boxWidth(w), w-signWidth-labelW)), focused)
	if f.Kind != Text && w >= signWidth+labelW+boxWidth+unitWidth {
		row += " " + t.Fit(f.Unit, unitWidth-1)
	}
	switch room := w - text.Width(row) - 1; {
	case f.Kind == Text:
	case w >= wideEnough:
		row += " " + t.Cut(f.Remark(t), room)
	case room >= 2:
		row += " " + f.sign(t)
	}
	return t.Cut(row, w)
}

// labelRoom is the label's width: its whole where box, unit and sign have room beside it, else what they leave, and in a very
// narrow window what the box alone leaves.
func labelRoom(w int) int {
	if left := w - signWidth - boxWidth - unitWidth - signWidth - 1; left >= narrowLabel {
		return min(labelWidth, left)
	}
	return max(0, min(narrowLabel, w-signWidth-boxWidth))
}

// sign is what stays of the remark where it has no room: the judgement's sign, or "?" for a text that is no value.
func (f Field) sign(t ui.Theme) string {
	if f.verdict.Err != "" {
		return t.Out.Render("?")
	}
	return t.State(f.verdict.State).Render(f.verdict.State.Sign())
}

// boxWidth is wider for text, which has no unit and no remark beside it.
func (f Field) boxWidth(w int) int {
	if f.Kind == Text {
		return w
	}
	return boxWidth
}

// button draws a field that is pressed.
func (f Field) button(t ui.Theme, w int, focused bool, sign string) string {
	name := " " + text.Show(f.Label) + " "
	if focused {
		name = t.Selected.Render(name)
	}
	row := sign + name
	if f.Hint != "" {
		row += " " + text.Show(f.Hint)
	}
	return t.Cut(row, w)
}

// box draws what is typed. An empty field shows the last value, or that it is blank, in round brackets, so that neither can
// be taken for a value.
func (f Field) box(t ui.Theme, w int, focused bool) string {
	switch {
	case f.line.text == "" && (f.Kind != Text || f.ghost() != ""):
		ghost := t.Ghost.Render("(" + text.Show(cmp.Or(f.ghost(), "blank")) + ")")
		if focused {
			empty := line{}.view(t, 1, true)
			return t.Fit(empty+ghost, w)
		}
		return t.Fit(" "+ghost, w)
	case f.Kind == Choice:
		if focused {
			return t.Fit(t.Selected.Render(text.Show(f.line.text)), w)
		}
		return f.line.view(t, w, false)
	}
	return f.line.view(t, w, focused)
}

// ghost is what stands in the empty box: the last value, for a text also its hint, which has no place beside it.
func (f Field) ghost() string {
	if f.Kind == Text {
		return cmp.Or(f.Last, f.Hint)
	}
	return f.Last
}

// words lists a choice's words, the chosen one in round brackets.
func (f Field) words() string {
	words := slices.Clone(f.Words)
	if i := f.index(); i >= 0 {
		words[i] = "(" + words[i] + ")"
	}
	return strings.Join(words, ", ")
}

// remark is what is said beside a field: a judgement's word with its sign, and words of one look.
type remark struct {
	state ui.State
	words string
	look  func(ui.Theme) ui.Style
}

// remark is why a key was refused, why the text is no value, the judgement, or for an empty field what it should be: what it
// was stands in the box already.
func (f Field) remark() remark {
	plain := func(ui.Theme) ui.Style { return ui.Style{} }
	dim := func(t ui.Theme) ui.Style { return t.Dim }
	switch {
	case f.refused != "":
		return remark{words: f.refused, look: func(t ui.Theme) ui.Style { return t.Near }}
	case f.verdict.Err != "":
		return remark{words: "! " + f.verdict.Err, look: func(t ui.Theme) ui.Style { return t.Out }}
	case f.Kind == Choice && f.Value() != "" && f.verdict == Verdict{}:
		return remark{words: f.words(), look: dim}
	case f.Value() != "":
		return remark{state: f.verdict.State, words: f.verdict.Remark, look: plain}
	}
	var parts []string
	if f.Kind == Choice {
		parts = append(parts, f.words())
	}
	if f.Expect != "" {
		parts = append(parts, "expect "+f.Expect)
	}
	if f.Hint != "" {
		parts = append(parts, f.Hint)
	}
	return remark{words: strings.Join(parts, ", "), look: dim}
}

// Remark returns the words beside the field in one line: why a key was refused, why the text is no value, the judgement, or for an
// empty field what it should be.
func (f Field) Remark(t ui.Theme) string {
	r := f.remark()
	return strings.TrimSpace(t.Verdict(r.state) + "  " + r.look(t).Render(text.Show(r.words)))
}

// said is the label with the whole remark, in lines of at most w cells.
func (f Field) said(t ui.Theme, w int) []string {
	r := f.remark()
	head := text.Show(f.Label)
	switch {
	case r.words == "" && r.state == ui.Unjudged:
		return text.Wrap(head, max(1, w))
	case r.words == "":
		return []string{t.Cut(head+": "+t.Verdict(r.state), max(1, w))}
	case r.state == ui.Unjudged:
		head += ": "
	default:
		head += ": " + t.Verdict(r.state) + "  "
	}
	n, words := text.Width(head), text.Show(r.words)
	if n > w {
		return text.Wrap(text.Show(f.Label)+": "+words, max(1, w))
	}
	place := strings.Repeat("x", n-1) + text.NBSP // keeps the head's place while the rest is wrapped
	look := r.look(t)
	lines := text.Wrap(place+words, w)
	for i, l := range lines {
		if i == 0 {
			lines[i] = head + look.Render(text.Cut(l, n, text.Width(l)))
			continue
		}
		lines[i] = look.Render(l)
	}
	return lines
}
