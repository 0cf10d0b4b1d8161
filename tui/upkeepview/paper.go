package upkeepview

import (
	"fmt"
	"strings"

	"example.org/headpond/model/checklist"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// ListText is a checklist for paper, w cells wide: cautions first, a box for each step, lines for who and when.
func ListText(l checklist.List, w int) string {
	w = max(40, w)
	title := text.Show(l.Name)
	if l.Unit != "" {
		title += ", unit " + text.Show(l.Unit)
	}
	out := []string{title, ""}
	for _, c := range l.Cautions {
		out = append(out, indent(text.Show(c), w, "  !  ", ui.Style{})...)
	}
	if len(l.Cautions) > 0 {
		out = append(out, "")
	}
	for i, s := range l.Steps {
		out = append(out, indent(text.Show(s), w, fmt.Sprintf("  (  ) %2d. ", i+1), ui.Style{})...)
	}
	line := "  " + strings.Repeat("_", min(70, w-4))
	out = append(append(out, ""), indent("Skipped or not ok, with the step's number and why:", w, "  ", ui.Style{})...)
	out = append(out, line, line, "")
	for _, s := range []string{"By", "Begun", "Ended"} {
		out = append(out, "  "+text.PadRight(s, 6)+strings.Repeat("_", 24))
	}
	return strings.Join(out, "\n") + "\n"
}
