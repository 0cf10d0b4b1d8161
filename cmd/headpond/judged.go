package main

import (
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Cells of a reading's line for people.
const (
	labelCells   = 24
	valueCells   = 12
	verdictCells = 8
)

// judgedLines shows each reading of a round with its state, its band and its expected value, words last.
func judgedLines(t ui.Theme, p *plant.Plant, r record.Round, judged []assess.Judged) []string {
	system := quantity.System(p.Site.Units)
	var lines []string
	for _, j := range judged {
		lines = append(lines, judgedLine(t, j, system))
	}
	for _, k := range quantity.Keys(p.UnitIDs()) {
		if w, ok := r.Word(k); ok {
			lines = append(lines, "  "+text.PadRight(assess.LabelOf(k), labelCells)+text.PadLeft(text.Show(w), valueCells))
		}
	}
	return lines
}

// judgedLine is one reading: "Voltage   241 V   in   228 to 252 V; expected 240 V".
func judgedLine(t ui.Theme, j assess.Judged, s quantity.System) string {
	state := ui.StateOf(string(j.State))
	value := j.Info.Show(j.Value, s) + " " + string(j.Info.ShowUnit(s))
	line := "  " + text.PadRight(assess.LabelOf(quantity.Key(j.Quantity)), labelCells) + text.PadLeft(value, valueCells) + "  "
	line += text.PadRight(t.Verdict(state), verdictCells)
	return strings.TrimRight(line+"  "+judgedAgainst(j, s), " ")
}

// judgedAgainst says what a reading was held against.
func judgedAgainst(j assess.Judged, s quantity.System) string {
	unit := string(j.Info.ShowUnit(s))
	var parts []string
	if band := bandWords(j, s); band != "" {
		parts = append(parts, band+" "+unit)
	}
	if j.Expected != nil {
		parts = append(parts, "expected "+j.Info.ShowEstimate(*j.Expected, s)+" "+unit)
	}
	return strings.Join(parts, "; ")
}

// bandWords says the limits of "in": "228 to 252", "up to 80", "from 10".
func bandWords(j assess.Judged, s quantity.System) string {
	if j.State == "" {
		return ""
	}
	return assess.BandWordsBeside(j.Band(), j.Value, j.Info, s)
}
