package logview

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
)

// scan judges rounds that were not on show yet, newest first and a part at a time, while only those out of band are wanted.
type scan struct {
	seq      int
	rounds   []record.Round   // of the ledger that is scanned
	assessor *assess.Assessor // the scan's own: an assessor is not for two at once
	left     int              // how many rounds are still to be judged; they are the oldest
}

// scanned brings the judgements of a part.
type scanned struct {
	seq  int
	left int
	part map[string]judgement
}

// scanPart is how many rounds are judged at a time, so that what is found appears while the rest is looked at.
const scanPart = 500

// running reports whether there is more to judge.
func (c scan) running() bool { return c.left > 0 }

func (c scan) progress() string {
	return fmt.Sprintf("Judging older rounds: %d of %d. Esc stops.", len(c.rounds)-c.left, len(c.rounds))
}

// startScan begins to judge where the filter needs it, and ends what is under way where it does not.
func (s Screen) startScan() (Screen, tea.Cmd) {
	rounds := s.ledger.h.Rounds
	if !s.filter.out {
		s.scan = scan{seq: s.scan.seq + 1}
		return s, nil
	}
	if s.scan.running() && len(rounds) > 0 && len(s.scan.rounds) == len(rounds) && &s.scan.rounds[0] == &rounds[0] {
		return s, nil // it is this ledger's already
	}
	unjudged := false
	for _, r := range rounds {
		if _, ok := s.ledger.judged[r.ID]; !ok {
			unjudged = true
			break
		}
	}
	s.scan = scan{seq: s.scan.seq + 1}
	if !unjudged {
		return s, nil
	}
	s.scan.rounds, s.scan.assessor, s.scan.left = rounds, assess.Of(s.ledger.h), len(rounds)
	return s, s.scan.part()
}

// part judges the next few rounds.
func (c scan) part() tea.Cmd {
	return func() tea.Msg {
		m := scanned{seq: c.seq, left: c.left, part: map[string]judgement{}}
		for ; m.left > 0 && c.left-m.left < scanPart; m.left-- {
			r := c.rounds[m.left-1]
			m.part[r.ID] = judgeWith(c.assessor, r)
		}
		return m
	}
}

func (s Screen) scanned(m scanned) (Screen, tea.Cmd) {
	if m.seq != s.scan.seq {
		return s, nil
	}
	for id, j := range m.part {
		s.ledger.judged[id] = j
	}
	s.scan.left = m.left
	s = s.chosen().picked()
	if !s.scan.running() {
		s.pick = ""
		return s, nil
	}
	return s, s.scan.part()
}
