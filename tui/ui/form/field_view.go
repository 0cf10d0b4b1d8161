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

// Remark returns the words beside the field: why a key was refused, why the text is no value, the judgement, or for an empty
// field what it should be: what it was stands in the box already.
func (f Field) Remark(t ui.Theme) string {
	switch {
	case f.refused != "":
		return t.Near.Render(text.Show(f.refused))
	case f.verdict.Err != "":
		return t.Out.Render("! " + text.Show(f.verdict.Err))
	case f.Kind == Choice && f.Value() != "" && f.verdict == Verdict{}:
		return t.Dim.Render(text.Show(f.words()))
	case f.Value() != "":
		return strings.TrimSpace(t.Verdict(f.verdict.State) + "  " + text.Show(f.verdict.Remark))
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
	return t.Dim.Render(text.Show(strings.Join(parts, ", ")))
}
