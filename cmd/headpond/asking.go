package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

// judge holds a round's readings against what the book says up to its time.
func (s *session) judge(ctx context.Context, r record.Round) ([]assess.Judged, error) {
	h, err := s.book.History(ctx, logbook.HistoryOptions{At: r.Time, Days: judgeDays})
	if err != nil {
		return nil, fmt.Errorf("the round is saved as %s, but it could not be judged: %w", r.ID, err)
	}
	judged := assess.Of(h).Judge(r)
	if judged == nil {
		judged = []assess.Judged{}
	}
	return judged, nil
}

// judgeDays is how far back the last pond level and water temperature are looked for.
const judgeDays = 15

// confirm asks about values that are not plausible. Without a person it is an error that names the keys and --yes. It
// returns whether there was anything to confirm.
func (c *command) confirm(ctx context.Context, questions []assess.Question, yes, draft bool) (confirmed bool, err error) {
	switch {
	case len(questions) == 0:
		return false, nil
	case yes:
		return true, nil
	}
	var texts []string
	for _, q := range questions {
		if c.person() {
			texts = append(texts, q.Text)
		} else {
			texts = append(texts, string(q.Key)+": "+q.Text)
		}
	}
	if !c.person() {
		return false, fmt.Errorf("%s; if that is what was read, say so with --yes; %s", strings.Join(texts, "\n"), nothingChanged)
	}
	for _, t := range texts {
		c.say("%s.", text.Show(t))
		ok, err := c.yesNo(ctx, "Is that what was read? y or n [n]: ", false)
		if err != nil {
			return false, err
		}
		if !ok {
			if draft {
				return false, errors.New("not saved; what was answered is kept as a draft: headpond record goes on with it")
			}
			return false, errors.New("not saved, since a value is not what was read; " + nothingChanged)
		}
	}
	return true, nil
}

// confirmTime asks a person about a time that has not come, and returns the one that is meant. Without a person it is kept, and
// cautioned about.
func (c *command) confirmTime(ctx context.Context, s *session, t time.Time, draft bool) (time.Time, error) {
	early := localtime.NotYet(t, s.now(), s.loc)
	if early.Question == "" || !c.person() {
		return t, nil
	}
	c.say("%s", early.Question)
	prompt, answers, expected, yes := "Keep the time as it is typed? y or n [n]: ", "yn", "y or n", t
	if !early.Yesterday.IsZero() {
		prompt = "y (yes, yesterday), t (today, as it is typed) or n (go back) [n]: "
		answers, expected, yes = "ytn", "y, t or n", early.Yesterday
	}
	got, err := c.choose(ctx, prompt, answers, expected, 'n')
	switch {
	case err != nil:
		return t, err
	case got == 'y':
		return yes, nil
	case got == 't':
		return t, nil
	case draft:
		return t, errors.New("not saved; what was answered is kept as a draft: headpond record goes on with it")
	}
	return t, errors.New("not saved, since the time has not come; " + nothingChanged)
}

// yesNo asks a person; Enter alone is the standard answer.
func (c *command) yesNo(ctx context.Context, prompt string, standard bool) (bool, error) {
	enter := byte('n')
	if standard {
		enter = 'y'
	}
	got, err := c.choose(ctx, prompt, "yn", "y or n", enter)
	return got == 'y', err
}

// choose asks a person for one of some letters, or the word that begins with it; Enter alone is the standard answer.
func (c *command) choose(ctx context.Context, prompt, letters, expected string, standard byte) (byte, error) {
	words := map[byte]string{'y': "yes", 'n': "no", 't': "today"}
	for {
		line, err := c.prompt(ctx, prompt)
		if err != nil {
			return 0, err
		}
		typed := strings.ToLower(strings.TrimSpace(line))
		if typed == "" {
			return standard, nil
		}
		if strings.IndexByte(letters, typed[0]) >= 0 && (len(typed) == 1 || typed == words[typed[0]]) {
			return typed[0], nil
		}
		c.say("Expected %s.", expected)
	}
}

// prompt shows a prompt and waits for one line of the person's, or for the program to be stopped. io.EOF is a closed
// terminal.
func (c *command) prompt(ctx context.Context, prompt string) (string, error) {
	if c.plainASCII() {
		prompt = text.ASCII(prompt)
	}
	fmt.Fprint(c.out, prompt)
	if out, ok := c.out.(*answer); ok {
		if err := out.Flush(); err != nil {
			return "", err
		}
	}
	if c.typist == nil {
		c.typist = newTypist(c.in)
	}
	select {
	case c.typist.ask <- struct{}{}:
	case <-ctx.Done():
		return "", ctx.Err()
	}
	select {
	case l := <-c.typist.lines:
		return l.text, l.err
	case <-ctx.Done():
		c.say("")
		return "", ctx.Err()
	}
}

// typist is a person at a keyboard, read in the background so that waiting can be given up. A line is read only when it is
// asked for: what is typed ahead stays with the terminal.
type typist struct {
	ask   chan struct{}
	lines chan typedLine
}

// typedLine is one line of a person's, or the end of them.
type typedLine struct {
	text string
	err  error
}

// maxTyped is the longest line that a person types.
const maxTyped = 64 << 10

func newTypist(in io.Reader) *typist {
	t := &typist{ask: make(chan struct{}), lines: make(chan typedLine, 1)}
	go func() {
		scan := bufio.NewScanner(in)
		scan.Buffer(nil, maxTyped)
		for range t.ask {
			switch {
			case scan.Scan():
				t.lines <- typedLine{text: scan.Text()}
			case scan.Err() != nil:
				t.lines <- typedLine{err: scan.Err()}
			default:
				t.lines <- typedLine{err: io.EOF}
			}
		}
	}()
	return t
}
