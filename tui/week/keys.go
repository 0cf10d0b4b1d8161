package weekview

import (
	"cmp"
	"context"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Bindings lists the keys.
func (s Screen) Bindings() []ui.Binding {
	if s.typing {
		return []ui.Binding{
			{Action: "week.write", Keys: []string{"enter"}, Short: "write", Long: "Write the page to the file that is typed"},
			{Action: "week.leave", Keys: []string{"esc"}, Short: "never mind", Long: "Write no page"},
		}
	}
	none := ""
	if s.report.Review == nil {
		none = "there is no review yet"
	}
	scroll := []string{"down", "up", "pgdown", "pgup", "home", "end"}
	if s.walking {
		scroll = scroll[:2]
	}
	list := append(s.moving(none), s.spans()...)
	if !s.walking {
		list = append([]ui.Binding{s.stopping()}, list...)
	}
	return append(list,
		ui.Binding{Action: "week.chart", Keys: []string{"c"}, Short: "chart", Long: "Show the next chart: power, voltage, frequency, pressure, pond", Off: none},
		ui.Binding{Action: "week.walk", Keys: []string{"left", "right"}, Short: "walk", Long: "Walk along the chart from reading to reading and read the values", Off: none},
		ui.Binding{Action: "week.page", Keys: []string{"p", "f2"}, Short: "write page", Long: "Write this review as one page for a browser or a printer", Off: s.noPage(none)},
		ui.Binding{Action: "week.scroll", Keys: scroll, Short: "scroll", Long: "See what is further down", Hidden: true},
	)
}

// Modes lists the keys of the parts that are not always on show, for the key table.
func (s Screen) Modes() []ui.HelpGroup {
	walking, typing := s, s
	walking.walking, typing.typing = true, true
	return []ui.HelpGroup{
		{Title: "on a chart of the week", Bindings: walking.moving("")[:onChart]},
		{Title: "the file of the page", Bindings: typing.Bindings()},
	}
}

// onChart is how many keys the cursor has for itself.
const onChart = 3

// moving are the keys that come first: those of the cursor while it has them, and the way to other periods.
func (s Screen) moving(none string) []ui.Binding {
	var list []ui.Binding
	if s.walking {
		enter := ui.Binding{Action: "week.open", Keys: []string{"enter"}, Short: "open round", Long: "Open the round under the cursor in the Log"}
		if s.report.Review != nil && s.page().byDays() {
			enter.Short, enter.Long = "that week", "Show the week that ends with the day under the cursor"
		}
		switch at, ok := s.stop(); {
		case !ok:
			enter.Off = "the cursor stands on nothing"
		case at.f != nil:
			enter.Off = "the cursor stands on a forecast, which has no round"
		}
		list = append(list, enter,
			ui.Binding{Action: "week.leave", Keys: []string{"esc"}, Short: "leave chart", Long: "Give the keys back to the page"},
			ui.Binding{Action: "week.leap", Keys: []string{"pgup", "pgdown", "home", "end"}, Short: "a day", Long: "Walk by a day (by a month along a year), or to the ends", Hidden: true})
	}
	later := none
	if none == "" && s.end.IsZero() {
		later = "this is the newest"
	}
	return append(list,
		ui.Binding{Action: "week.earlier", Keys: []string{"e"}, Short: "earlier", Long: "Show the period before this one", Off: none},
		ui.Binding{Action: "week.later", Keys: []string{"l"}, Short: "later", Long: "Show the period after this one", Off: later},
		ui.Binding{Action: "week.newest", Keys: []string{"t"}, Short: "to now", Long: "Show the period that ends now", Off: later, Hidden: true})
}

// spans are the keys of the lengths; the one on show is left off the bottom line.
func (s Screen) spans() []ui.Binding {
	list := []ui.Binding{
		{Action: "week.week", Keys: []string{"w"}, Short: "week", Long: "Review a week"},
		{Action: "week.month", Keys: []string{"m"}, Short: "month", Long: "Review a month"},
		{Action: "week.year", Keys: []string{"y"}, Short: "year", Long: "Review a year"},
	}
	for i, x := range []week.Span{week.Week, week.Month, week.Year} {
		list[i].Hidden = x == s.span
	}
	return list
}

// stopping is the key that gives up a long work; it is on the bottom line while there is one.
func (s Screen) stopping() ui.Binding {
	b := ui.Binding{Action: "week.stop", Keys: []string{"esc"}, Short: "stop", Long: "Stop working out a long review"}
	if s.job.far() == "" {
		b.Off, b.Hidden = "nothing is being worked out that takes long", true
	}
	return b
}

// noPage is why no page can be written.
func (s Screen) noPage(none string) string {
	switch {
	case none != "":
		return none
	case s.desk.WritePage == nil:
		return "no page can be written from here; use: headpond week --html FILE"
	}
	return ""
}

// act carries out an action.
func (s Screen) act(action string, key tea.KeyMsg) (ui.Screen, tea.Cmd) {
	switch action {
	case "week.earlier":
		return s.turn(s.span, s.report.Review.From)
	case "week.later":
		return s.turn(s.span, after(s.Local(s.report.Review.To), s.span))
	case "week.newest":
		return s.turn(s.span, time.Time{})
	case "week.week":
		return s.turn(week.Week, s.end)
	case "week.month":
		return s.turn(week.Month, s.end)
	case "week.year":
		return s.turn(week.Year, s.end)
	case "week.chart":
		return s.nextChart(), nil
	case "week.walk", "week.leap":
		return s.walk(key), nil
	case "week.open":
		return s.open()
	case "week.page":
		return s.askPath(), nil
	case "week.write":
		return s.write()
	case "week.stop":
		return s.stopped()
	case "week.leave":
		s.walking, s.typing = false, false
	case "week.scroll":
		total, h := s.scrolled()
		s.scroll, _ = s.scroll.Key(key, total, h)
	}
	return s, nil
}

// after is the end of the period after the one that ends at t.
func after(t time.Time, span week.Span) time.Time {
	switch span {
	case week.Month:
		return t.AddDate(0, 1, 0)
	case week.Year:
		return t.AddDate(1, 0, 0)
	case week.Week:
	}
	return t.AddDate(0, 0, 7)
}

// turn shows another period; one that would end in the future ends now.
func (s Screen) turn(span week.Span, end time.Time) (ui.Screen, tea.Cmd) {
	if !end.Before(s.Now()) {
		end = time.Time{}
	}
	if span != s.span {
		s.cursor.At = time.Time{}
	}
	s.span, s.end, s.scroll = span, end, ui.Scroll{}
	return s.ask(false)
}

// nextChart shows the next chart that has something, with the cursor near where it was.
func (s Screen) nextChart() Screen {
	if s.walking || s.wide() {
		s.kind = s.after(s.kind)
	}
	s.walking = true
	s.cursor = s.cursor.Nearest(s.figure().times())
	return s
}

// after is the chart after another; those without a reading are passed over.
func (s Screen) after(k kind) kind {
	for range kinds {
		if k = (k + 1) % kinds; len(s.charts[k].stops) > 0 {
			break
		}
	}
	return k
}

// walk moves the cursor; the first key of it opens the chart.
func (s Screen) walk(key tea.KeyMsg) Screen {
	f := s.figure()
	page := 24 * time.Hour
	if s.page().byDays() {
		page *= 30
	}
	s.walking = true
	if s.cursor.At.IsZero() && key.Type != tea.KeyHome {
		s.cursor.At = f.last() // the newest reading, not the end of a forecast
		return s
	}
	s.cursor, _ = s.cursor.Key(key, f.times(), page)
	return s
}

// open shows what is under the cursor: a round in the Log, a day as the end of its week.
func (s Screen) open() (ui.Screen, tea.Cmd) {
	at, ok := s.stop()
	switch {
	case !ok || at.f != nil:
		return s, nil
	case at.id != "":
		return s, desk.Go("log", at.id)
	}
	return s.turn(week.Week, at.to)
}

// askPath opens the field for the page's file.
func (s Screen) askPath() Screen {
	s.typing = true
	s.field = form.NewField(form.Spec{Key: "page", Label: "Write the page to", Kind: form.Text, Hint: "empty: " + cmp.Or(s.desk.PagePlace, "beside the book")})
	return s
}

// write writes the page outside the drawing loop.
func (s Screen) write() (ui.Screen, tea.Cmd) {
	s.typing = false
	write, path := s.desk.WritePage, s.field.Value()
	if write == nil || s.report.Review == nil {
		return s, nil
	}
	r := desk.Review{Of: s.of, Review: s.report.Review, Plant: s.report.Plant, Pending: s.report.Pending, LeftOut: s.report.LeftOut}
	return s, func() tea.Msg {
		name, err := write(context.Background(), r, path)
		if err != nil {
			return ui.Notice{Text: "No page was written: " + text.Show(err.Error()), State: ui.Out}
		}
		if r.Pending {
			return ui.Notice{Text: "Written without how long the water lasts, which is still being worked out: " + text.Show(name) + ". Write it again when it stands here.", State: ui.Near}
		}
		if r.LeftOut {
			return ui.Notice{Text: "Written without how long the water lasts: " + text.Show(name), State: ui.Near}
		}
		return ui.Notice{Text: "Written: " + text.Show(name), State: ui.Good}
	}
}
