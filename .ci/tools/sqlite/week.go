package main

import (
	"database/sql"
	"fmt"
	"strings"
	"time"

	"example.org/headpond/model/week"
)

// periodSQL asks of one stretch of time what the core of a review needs: how many rounds, the energy used by the trapezoid
// over stretches of at most 36 hours, the energy that the meter counted, the time in the bands of voltage and frequency, and the
// extremes of six readings. It is asked twice, for the period and for the one before it, as the review does.
var periodSQL = func() string {
	extremes := ""
	for _, column := range []string{"volts", "hertz", "pressure_kpa", "pond_level_m", "load_kw", "A.bearing_c"} {
		extremes += fmt.Sprintf(", min(%q), max(%q)", column, column)
	}
	return `WITH stretch AS (
	SELECT *, lead(time) OVER later - time AS seconds, lead(load_kw) OVER later AS load_after
	FROM rounds WHERE time >= ? AND time < ? WINDOW later AS (ORDER BY time))
SELECT count(*), total((load_kw + load_after) / 2 * seconds / 3600) FILTER (WHERE seconds <= 129600),
	max(load_energy_kwh) - min(load_energy_kwh),
	total(seconds) FILTER (WHERE volts BETWEEN 228 AND 252), total(seconds) FILTER (WHERE hertz BETWEEN 58.8 AND 61.2),
	total(seconds) FILTER (WHERE volts IS NOT NULL), total(seconds) FILTER (WHERE hertz IS NOT NULL)` + extremes + " FROM stretch"
}()

// review asks for a whole review, which also tells stops, clearings and their gain, running hours, water, permit, upkeep, money
// and what to decide; SQLite is asked for the core above. The answers are the rounds of the period.
func (a asker) review(name string, span week.Span) question {
	from, before, err := week.Bounds(span, dusk.In(a.m.plant.Location), a.m.plant.Location)
	rounds := 0.0
	for _, r := range a.m.rounds {
		if !r.Time.Before(from) && r.Time.Before(dusk) {
			rounds++
		}
	}
	return a.both(question{name: name,
		book: func() (float64, error) {
			if err != nil {
				return 0, err
			}
			in, err := a.m.book.Week(a.ctx, week.Of{Span: span, At: dusk.In(a.m.plant.Location)})
			if err != nil {
				return 0, err
			}
			_, err = week.Report(a.ctx, in)
			return rounds, err
		},
	}, func(d *sql.DB) (float64, error) {
		n, err := a.period(d, from, dusk)
		if err != nil {
			return 0, err
		}
		_, err = a.period(d, before, from)
		return n, err
	})
}

// period asks for one period and returns how many rounds it has.
func (a asker) period(d *sql.DB, from, to time.Time) (n float64, err error) {
	cells := make([]sql.NullFloat64, 7+strings.Count(periodSQL, "min(\"")+strings.Count(periodSQL, "max(\""))
	into := make([]any, len(cells))
	for i := range cells {
		into[i] = &cells[i]
	}
	err = d.QueryRowContext(a.ctx, periodSQL, from.Unix(), to.Unix()).Scan(into...)
	return cells[0].Float64, err
}
