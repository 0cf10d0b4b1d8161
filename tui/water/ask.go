package waterview

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
)

// question is what is asked beyond the forecast as things are. The zero value asks nothing.
type question struct {
	until     time.Time // zero: not asked
	bypassLps float64
	bypass    bool // another bypass is asked about
	rainMM    float64
}

// any reports whether something is asked.
func (q question) any() bool { return q != question{} }

// whatIf is the part that changes the future.
func (q question) whatIf() water.WhatIf {
	w := water.WhatIf{RainMM: q.rainMM}
	if q.bypass {
		w.BypassLps = &q.bypassLps
	}
	return w
}

// answer is a forecast for a question, with the filtered log that it was made from, for the next one.
type answer struct {
	version int
	asked   question
	model   *water.Model
	facts   *water.Facts
	err     error
}

// asker has one forecast under way at a time, because a filtered log is not for several at once. What is asked meanwhile
// cancels it; only the newest question is asked next. It is a value, used from Update alone.
type asker struct {
	version int // of the load that is asked about
	history *record.History
	model   *water.Model
	busy    bool
	cancel  context.CancelFunc
}

// load takes a newer log; an answer that is still under way is about the older one.
func (a asker) load(version int, h *record.History) asker {
	a.stop()
	a.version, a.history, a.model = version, h, nil
	return a
}

// stop ends the forecast under way; its answer still comes, without facts.
func (a asker) stop() {
	if a.cancel != nil {
		a.cancel()
	}
}

// ask starts a forecast, or stops the one under way so that this one can follow it.
func (a asker) ask(q question) (asker, tea.Cmd) {
	if a.history == nil {
		return a, nil
	}
	if a.busy {
		a.stop()
		return a, nil
	}
	ctx, cancel := context.WithCancel(context.Background())
	a.busy, a.cancel = true, cancel
	version, model, history := a.version, a.model, a.history
	return a, func() tea.Msg {
		defer cancel()
		return forecast(ctx, version, history, model, q)
	}
}

// answered takes an answer in; fits is false for one about an older log.
func (a asker) answered(m answer) (_ asker, fits bool) {
	a.busy, a.cancel = false, nil
	if m.version != a.version {
		return a, false
	}
	if m.model != nil {
		a.model = m.model
	}
	return a, true
}

// forecast answers a question, outside the drawing loop.
func forecast(ctx context.Context, version int, h *record.History, m *water.Model, q question) answer {
	out := answer{version: version, asked: q, model: m}
	if out.model == nil {
		if out.model, out.err = assess.Of(h).PrepareWater(ctx); out.err != nil {
			out.model = nil
			return out
		}
	}
	out.facts, out.err = out.model.Forecast(ctx, water.Options{Fan: true, Until: q.until, WhatIf: q.whatIf()})
	return out
}

// parseDate reads a wanted date: as everywhere ("2026-08-28", "+14d"), so many days ("14", "14 days"), or a day and month
// ("28 Aug", "28 August 2027"), the next that comes. A date alone is the end of that day.
func parseDate(s string, now time.Time, loc *time.Location) (time.Time, error) {
	typed := strings.TrimSpace(s)
	if n, ok := days(typed); ok {
		typed = now.In(loc).AddDate(0, 0, n).Format(time.DateOnly)
	}
	if t, ok := dayAndMonth(typed, now.In(loc)); ok {
		typed = t
	}
	at, err := localtime.End(typed, now, loc)
	switch {
	case err != nil:
		return time.Time{}, errors.New("expected 28 Aug, or 14 (days)")
	case !at.After(now):
		return time.Time{}, errors.New("that is not in the future")
	case at.Sub(now) > horizon:
		return time.Time{}, errors.New("a forecast goes no further than a year")
	}
	return at, nil
}

// horizon is how far the forecast goes, the model's default.
const horizon = 365 * 24 * time.Hour

// days reads a number of days or weeks: "14", "14 days", "2 weeks".
func days(s string) (n int, ok bool) {
	number := strings.TrimRight(strings.ToLower(s), "abcdefghijklmnopqrstuvwxyz")
	word := strings.ToLower(s)[len(number):]
	n, err := strconv.Atoi(strings.TrimSpace(number))
	if err != nil || n < 0 || n > 9999 {
		return 0, false
	}
	switch word {
	case "", "d", "day", "days":
		return n, true
	case "w", "week", "weeks":
		return 7 * n, true
	}
	return 0, false
}

// dayAndMonth reads "28 Aug" or "28 August 2027" as the date that comes next, in the form of localtime.
func dayAndMonth(s string, now time.Time) (string, bool) {
	words := strings.Fields(s)
	if len(words) < 2 || len(words) > 3 || len(words[1]) < 3 {
		return "", false
	}
	for _, layout := range []string{"2 Jan 2006", "2 January 2006"} {
		if len(words) == 3 {
			if t, err := time.Parse(layout, title(words)); err == nil {
				return t.Format(time.DateOnly), true
			}
			continue
		}
		for year := now.Year(); year <= now.Year()+1; year++ {
			t, err := time.Parse(layout, title(append(words[:2:2], strconv.Itoa(year))))
			if err == nil && t.Format(time.DateOnly) >= now.Format(time.DateOnly) {
				return t.Format(time.DateOnly), true
			}
		}
	}
	return "", false
}

// title writes the month with a capital letter, as time.Parse wants it.
func title(words []string) string {
	w := append([]string(nil), words...)
	w[1] = strings.ToUpper(w[1][:1]) + strings.ToLower(w[1][1:])
	return strings.Join(w, " ")
}

// parseFlow reads a bypass, in the system's unit where none is typed, and returns L/s.
func parseFlow(s string, units quantity.System) (float64, error) {
	return parse(quantity.BypassLps, s, units)
}

// parseRain reads rain and returns mm.
func parseRain(s string, units quantity.System) (float64, error) {
	return parse(quantity.RainMM, s, units)
}

// most bounds what-ifs: a flow, L/s, or rain of a day, mm, beyond it is a slip of the keyboard.
const most = 2000

func parse(name quantity.Name, s string, units quantity.System) (float64, error) {
	info, _ := quantity.Lookup(name)
	v, err := quantity.ParseValue(info, s, units)
	switch {
	case err != nil:
		return 0, err
	case v.Kept < 0:
		return 0, errors.New("it cannot be less than nothing")
	case v.Kept > most:
		return 0, fmt.Errorf("more than can be: at most %d %s", most, info.Unit)
	}
	return v.Kept, nil
}
