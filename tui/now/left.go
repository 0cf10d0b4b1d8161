package now

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/water"
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
	old := p.oldPowers()
	add("Load", old+p.load())
	if s := p.ballast(); s != "" {
		add("Ballast", old+s)
	}
	add("Screen", p.screen())
	return out
}

// water is the pond and how long it lasts as the plant runs now.
func (p page) water() string {
	f := p.facts.Water
	switch {
	case p.waterErr != nil:
		return text.Show(p.waterErr.Error())
	case f == nil:
		return "working it out"
	}
	level := quantity.Info{Unit: quantity.Metre, Digits: 2}
	s := fmt.Sprintf("pond %s", estimate(level, f.LevelM, p.common.Units))
	if age, ok := f.LevelAge(); ok && age > water.LevelTells {
		s += fmt.Sprintf(" as reckoned (read %s, %s ago)", show(level, f.LastLevel.Value, p.common.Units), assess.Span(age))
	}
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

// oldPowers says how old the powers are, where they were not read within the day.
func (p page) oldPowers() string {
	b, pw := p.facts.Ballast, p.facts.Power
	if b == nil || b.Since != nil || pw == nil || p.facts.At.Sub(pw.Time) <= assess.RoundStale {
		return ""
	}
	return "by readings " + assess.Span(p.facts.At.Sub(pw.Time)) + " old: "
}

func (p page) load() string {
	b := p.facts.Ballast
	switch {
	case b == nil:
		return "no round with a reading of power yet"
	case b.Since != nil && len(b.Since.Running) == 0:
		return b.Since.Words(p.facts.At) + ": nothing can be switched on"
	case b.Since != nil:
		return b.Since.Words(p.facts.At) + "; the powers were read before that, so a new round must tell"
	case b.LoadRoomKW == nil:
		return "the last round with a power reading does not tell how much more can be switched on"
	}
	if b.OverloadWords() != "" {
		return fmt.Sprintf("overload: consumers take %.1f kW more than is generated", -*b.DumpedKW)
	}
	s := fmt.Sprintf("%.1f kW more can be switched on", *b.LoadRoomKW)
	if b.GenerationKW != nil && b.LoadKW != nil {
		s += fmt.Sprintf("; %.1f of %.1f kW used", *b.LoadKW, *b.GenerationKW)
	}
	return s
}

func (p page) ballast() string {
	b := p.facts.Ballast
	switch {
	case b == nil:
		return ""
	case b.Since != nil && len(b.Since.Running) == 0:
		return fmt.Sprintf("idle; its working elements could take %.1f kW", b.CapacityKW)
	case b.Since != nil:
		return fmt.Sprintf("took its power before that; its working elements could take %.1f kW", b.CapacityKW)
	case b.DumpedKW == nil:
		return "the last round with a power reading does not tell what it takes"
	}
	if len(b.Elements) == 0 {
		return "the plant file describes no ballast element"
	}
	s := fmt.Sprintf("takes %.1f of %.1f kW", max(0, *b.DumpedKW), b.CapacityKW)
	r := b.Rejection
	switch words, speedsUp := b.RejectionWords(); {
	case r == nil:
		return s
	case speedsUp && electrical.Shows(-r.MarginKW):
		return s + fmt.Sprintf("; %.1f kW too small if all consumers drop off", -r.MarginKW)
	case words != "":
		return s + "; " + words
	}
	return s + fmt.Sprintf("; could take everything with %.1f kW to spare", r.MarginKW)
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

// plug is the way from pond to plug: the heads with what is lost at each step, then the power, and who takes it.
func (p page) plug(w int) []string {
	path := p.facts.Path
	if path == nil {
		return nil
	}
	lines := []string{ui.Section(p.common.Theme, "Pond to plug", "", w)}
	said := append(p.heads(path), p.powers(path))
	if words := p.apart(path); words != "" {
		said = append(said, words)
	}
	for _, s := range said {
		for i, l := range text.Wrap(s, max(10, w-3)) {
			indent := " "
			if i > 0 {
				indent = "  "
			}
			lines = append(lines, indent+l)
		}
	}
	return lines
}

// arrow stands between two steps, on the line of the step before it.
const arrow = text.NBSP + "> "

// whole keeps a number and its unit on one line.
func whole(s string) string { return strings.ReplaceAll(s, " ", text.NBSP) }

// heads follows the head: one line where all units share it, else the pond and the screen, and a line for each unit.
func (p page) heads(path *assess.Path) []string {
	level := quantity.Info{Unit: quantity.Metre, Digits: 2}
	flow := quantity.Info{Unit: quantity.LitrePerSecond, Digits: 0}
	head := func(m float64) string { return whole(estimate(level, m, p.common.Units)) }
	start := "pond " + head(path.PondLevelM)
	if path.GrossHeadM != nil {
		start += ", gross head " + head(*path.GrossHeadM)
	}
	if path.ScreenLossM != nil {
		start += arrow + "screen " + p.screenLoss(path, head)
	}
	way := func(pipe, net, lps float64) string {
		return "pipe " + head(-pipe) + arrow + "net head " + head(net) + ", " + whole(estimate(flow, lps, p.common.Units))
	}
	if path.NetHeadM != nil && path.FrictionLossM != nil && path.MinorLossM != nil {
		return []string{start + arrow + way(*path.FrictionLossM+*path.MinorLossM, *path.NetHeadM, path.FlowLps)}
	}
	out := []string{start + arrow + whole(estimate(flow, path.FlowLps, p.common.Units))}
	for _, u := range path.Units {
		out = append(out, "unit "+u.ID+": gross head "+head(u.GrossHeadM)+arrow+way(u.FrictionLossM+u.MinorLossM, u.NetHeadM, u.FlowLps))
	}
	return out
}

// screenLoss says what the screen takes and how much of it is clear; where that was read long ago, between what it may lie, and what
// the rest of the way is worked out with.
func (p page) screenLoss(path *assess.Path, head func(m float64) string) string {
	old := path.OldScreen
	if old == nil {
		return head(-*path.ScreenLossM) + ", " + path.ScreenClear()
	}
	return fmt.Sprintf("perhaps %s to %s, read %s ago; the middle, %s, is taken", head(-old.LossM.P10), head(-old.LossM.P90), assess.Span(old.Ago), head(-*path.ScreenLossM))
}

// powers follows the power, from the water's to the consumers' and the ballast's as read.
func (p page) powers(path *assess.Path) string {
	st := path.Steps
	lost := func(label string, kw float64) string { return label + text.NBSP + minus(kw) }
	parts := []string{whole(fmt.Sprintf("water %.1f kW", st.AtPond)), lost("screen", st.Screen), lost("pipe", st.Friction+st.Fittings),
		lost("machine", st.Machine), whole(fmt.Sprintf("shaft %.1f", path.ShaftKW)), lost("generator", st.Generator), whole(fmt.Sprintf("plug %.1f kW", st.AtPlug))}
	if path.ScreenLossM == nil {
		parts = append(parts[:1], parts[2:]...)
	}
	s := strings.Join(parts, arrow)
	if path.WaterToWire != nil {
		s += fmt.Sprintf(" (%.0f"+text.NBSP+"%%)", 100**path.WaterToWire)
	}
	var takers []string
	for _, t := range []struct {
		name string
		kw   *float64
	}{{"consumers", path.LoadKW}, {"ballast", path.Dumped}} {
		if t.kw != nil {
			takers = append(takers, whole(fmt.Sprintf("%s %.1f", t.name, *t.kw)))
		}
	}
	if len(takers) == 0 {
		return s
	}
	return s + arrow + strings.Join(takers, ", ") + text.NBSP + "kW as read"
}

// Where what was read lies farther from the model's power than both of these, it is said.
const apartKW, apartShare = 0.2, 0.05

// apart says in a sentence where consumers and ballast together were read to take another power than the model gives.
func (p page) apart(path *assess.Path) string {
	pw := p.facts.Power
	if path.LoadKW == nil || path.Dumped == nil || pw == nil || path.OldScreen != nil { // then the model's power is a guess itself
		return ""
	}
	read, gives := *path.LoadKW+*path.Dumped, path.Steps.AtPlug
	if d := math.Abs(read - gives); d < apartKW || d < apartShare*gives {
		return ""
	}
	more := "more"
	if read < gives {
		more = "less"
	}
	return fmt.Sprintf("Consumers and ballast took %s when they were read, %s ago: %s %s than the plant model gives.",
		whole(fmt.Sprintf("%.1f kW", read)), assess.Span(p.facts.At.Sub(pw.Time)), whole(fmt.Sprintf("%.1f kW", math.Abs(read-gives))), more)
}

// minus writes what a step takes away; nothing is 0.0, without a sign.
func minus(kw float64) string {
	if s := fmt.Sprintf("%.1f", kw); s != "0.0" && s != "-0.0" {
		return fmt.Sprintf("%.1f", -kw)
	}
	return "0.0"
}

// screenSection is what the readings tell of the screen: its loss and clear share, how it grows, and the velocity in front of it.
func (p page) screenSection(w int) []string {
	s := p.facts.Screen
	if s == nil || s.Loss == nil {
		return nil
	}
	out := []string{ui.Section(p.common.Theme, "Screen", "", w)}
	for _, words := range []string{
		assess.ScreenLoss(s.Loss, p.facts.At, p.common.Units), assess.ScreenTrend(s.Loss, p.common.Location), assess.ScreenApproach(s.Loss, p.common.Units),
	} {
		if words == "" {
			continue
		}
		for i, l := range text.Wrap(strings.ToUpper(words[:1])+words[1:]+".", max(10, w-3)) {
			indent := " "
			if i > 0 {
				indent = "  "
			}
			out = append(out, indent+l)
		}
	}
	if len(out) == 1 {
		return nil
	}
	return out
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
