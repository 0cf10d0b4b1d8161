package main

import (
	"database/sql"
	"fmt"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// periodSQL asks of one stretch of time what the core of a review needs: how many rounds, the energy used by the trapezoid
// over stretches of at most 36 hours, the energy that the meter counted, the time in the bands of voltage and frequency, and the
// extremes of six readings. It is asked twice, for the period and for the one before it, as the review does.
var periodSQL = func() string {
	list := ""
	for _, column := range extremes {
		list += fmt.Sprintf(", min(%q), max(%q)", string(column), string(column))
	}
	return `WITH stretch AS (
	SELECT *, lead(time) OVER later - time AS seconds, lead(load_kw) OVER later AS load_after
	FROM rounds WHERE time >= ? AND time < ? WINDOW later AS (ORDER BY time))
SELECT count(*), total((load_kw + load_after) / 2 * seconds / 3600) FILTER (WHERE seconds <= 129600),
	max(load_energy_kwh) - min(load_energy_kwh),
	total(seconds) FILTER (WHERE volts BETWEEN 228 AND 252), total(seconds) FILTER (WHERE hertz BETWEEN 58.8 AND 61.2),
	total(seconds) FILTER (WHERE volts IS NOT NULL), total(seconds) FILTER (WHERE hertz IS NOT NULL)` + list + " FROM stretch"
}()

// extremes are the readings whose least and most are asked for.
var extremes = []quantity.Key{"volts", "hertz", "pressure_kpa", "pond_level_m", "load_kw", "A.bearing_c"}

// core is the answer to periodSQL: count, energy, metered energy, four times in seconds, then the least and most of each.
type core [7 + 2*6]float64

// sum makes one number of a core that differs when any of its numbers does, or when two are swapped.
func (c core) sum() (s float64) {
	for i, v := range c {
		s += float64(i+1) * v
	}
	return s
}

// coreOf works the same numbers out from the book's rounds; what was never read is 0, as SQLite's NULL is taken.
func (a asker) coreOf(from, to time.Time) (c core, err error) {
	var before record.Round
	begun := false
	var meter spread
	least := make([]spread, len(extremes))
	err = a.m.book.Rounds(a.ctx, from, to, func(r record.Round) error {
		c[0]++
		if begun {
			c.stretch(&before, &r)
		}
		before, begun = r, true
		meter.take(&r, "load_energy_kwh")
		for i, k := range extremes {
			least[i].take(&r, k)
		}
		return nil
	})
	c[2] = meter.most - meter.least
	for i, s := range least {
		c[7+2*i], c[8+2*i] = s.least, s.most
	}
	return c, err
}

// stretch adds the time between two rounds.
func (c *core) stretch(a, b *record.Round) {
	seconds := float64(b.Time.Unix() - a.Time.Unix())
	p, okP := a.Value("load_kw")
	q, okQ := b.Value("load_kw")
	if okP && okQ && seconds <= 129600 {
		c[1] += (p + q) / 2 * seconds / 3600
	}
	within := func(k quantity.Key, low, high float64, in, read *float64) {
		if v, ok := a.Value(k); ok {
			*read += seconds
			if v >= low && v <= high {
				*in += seconds
			}
		}
	}
	within("volts", voltsLeast, voltsMost, &c[3], &c[5])
	within("hertz", hertzLeast, hertzMost, &c[4], &c[6])
}

// spread is the least and the most of a reading.
type spread struct {
	least, most float64
	read        bool
}

func (s *spread) take(r *record.Round, k quantity.Key) {
	v, ok := r.Value(k)
	switch {
	case !ok:
	case !s.read:
		*s = spread{v, v, true}
	default:
		s.least, s.most = min(s.least, v), max(s.most, v)
	}
}

// numbers asks both for the very same numbers of a period and of the one before it.
func (a asker) numbers(name string, span week.Span) question {
	from, before, err := week.Bounds(span, dusk.In(a.m.plant.Location), a.m.plant.Location)
	both := func(ask func(from, to time.Time) (core, error)) (float64, error) {
		if err != nil {
			return 0, err
		}
		now, err := ask(from, dusk)
		if err != nil {
			return 0, err
		}
		then, err := ask(before, from)
		return now.sum() + then.sum()/7, err
	}
	return a.both(question{name: name, near: 1e-12, book: func() (float64, error) { return both(a.coreOf) }},
		func(d *sql.DB) (float64, error) {
			return both(func(from, to time.Time) (core, error) { return a.period(d, from, to) })
		})
}

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
		c, err := a.period(d, from, dusk)
		if err != nil {
			return 0, err
		}
		_, err = a.period(d, before, from)
		return c[0], err
	})
}

// period asks SQLite for one period.
func (a asker) period(d *sql.DB, from, to time.Time) (c core, err error) {
	cells := make([]sql.NullFloat64, len(c))
	into := make([]any, len(cells))
	for i := range cells {
		into[i] = &cells[i]
	}
	err = d.QueryRowContext(a.ctx, periodSQL, from.Unix(), to.Unix()).Scan(into...)
	for i, v := range cells {
		c[i] = v.Float64
	}
	return c, err
}
