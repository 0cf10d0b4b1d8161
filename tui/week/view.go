package weekview

import (
	"slices"
	"strings"

	"example.org/headpond/tui/ui"
)

// wideEnough is the width from which the charts stand beside the page.
const wideEnough = 112

// The parts of a wide window, in cells, and of a chart's place, in lines.
const (
	pageCells    = 60
	chartCells   = 48
	readoutLines = 4
	smallChart   = 6 // the others, with their heading
	largeChart   = 12
)

func (s Screen) wide() bool { return s.w >= wideEnough && s.report.Review != nil }

// View draws the page, the chart, or both side by side.
func (s Screen) View() string {
	foot := s.foot()
	h := s.h - len(foot)
	var view string
	switch {
	case s.wide():
		view = ui.Columns(s.Theme, s.w, 3,
			ui.Column{Min: pageCells, Weight: 1, Body: func(w int) string { return s.scroll.View(s.Theme, s.lines(w), w, h) }},
			ui.Column{Min: chartCells, Weight: 1, Body: func(w int) string { return strings.Join(s.allCharts(w, h), "\n") }})
	case s.walking && s.report.Review != nil && s.err == nil:
		view = strings.Join(s.oneChart(s.w, h), "\n")
	default:
		view = s.scroll.View(s.Theme, s.lines(s.w), s.w, h)
	}
	if len(foot) == 0 {
		return ui.Clamp(s.Theme, view, s.w, s.h)
	}
	if missing := h - 1 - strings.Count(view, "\n"); missing > 0 {
		view += strings.Repeat("\n", missing)
	}
	return ui.Clamp(s.Theme, view+"\n"+strings.Join(foot, "\n"), s.w, s.h)
}

// foot is the field for the page's file, while it is typed.
func (s Screen) foot() []string {
	if !s.typing || s.h < 2 {
		return nil
	}
	return []string{s.Theme.Cut(strings.SplitN(s.field.View(s.Theme, s.w, true), "\n", 2)[0], s.w)}
}

// scrolled is how many lines the page has and how many are shown.
func (s Screen) scrolled() (total, h int) {
	w := s.w
	if s.wide() {
		w = pageCells + (s.w-3-pageCells-chartCells)/2
	}
	return len(s.lines(w)), s.h - len(s.foot())
}

// oneChart is the picked chart with all the room, and what stands under its cursor.
func (s Screen) oneChart(w, h int) []string {
	f := s.figure()
	at, ok := f.at(s.cursor.At)
	lines := min(readoutLines, max(0, h-largeChart+readoutLines))
	out := []string{s.chartHead(f.kind, true, w)}
	room := max(1, h-1-lines)
	out = join(out, strings.Split(f.chart.View(s.Theme, w, room), "\n"), s.page().under(f, at, ok, w, lines))
	return out[:min(len(out), max(0, h))]
}

// allCharts are the picked chart, and under it the next ones as far as there is room.
func (s Screen) allCharts(w, h int) []string {
	small := max(0, min(int(kinds)-1, (h-largeChart-readoutLines-1)/smallChart))
	out := s.oneChart(w, h-small*smallChart)
	k := s.kind
	for range small {
		if k = s.after(k); k == s.kind {
			break
		}
		f := s.charts[k]
		f.chart.Limits = slices.Clone(f.chart.Limits)
		for i := range f.chart.Limits {
			f.chart.Limits[i].Name = "" // their lines say enough in so few rows
		}
		f.chart.Cursor = s.cursor.Nearest(f.times()).At
		out = join(out, []string{s.chartHead(k, false, w)}, strings.Split(f.chart.View(s.Theme, w, smallChart-1), "\n"))
	}
	return out
}

// chartHead names a chart with its unit; the picked one says so by a sign.
func (s Screen) chartHead(k kind, picked bool, w int) string {
	title := k.title()
	if picked {
		title = s.Theme.Glyphs.Select + " " + title
	} else if u := s.charts[k].chart.Unit; u != "" {
		title += ", " + u
	}
	return ui.Section(s.Theme, title, "", w)
}
