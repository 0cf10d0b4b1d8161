package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	_ "github.com/mattn/go-sqlite3"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// database is the same log in SQLite: one table with a column for each reading, and an index on the time. It is kept in two
// files, one for each way of asking, since the way of journaling belongs to the file.
type database struct {
	path, keptPath string
	kept           *sql.DB
	save           *sql.Stmt
	version        string
	keys           []quantity.Key
	units          []string
}

// How the file is opened. Where it stays open, the write-ahead log is SQLite's fastest way to save safely; where it is opened
// for each question, as a shell command does, its usual journal is.
const (
	openedEachTime = "?_journal_mode=DELETE&_synchronous=FULL"
	keptOpen       = "?_journal_mode=WAL&_synchronous=FULL"
)

func makeDatabase(ctx context.Context, dir string, m *made) (_ *database, err error) {
	db := &database{path: filepath.Join(dir, "opened.db"), keptPath: filepath.Join(dir, "kept.db"), units: m.plant.UnitIDs()}
	db.keys = quantity.Keys(db.units)
	if err := db.fill(ctx, db.path+openedEachTime, m); err != nil {
		return nil, err
	}
	if err := db.fill(ctx, db.keptPath+keptOpen, m); err != nil {
		return nil, err
	}
	if db.kept, err = sql.Open("sqlite3", "file:"+db.keptPath+keptOpen); err != nil {
		return nil, err
	}
	db.kept.SetMaxOpenConns(1)
	if err := db.kept.QueryRowContext(ctx, "SELECT sqlite_version()").Scan(&db.version); err != nil {
		return nil, err
	}
	db.save, err = db.kept.PrepareContext(ctx, db.insert())
	return db, err
}

func (db *database) close() error { return db.kept.Close() }

// fill makes a file with all rounds.
func (db *database) fill(ctx context.Context, name string, m *made) (err error) {
	d, err := sql.Open("sqlite3", "file:"+name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	d.SetMaxOpenConns(1)
	columns := []string{`"id" TEXT NOT NULL`, `"time" INTEGER NOT NULL`, `"by" TEXT`, `"running" TEXT`, `"note" TEXT`, `"written_at" INTEGER`}
	for _, k := range db.keys {
		kind := "REAL"
		if q, _ := quantity.Lookup(k.Name()); !q.Number() {
			kind = "TEXT"
		}
		columns = append(columns, fmt.Sprintf("%q %s", string(k), kind))
	}
	if _, err := d.ExecContext(ctx, "CREATE TABLE rounds ("+strings.Join(columns, ", ")+"); CREATE INDEX rounds_time ON rounds (time)"); err != nil {
		return err
	}
	tx, err := d.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	for _, r := range m.rounds {
		if _, err := tx.ExecContext(ctx, db.insert(), db.values(r)...); err != nil {
			return errors.Join(err, tx.Rollback())
		}
	}
	return tx.Commit()
}

// open opens the file for one question.
func (db *database) open(ask func(*sql.DB) (float64, error)) (float64, error) {
	d, err := sql.Open("sqlite3", "file:"+db.path+openedEachTime)
	if err != nil {
		return 0, err
	}
	d.SetMaxOpenConns(1)
	answer, err := ask(d)
	return answer, errors.Join(err, d.Close())
}

func (db *database) insert() string {
	return "INSERT INTO rounds VALUES (" + strings.TrimSuffix(strings.Repeat("?,", 6+len(db.keys)), ",") + ")"
}

// values are a round's columns.
func (db *database) values(r record.Round) []any {
	list := []any{r.ID, r.Time.Unix(), r.By, nil, r.Note, r.WrittenAt.Unix()}
	if r.Running != nil {
		list[3] = record.FormatRunning(*r.Running)
	}
	for _, k := range db.keys {
		var column any
		if v, ok := r.Value(k); ok {
			column = v
		} else if w, ok := r.Word(k); ok {
			column = w
		}
		list = append(list, column)
	}
	return list
}

// scan reads rows into rounds, as the book gives them.
func (db *database) scan(rows *sql.Rows, each func(record.Round) error) (err error) {
	defer func() { err = errors.Join(err, rows.Close()) }()
	var id string
	var at, written int64
	var by, running, note sql.NullString
	cells := []any{&id, &at, &by, &running, &note, &written}
	numbers, words := make([]sql.NullFloat64, len(db.keys)), make([]sql.NullString, len(db.keys))
	for i, k := range db.keys {
		if q, _ := quantity.Lookup(k.Name()); q.Number() {
			cells = append(cells, &numbers[i])
		} else {
			cells = append(cells, &words[i])
		}
	}
	for rows.Next() {
		if err := rows.Scan(cells...); err != nil {
			return err
		}
		r := record.Round{ID: id, Time: time.Unix(at, 0), WrittenAt: time.Unix(written, 0), By: by.String, Note: note.String,
			Values: make(map[quantity.Key]float64, 10), Words: make(map[quantity.Key]string, 2)}
		if running.Valid {
			if r.Running, err = record.ParseRunning(running.String, db.units); err != nil {
				return err
			}
		}
		for i, k := range db.keys {
			switch {
			case numbers[i].Valid:
				r.Values[k] = numbers[i].Float64
			case words[i].Valid:
				r.Words[k] = words[i].String
			}
		}
		if err := each(r); err != nil {
			return err
		}
	}
	return rows.Err()
}
