package main

import (
	"context"
	"slices"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// made is a book of the demo's story told again and again, and its rounds as the book gives them.
type made struct {
	book   *logbook.Book
	plant  *plant.Plant
	rounds []record.Round
	end    time.Time
	next   time.Time // of the next round that is saved
}

// dusk is when every log ends. An id holds times from 1970 on, so a hundred years must end late.
var dusk = time.Date(2075, 2, 3, 12, 0, 0, 0, time.UTC)

// storyLength is how many days one telling of the demo's story has.
const storyLength = 120 * 24 * time.Hour

// makeBook tells the demo's story as often as the years need, each time for the season that it falls into, as one chain.
func makeBook(ctx context.Context, path string, years int) (*made, error) {
	p, err := demo.Plant()
	if err != nil {
		return nil, err
	}
	m := &made{plant: p, end: dusk, next: dusk}
	var entries []logbook.Entry
	for begin := dusk.AddDate(-years, 0, 0); begin.Before(dusk); begin = begin.Add(storyLength) {
		story, err := demo.History(demo.Seed, begin.Add(storyLength), p.Location)
		if err != nil {
			return nil, err
		}
		part, err := demobook.Entries(story)
		if err != nil {
			return nil, err
		}
		told := len(entries) > 0
		entries = append(entries, slices.DeleteFunc(part, func(e logbook.Entry) bool {
			return told && e.Revision != nil || e.Time.After(dusk) || e.WrittenAt.After(dusk)
		})...)
	}
	if err := logbook.Chain([16]byte{7}, entries); err != nil {
		return nil, err
	}
	m.book, err = logbook.Create(ctx, path, logbook.Options{Clock: func() time.Time { return m.next }, Location: p.Location, Writer: [16]byte{9}})
	if err != nil {
		return nil, err
	}
	for part := range slices.Chunk(entries, 10_000) {
		if _, _, err := m.book.PutEntries(ctx, part); err != nil {
			return nil, err
		}
	}
	h, err := m.book.History(ctx, logbook.HistoryOptions{All: true, At: dusk})
	if err != nil {
		return nil, err
	}
	m.rounds = h.Rounds
	return m, nil
}

// fresh is the nth further round: the last one's readings, so many hours later.
func (m *made) fresh(n int) record.Round {
	r := m.rounds[len(m.rounds)-1]
	at := dusk.Add(time.Duration(n) * time.Hour)
	m.next = at.Add(time.Minute)
	return record.Round{Time: at, WrittenAt: at, By: r.By, Running: r.Running, Values: r.Values, Words: r.Words, Note: r.Note}
}
