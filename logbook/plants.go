package logbook

import (
	"context"
	"fmt"
	"math"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// plantBody turns a revision into what is kept of it: the text to the byte.
func plantBody(r record.Revision) (*body, error) {
	from, err := stampOf(r.From)
	if err != nil {
		return nil, err
	}
	if r.Text == "" {
		return nil, invalid("an empty plant description", "a TOML file")
	}
	return &body{Kind: KindPlant, Time: from, By: clean(r.By), PlantText: []byte(r.Text)}, nil
}

// revision gives the record's form; the text is not parsed.
func (b *body) revision(key id, loc *time.Location) record.Revision {
	return record.Revision{ID: key.String(), From: b.Time.clockTime(loc), WrittenAt: b.Written.clockTime(loc), By: b.By, Text: string(b.PlantText)}
}

// Revisions returns all plant descriptions, oldest first, parsed.
func (b *Book) Revisions(ctx context.Context) ([]record.Revision, error) {
	var list []record.Revision
	err := b.view(ctx, "reading the plant", func(t *txn) error {
		r := reader{t: t}
		list = r.revisions(math.MaxInt64)
		return r.damage()
	})
	if err == nil {
		err = b.parse(list)
	}
	if err != nil {
		return nil, explain("reading the plant", b.path, err)
	}
	return list, nil
}

// parse fills in the parsed plants, outside any transaction. Each revision is parsed once for as long as the Book lives.
func (b *Book) parse(list []record.Revision) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range list {
		key, err := parseID(list[i].ID)
		if err != nil {
			return err
		}
		if p := b.plants[key]; p != nil {
			list[i].Plant = p
			continue
		}
		p, err := plant.Parse(fmt.Sprintf("plant revision of %s", list[i].From.Format(time.DateOnly)), []byte(list[i].Text))
		if err != nil {
			return fmt.Errorf("the plant revision %s in the book: %w", list[i].ID, err)
		}
		b.plants[key], list[i].Plant = p, p
	}
	return nil
}
