package main

import (
	"context"
	"database/sql"
	"encoding/csv"
	"io"
	"strconv"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// questions are those that are asked of the two libraries, within this process.
func questions(ctx context.Context, m *made, db *database) []question {
	a := asker{ctx, m, db}
	return []question{a.save(), a.last(), a.lately(), a.numbers("numbers of a week", week.Week), a.numbers("numbers of a year", week.Year), a.review("review of a week", week.Week), a.review("review of a year", week.Year), a.outOfBand(), a.scan(), a.export()}
}

type asker struct {
	ctx context.Context
	m   *made
	db  *database
}

// both makes SQLite's two ways of one question.
func (a asker) both(q question, ask func(*sql.DB) (float64, error)) question {
	q.opened = func() (float64, error) { return a.db.open(ask) }
	q.kept = func() (float64, error) { return ask(a.db.kept) }
	return q
}

// save saves one round so that it would survive a power cut. The book also makes its id, its checksum, its place in the chain
// and the index by time.
func (a asker) save() question {
	var saved [3]int
	round := func(way int) record.Round {
		saved[way]++
		return a.m.fresh(saved[way])
	}
	return question{name: "save a round",
		book: func() (float64, error) {
			_, err := a.m.book.AddRound(a.ctx, round(0), "")
			return 1, err
		},
		opened: func() (float64, error) {
			return a.db.open(func(d *sql.DB) (float64, error) {
				_, err := d.ExecContext(a.ctx, a.db.insert(), a.db.values(round(1))...)
				return 1, err
			})
		},
		kept: func() (float64, error) {
			_, err := a.db.save.ExecContext(a.ctx, a.db.values(round(2))...)
			return 1, err
		},
	}
}

func (a asker) last() question {
	return a.both(question{name: "last round",
		book: func() (answer float64, err error) {
			err = a.m.book.Rounds(a.ctx, dusk.Add(-24*time.Hour), dusk, func(r record.Round) error {
				answer = float64(r.Time.Unix())
				return nil
			})
			return answer, err
		},
	}, a.newest("SELECT * FROM rounds WHERE time < ? ORDER BY time DESC LIMIT 1", dusk.Unix()))
}

// lately brings 120 days of rounds, as every screen does at its start; the book brings the events, the upkeep and the plant's
// revisions too.
func (a asker) lately() question {
	return a.both(question{name: "the last 120 days",
		book: func() (float64, error) {
			h, err := a.m.book.History(a.ctx, logbook.HistoryOptions{At: dusk, From: dusk.AddDate(0, 0, -120)})
			if err != nil {
				return 0, err
			}
			return float64(h.Rounds[len(h.Rounds)-1].Time.Unix()), nil
		},
	}, a.newest("SELECT * FROM rounds WHERE time >= ? AND time < ? ORDER BY time", dusk.AddDate(0, 0, -120).Unix(), dusk.Unix()))
}

// newest asks for rounds and answers with the time of the last of them.
func (a asker) newest(query string, args ...any) func(*sql.DB) (float64, error) {
	return func(d *sql.DB) (answer float64, err error) {
		rows, err := d.QueryContext(a.ctx, query, args...)
		if err != nil {
			return 0, err
		}
		err = a.db.scan(rows, func(r record.Round) error {
			answer = float64(r.Time.Unix())
			return nil
		})
		return answer, err
	}
}

// The bands of the filter: ANSI C84.1 range A at 240 V, and EN 50160 without a synchronous connection at 60 Hz.
const (
	voltsLeast, voltsMost = 228, 252
	hertzLeast, hertzMost = 58.8, 61.2
)

func (a asker) outOfBand() question {
	return a.both(question{name: "rounds with volts or hertz out of band",
		book: func() (n float64, err error) {
			err = a.m.book.Rounds(a.ctx, time.Time{}, dusk, func(r record.Round) error {
				v, readV := r.Value("volts")
				f, readF := r.Value("hertz")
				if readV && (v < voltsLeast || v > voltsMost) || readF && (f < hertzLeast || f > hertzMost) {
					n++
				}
				return nil
			})
			return n, err
		},
	}, func(d *sql.DB) (n float64, err error) {
		rows, err := d.QueryContext(a.ctx, "SELECT * FROM rounds WHERE time < ? AND (volts < ? OR volts > ? OR hertz < ? OR hertz > ?) ORDER BY time", dusk.Unix(), voltsLeast, voltsMost, hertzLeast, hertzMost)
		if err != nil {
			return 0, err
		}
		err = a.db.scan(rows, func(record.Round) error {
			n++
			return nil
		})
		return n, err
	})
}

// scan brings every round into memory, one after the other, and adds the voltages up.
func (a asker) scan() question {
	add := func(sum *float64) func(record.Round) error {
		return func(r record.Round) error {
			v, _ := r.Value("volts")
			*sum += v
			return nil
		}
	}
	return a.both(question{name: "read every round", near: 1e-12,
		book: func() (sum float64, err error) {
			err = a.m.book.Rounds(a.ctx, time.Time{}, dusk, add(&sum))
			return sum, err
		},
	}, func(d *sql.DB) (sum float64, err error) {
		rows, err := d.QueryContext(a.ctx, "SELECT * FROM rounds WHERE time < ? ORDER BY time", dusk.Unix())
		if err != nil {
			return 0, err
		}
		return sum, a.db.scan(rows, add(&sum))
	})
}

// export writes every round as CSV. The book's form is the one that import reads back without loss.
func (a asker) export() question {
	return a.both(question{name: "all rounds as CSV",
		book: func() (float64, error) {
			var rounds []record.Round
			err := a.m.book.Rounds(a.ctx, time.Time{}, dusk, func(r record.Round) error {
				rounds = append(rounds, r)
				return nil
			})
			if err != nil {
				return 0, err
			}
			return float64(len(rounds)), csvfile.Write(io.Discard, rounds, a.m.plant, csvfile.WriteOptions{})
		},
	}, func(d *sql.DB) (n float64, err error) {
		rows, err := d.QueryContext(a.ctx, "SELECT * FROM rounds WHERE time < ? ORDER BY time", dusk.Unix())
		if err != nil {
			return 0, err
		}
		w := csv.NewWriter(io.Discard)
		columns, err := rows.Columns()
		if err != nil {
			return 0, err
		}
		cells := make([]string, len(columns))
		if err := w.Write(columns); err != nil {
			return 0, err
		}
		err = a.db.scan(rows, func(r record.Round) error {
			n++
			for i, c := range a.db.values(r) {
				cells[i] = cell(c)
			}
			return w.Write(cells)
		})
		w.Flush()
		return n, err
	})
}

// cell writes a column for CSV.
func cell(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case int64:
		return time.Unix(v, 0).UTC().Format(time.RFC3339)
	}
	return ""
}
