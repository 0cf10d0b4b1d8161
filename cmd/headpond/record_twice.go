package main

import (
	"context"
	"fmt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// twice is the caution for a round that says what another one of the same time says already: as likely as not the command was given
// twice. Where the book cannot be asked, nothing is said: the round is saved.
func (s *session) twice(ctx context.Context, r record.Round) []string {
	h, err := s.book.History(ctx, logbook.HistoryOptions{At: r.Time, From: r.Time})
	if err != nil {
		return nil
	}
	for _, other := range h.Rounds {
		if other.ID != r.ID && other.Time.Equal(r.Time) && len(differentKeys(r, other)) == 0 {
			return []string{fmt.Sprintf("the same readings at the same time are there already, as %s; this round is saved all the same. If it is one too many, withdraw its readings with headpond amend", other.ID)}
		}
	}
	return nil
}
