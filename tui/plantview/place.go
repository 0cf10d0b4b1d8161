package plantview

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
)

func (p page) supply(w int) []string {
	s := p.plant.Supply
	trip := func(v *[2]float64, unit string) string {
		if v == nil {
			return ""
		}
		return fmt.Sprintf("below %s or above %s%s%s", plain(v[0]), plain(v[1]), text.NBSP, unit)
	}
	return p.section("Supply", w,
		row{"Common bus", fmt.Sprintf("%s V, %s Hz", plain(s.Volts), plain(s.Hertz))},
		row{"Voltage trips", trip(s.TripVolts, "V")},
		row{"Frequency trips", trip(s.TripHertz, "Hz")})
}

// bands lists the limits in force, with where they come from.
func (p page) bands(w int) []string {
	bands := tolerance.For(p.plant)
	set := bands.Set()
	rows := []row{{"Built-in set", fmt.Sprintf("%s: %s (%s)", set.Name, set.Title, set.Year)}}
	keys := []quantity.Key{quantity.Key(quantity.Volts), quantity.Key(quantity.Hertz)}
	for _, b := range p.plant.Bands {
		if k := quantity.Key(b.Quantity); !slices.Contains(keys, k) {
			keys = append(keys, k)
		}
	}
	for _, k := range keys {
		b, ok := bands.For(k)
		if !ok {
			continue
		}
		info, _ := quantity.Lookup(k.Name())
		unit := text.NBSP + string(info.ShowUnit(p.common.Units))
		s := "in " + assess.BandWords(b, info, p.common.Units) + unit
		near := tolerance.Band{InMin: b.NearMin, InMax: b.NearMax}
		if words := assess.BandWords(near, info, p.common.Units); words != assess.BandWords(b, info, p.common.Units) {
			s += ", near " + words + unit
		}
		rows = append(rows, row{assess.LabelOf(k), s}, row{"", b.Source})
	}
	return p.section("Bands", w, rows...)
}

func (p page) pond(w int) []string {
	d := p.plant.Pond
	stop := ""
	if level, from, ok := p.plant.StopLevel(); ok {
		stop = p.num(level, quantity.Metre, 2)
		if from == plant.StopFromSubmergence {
			stop += ", from the intake's submergence"
		}
	}
	crest := p.given(d.CrestM, quantity.Metre, 2)
	if d.CrestM != nil && d.CrestLengthM > 0 {
		crest += fmt.Sprintf(", %s long, coefficient %s", p.num(d.CrestLengthM, quantity.Metre, 1), plain(d.CrestCoefficient))
	}
	rows := []row{{"Spillway's crest", crest}, {"Running stops at", stop},
		{"Always past the plant", p.num(d.BypassLps, quantity.LitrePerSecond, 1)},
		{"Seepage", p.num(d.SeepageLps, quantity.LitrePerSecond, 1)},
		{"Evaporation", evaporation(d.EvaporationMMDay)}}
	if d.PermitLowM != nil || d.PermitHighM != nil {
		rows = append(rows, row{"Permit's levels", p.permit(d)})
	}
	if d.CatchmentKM2 != nil {
		rows = append(rows, row{"Catchment", plain(*d.CatchmentKM2) + text.NBSP + "km²"})
	}
	return append(p.section("Pond", w, rows...), p.stage(w)...)
}

func (p page) permit(d plant.Pond) string {
	low, high := p.given(d.PermitLowM, quantity.Metre, 2), p.given(d.PermitHighM, quantity.Metre, 2)
	switch {
	case high == "":
		return "not below " + low
	case low == "":
		return "not above " + high
	}
	return "not below " + low + ", not above " + high
}

func evaporation(months *[12]float64) string {
	if months == nil {
		return "none is reckoned"
	}
	parts := make([]string, len(months))
	for i, v := range months {
		parts[i] = plain(v)
	}
	return strings.Join(parts, " ") + text.NBSP + "mm a day, January first"
}

// stage draws the pond as bars: at each level of the table and of the plant the water that is stored above the table's lowest
// row, the highest level on top as in the pond.
func (p page) stage(w int) []string {
	if len(p.plant.Pond.Stage) == 0 {
		return p.section("Water stored", w, row{"Stage table", "not given: neither volumes nor days left can be told"})
	}
	st, err := pond.NewStage(p.plant.Pond.Stage)
	if err != nil {
		return p.section("Water stored", w, row{"Stage table", err.Error()})
	}
	marks := p.marks(st)
	full := st.VolumeM3(marks[0].levelM)
	bars := make([]chart.Bar, len(marks))
	for i, m := range marks {
		v := st.VolumeM3(m.levelM)
		if math.Abs(v) < 1e-6*full { // what rounding left of nothing
			v = 0
		}
		bars[i] = chart.Bar{Label: strings.TrimSpace(fmt.Sprintf("%s %s", text.PadLeft(p.num(m.levelM, quantity.Metre, 2), 8), m.name)), Value: v,
			Shown: p.common.Units.ShowVolume(v, " ")}
		if m.table {
			bars[i].Shown += ", " + p.common.Units.ShowArea(st.AreaM2(m.levelM), " ")
		}
	}
	title := "Water stored above " + p.num(st.LowM(), quantity.Metre, 2) + ", and surface"
	out := []string{ui.Section(p.common.Theme, strings.ReplaceAll(title, text.NBSP, " "), "", w)}
	for _, l := range strings.Split(chart.Bars(p.common.Theme, full, max(1, w-1), bars...), "\n") {
		out = append(out, strings.TrimRight(" "+strings.ReplaceAll(l, text.NBSP, " "), " "))
	}
	return out
}

// mark is a level of the stage figure.
type mark struct {
	levelM float64
	name   string
	table  bool
}

// marks are the levels of the stage table and those that matter, highest first. Levels that are one have one mark.
func (p page) marks(st *pond.Stage) []mark {
	var list []mark
	add := func(level float64, name string) {
		for i := range list {
			if math.Abs(list[i].levelM-level) < 1e-9 {
				list[i].name = strings.TrimLeft(list[i].name+", "+name, ", ")
				return
			}
		}
		list = append(list, mark{levelM: level, name: name})
	}
	for _, r := range p.plant.Pond.Stage {
		list = append(list, mark{levelM: r.LevelM, table: true})
	}
	d := p.plant.Pond
	for _, l := range []struct {
		level *float64
		name  string
	}{{d.CrestM, "crest"}, {d.PermitHighM, "permit"}, {d.PermitLowM, "permit"}} {
		if l.level != nil {
			add(*l.level, l.name)
		}
	}
	if stop, _, ok := p.plant.StopLevel(); ok {
		add(stop, "stop")
	}
	slices.SortFunc(list, func(a, b mark) int {
		switch {
		case a.levelM > b.levelM:
			return -1
		case a.levelM < b.levelM:
			return 1
		}
		return 0
	})
	return list
}

func (p page) intake(w int) []string {
	in := p.plant.Intake
	screen := ""
	if in.ScreenM2 != nil {
		screen = fmt.Sprintf("%s gross, %s %% of it open when clean", p.common.Units.ShowArea(*in.ScreenM2, text.NBSP), plain(100*in.OpenShare))
		if in.HoleMM != nil {
			screen += fmt.Sprintf(", holes of %s%smm", plain(*in.HoleMM), text.NBSP)
		}
	}
	return p.section("Intake and screen", w,
		row{"Mouth's centre line", p.given(in.CentrelineM, quantity.Metre, 2)},
		row{"Mouth's diameter", p.given(in.DiameterM, quantity.Metre, 2)},
		row{"Screen", screen})
}
