package now

import (
	"fmt"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// labelWidth is the width of the labels in front of sentences.
const labelWidth = 10

// left says what is left: water, load room, ballast, and how the screen stands.
func (p page) left(w int) []string {
	out := []string{ui.Section(p.common.Theme, "What is left", "", w)}
	add := func(label, s string) {
		if s == "" {
			return
		}
		for i, l := range text.Wrap(s, max(10, w-labelWidth-1)) {
			if i > 0 {
				label = ""
			}
			out = append(out, " "+text.PadRight(label, labelWidth)+l)
		}
	}
	add("Water", p.water())
	add("Load", p.load())
	add("Ballast", p.ballast())
	add("Screen", p.screen())
	return out
}

// water is the pond and how long it lasts as the plant runs now.
func (p page) water() string {
	f := p.facts.Water
	switch {
	case p.waterErr != nil:
		return p.waterErr.Error()
	case f == nil:
		return "working it out"
	}
	level := quantity.Info{Unit: quantity.Metre, Digits: 2}
	s := fmt.Sprintf("pond %s", estimate(level, f.LevelM, p.common.Units))
	for _, way := range f.Ways {
		if way.Plan == nil && equal(way.Run, p.facts.Running) {
			if lasts := assess.WaterLasts(way); lasts != "" {
				return s + "; " + lasts
			}
			return s + "; how long it lasts is not known yet"
		}
	}
	return s
}

func (p page) load() string {
	b := p.facts.Ballast
	if b == nil || b.LoadRoomKW == nil {
		return "no round with a reading of power yet"
	}
	s := fmt.Sprintf("%.1f kW more can be switched on", *b.LoadRoomKW)
	if b.GenerationKW != nil && b.LoadKW != nil {
		s += fmt.Sprintf("; %.1f of %.1f kW used", *b.LoadKW, *b.GenerationKW)
	}
	return s
}

func (p page) ballast() string {
	b := p.facts.Ballast
	if b == nil || b.DumpedKW == nil {
		return ""
	}
	s := fmt.Sprintf("takes %.1f of %.1f kW", *b.DumpedKW, b.CapacityKW)
	r := b.Rejection
	switch {
	case r == nil:
		return s
	case r.MarginKW >= 0:
		return s + fmt.Sprintf("; could take everything with %.1f kW to spare", r.MarginKW)
	}
	return s + fmt.Sprintf("; %.1f kW too small if all consumers drop off", -r.MarginKW)
}

func (p page) screen() string {
	s := p.facts.Screen
	if s == nil {
		return ""
	}
	var parts []string
	if s.Seen != nil {
		word := map[string]string{"clear": "clear", "partly": "partly blocked", "blocked": "blocked", "iced": "iced"}[s.State]
		parts = append(parts, fmt.Sprintf("%s %s ago", word, assess.Span(p.facts.At.Sub(*s.Seen))))
	}
	if s.LastCleared != nil {
		parts = append(parts, fmt.Sprintf("last cleared %s ago", assess.Span(p.facts.At.Sub(*s.LastCleared))))
	}
	if outlook := assess.ScreenOutlook(s.Loss, p.facts.At, p.common.Location); outlook != "" {
		parts = append(parts, outlook)
	}
	return strings.Join(parts, "; ")
}

// plug is the way from pond to plug with what each step loses.
func (p page) plug(w int) []string {
	e := p.facts.Expected
	if e == nil || e.Steps == nil {
		return nil
	}
	st := e.Steps
	lost := func(label string, kw float64) string { return fmt.Sprintf("%s -%.1f", label, kw) }
	parts := []string{fmt.Sprintf("water %.1f kW", st.AtPond), lost("screen", st.Screen), lost("pipe", st.Friction+st.Fittings),
		lost("machine", st.Machine), lost("generator", st.Generator), fmt.Sprintf("plug %.1f kW", st.AtPlug)}
	const arrow = " > "
	s := strings.Join(parts, arrow)
	if e.WaterToWire != nil {
		s += fmt.Sprintf(" (%.0f %%)", 100**e.WaterToWire)
	}
	lines := []string{ui.Section(p.common.Theme, "Pond to plug, as it should be", "", w)}
	head := quantity.Info{Unit: quantity.Metre, Digits: 1}
	if e.NetHeadM != nil && e.GrossHeadM != nil {
		flow := quantity.Info{Unit: quantity.LitrePerSecond, Digits: 0}
		s += fmt.Sprintf("; head %s gross, %s net; %s", estimate(head, *e.GrossHeadM, p.common.Units), estimate(head, *e.NetHeadM, p.common.Units), estimate(flow, e.FlowLps, p.common.Units))
	}
	for _, l := range text.Wrap(s, max(10, w-2)) {
		lines = append(lines, " "+l)
	}
	return lines
}

// estimate is a computed value with its unit and no more digits than it deserves.
func estimate(q quantity.Info, v float64, s quantity.System) string {
	return q.ShowEstimate(v, s) + " " + string(q.ShowUnit(s))
}

func equal(a, b []string) bool {
	if len(a) != len(b) || b == nil {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
