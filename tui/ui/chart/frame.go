package chart

import (
	"math"
	"strings"
	"time"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// frame is what stands round the plot: the legend above, the values at the left, the times below.
type frame struct {
	t            ui.Theme
	w, h         int
	plotW, plotH int
	labelW       int  // the values' labels; 0 where there is no room for them
	legend       bool // the line above
	axis         bool // the time axis: a rule and its labels
	lo, hi       float64
	t0, t1       float64
	from, to     time.Time
	values       []tick
	digits       int
}

// newFrame shares the room: the plot comes first, then the time axis, the values, the legend.
func newFrame(t ui.Theme, w, h int, from, to time.Time, lo, hi float64) *frame {
	f := &frame{t: t, w: w, h: h, plotW: w, plotH: h, lo: lo, hi: hi, from: from, to: to, t0: seconds(from), t1: seconds(to)}
	if w >= 12 && h >= 5 {
		f.axis, f.plotH = true, h-2
	}
	if f.axis && h >= 6 {
		f.legend, f.plotH = true, f.plotH-1
	}
	f.values, f.digits = valueTicks(lo, hi, min(10, (f.plotH+1)/2))
	if f.axis {
		for _, v := range f.values {
			f.labelW = max(f.labelW, len(v.label))
		}
		if f.labelW = f.labelW + 1; f.labelW+8 > w {
			f.labelW = 0
		} else {
			f.plotW = w - f.labelW - 1
		}
	}
	return f
}

// join puts legend, values, plot and times together.
func (f *frame) join(p *plot, c Chart) string {
	var b strings.Builder
	if f.legend {
		b.WriteString(f.t.Fit(f.legendLine(c), f.w) + "\n")
	}
	labels := make([]string, f.plotH)
	for _, v := range f.values {
		labels[p.row(f.lo+v.at*(f.hi-f.lo))] = v.label
	}
	for y := range f.plotH {
		if y > 0 {
			b.WriteByte('\n')
		}
		if f.labelW > 0 {
			post := f.t.Glyphs.Vertical
			if labels[y] != "" {
				post = f.t.Glyphs.TeeLeft
			}
			b.WriteString(text.PadLeft(labels[y], f.labelW-1) + " " + f.t.Line.Render(post))
		}
		p.line(&b, y)
	}
	if f.axis {
		cursor := -1
		if _, at, ok := c.under(); ok {
			cursor = p.columnOf(at)
		}
		rule, times := f.timeAxis(c.Now, c.nowName(), cursor)
		b.WriteString("\n" + f.t.Line.Render(rule) + "\n" + times)
	}
	return b.String()
}

// legendLine names the unit, the series and the bands, and gives the values under the cursor.
func (f *frame) legendLine(c Chart) string {
	var items []string
	if c.Unit != "" {
		items = append(items, c.Unit)
	}
	onLine := false
	for i, s := range c.Series {
		item := text.Show(s.Name)
		if k := min(i, ui.SeriesCount-1); (len(c.Series) > 1 || f.t.ASCII) && item != "" {
			item = f.t.Series[k].Render(f.t.Glyphs.Marks[k]) + " " + item
		}
		if v, ok := valueAt(s, c.Cursor); ok {
			onLine = true
			item += " " + f.t.Strong.Render(number(v, f.digits+1))
		}
		if item != "" {
			items = append(items, item)
		}
	}
	for _, band := range c.Bands {
		if band.Name == "" {
			continue
		}
		item := f.t.Fill.Render(band.Fill.sample(f.t.ASCII)) + " " + text.Show(band.Name)
		if p, ok := bandAt(band, c.Cursor); ok && !onLine {
			item += " " + f.t.Strong.Render(f.share(p, len(c.Bands) > 1))
		}
		items = append(items, item)
	}
	items = append(items, eventNames(c.Events)...)
	line := strings.Join(items, "  ")
	if c.Cursor.IsZero() {
		return line
	}
	at := "  at " + c.Cursor.In(c.zone()).Format("Mon 2 Jan 15:04")
	if _, _, on := c.under(); on && text.Width(line)+text.Width(at) > f.w {
		return line // the time axis has a sign for it
	}
	return strings.TrimPrefix(line+at, "  ")
}

// valueAt returns a series' reading at an instant.
func valueAt(s Series, at time.Time) (float64, bool) {
	if at.IsZero() {
		return 0, false
	}
	for _, p := range s.Points {
		if p.At.Equal(at) && usable(p.Value) {
			return p.Value, true
		}
	}
	return 0, false
}

// share is an area's part of a stack, or the two ends of a single one.
func (f *frame) share(p BandPoint, stacked bool) string {
	lo, hi := math.Min(p.Low, p.High), math.Max(p.Low, p.High)
	if stacked {
		return number(hi-lo, f.digits+1)
	}
	return number(lo, f.digits+1) + " to " + number(hi, f.digits+1)
}

// bandAt returns an area's range at an instant.
func bandAt(b Band, at time.Time) (BandPoint, bool) {
	for _, p := range b.Points {
		if !at.IsZero() && p.At.Equal(at) && usable(p.Low) && usable(p.High) {
			return p, true
		}
	}
	return BandPoint{}, false
}

// timeAxis returns the rule with its marks, the cursor's column among them (-1 for none), and the labels under it. Where labels would touch, the name of now and dates stay.
func (f *frame) timeAxis(now time.Time, name string, cursor int) (rule, labels string) {
	g := f.t.Glyphs
	cells := make([]string, f.plotW)
	for i := range cells {
		cells[i] = g.Horizontal
	}
	row := []byte(strings.Repeat(" ", f.w))
	left := 0
	if f.labelW > 0 {
		left = f.labelW + 1
	}
	ticks := timeTicks(f.from, f.to, f.plotW)
	if !now.IsZero() {
		ticks = append(ticks, tick{at: (seconds(now) - f.t0) / (f.t1 - f.t0), label: name, rank: 2})
	}
	for rank := 2; rank >= 0; rank-- {
		for _, k := range ticks {
			x, ok := column(k.at, f.plotW)
			if !ok || k.rank != rank {
				continue
			}
			if f.write(row, left+x, k.label) {
				cells[x] = g.TeeDown
			}
		}
	}
	if cursor >= 0 && cursor < f.plotW {
		cells[cursor] = cursorSign
	}
	rule = strings.Join(cells, "")
	if left > 0 {
		rule = strings.Repeat(" ", f.labelW) + g.BottomLeft + rule
	}
	return rule, string(row)
}

// write puts an ASCII label under a mark, as nearly centred as the row allows, and reports whether it had room.
func (f *frame) write(row []byte, x int, label string) bool {
	start := max(0, min(x-len(label)/2, len(row)-len(label)))
	if len(label) > len(row) || math.Abs(float64(start+len(label)/2-x)) > float64(len(label)) {
		return false
	}
	for i := max(0, start-1); i < min(len(row), start+len(label)+1); i++ {
		if row[i] != ' ' {
			return false
		}
	}
	copy(row[start:], label)
	return true
}
