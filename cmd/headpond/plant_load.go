package main

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/plantview"
	"example.org/headpond/tui/ui/text"
)

type plantLoad struct {
	*command
	from, by string
}

func plantLoadCommand(c *command) *cobra.Command {
	o := &plantLoad{command: c}
	cmd := &cobra.Command{
		Use:   "load FILE",
		Short: "Put a plant file into the book as a new revision; makes the book where there is none",
		Long:  prose("Put a plant file into the book as a new revision. Earlier ones stay. A revision holds from --from, by default from now; the first one also holds for all earlier times."),
		Args:  usageArgs(cobra.ExactArgs(1), "one plant file"),
		RunE:  func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args[0]) },
	}
	cmd.Flags().StringVar(&o.from, "from", "", "the `time` from which it holds (default: now)")
	cmd.Flags().StringVar(&o.by, "by", "", "who loads it")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (o *plantLoad) run(ctx context.Context, path string) error {
	file, p, err := o.readPlant(path)
	if err != nil {
		return err
	}
	now := o.clock().In(p.Location)
	from := now
	if o.from != "" {
		if from, err = localtime.Start(o.from, now, p.Location); err != nil {
			return usagef("--from: %w; %s", err, nothingChanged)
		}
	}
	by, err := record.CleanText(record.ColBy, o.by)
	if err != nil {
		return usagef("--by: %w; %s", err, nothingChanged)
	}
	book, made, err := o.openOrCreate(ctx, p.Location)
	if err != nil {
		return err
	}
	if same, err := o.already(ctx, book, string(file), now); err != nil || same {
		return err
	}
	saved, err := book.AddPlant(ctx, string(file), from, by)
	if err != nil {
		return err
	}
	revisions, err := book.Revisions(ctx)
	if err != nil {
		return err
	}
	o.cautions(saved.Cautions)
	o.untilNext(revisions, saved.Entry, p.Location)
	if o.json {
		return o.printJSON(revisionFacts{ID: saved.Entry.ID, From: jsonTime(saved.Entry.From, p.Location), Name: p.Site.Name, Made: made})
	}
	o.loaded(p, saved.Entry.From, made, len(revisions) == 1)
	return nil
}

// untilNext cautions where another description takes over later, as when the computer's clock was behind: this one never holds then,
// though it is the newest.
func (o *plantLoad) untilNext(revisions []record.Revision, loaded record.Revision, loc *time.Location) {
	var next time.Time
	for _, r := range revisions {
		if r.From.After(loaded.From) && (next.IsZero() || r.From.Before(next)) {
			next = r.From
		}
	}
	if !next.IsZero() {
		o.cautions([]string{fmt.Sprintf("it holds until %s only, when another description in the book takes over; if this one shall take its place, load it again with --from %s",
			shortTime(next, loc), strconv.Quote(shortTime(next, loc)))})
	}
}

// already says so where the very same description is in force; a second revision would say nothing new.
func (o *plantLoad) already(ctx context.Context, book *logbook.Book, file string, now time.Time) (bool, error) {
	if o.from != "" {
		return false, nil
	}
	revisions, err := book.Revisions(ctx)
	if err != nil || len(revisions) == 0 {
		return false, err
	}
	at := inForce(&record.History{At: now, Revisions: revisions})
	if at.Text != file {
		return false, nil
	}
	loc := at.Plant.Location
	if o.json {
		return true, o.printJSON(revisionFacts{ID: at.ID, From: jsonTime(at.From, loc), Name: at.Plant.Site.Name, Already: true})
	}
	o.say("The same description is in force since %s already; %s.", shortTime(at.From, loc), nothingChanged)
	return true, nil
}

// loaded says what holds now.
func (o *plantLoad) loaded(p *plant.Plant, from time.Time, made, first bool) {
	if made {
		o.say("A new book was made: %s", text.Show(o.bookPath()))
	}
	earlier := ""
	if first {
		earlier = ", and, being the first, for all earlier times"
	}
	o.say("The description of %s is in the book. It holds from %s%s.", text.Show(p.Site.Name), shortTime(from, p.Location), earlier)
	if s := secondLook(plantview.CheckOf(p)); s != "" {
		o.say("%s; headpond plant check says which.", s)
	}
}

// secondLook sums up what plant check tells: "Worth a second look: 5 things, and 1 number beyond a limit"; "" where there is nothing.
func secondLook(check plantview.Check) string {
	if check.Err != nil {
		return "The plant cannot be solved"
	}
	n, past := len(check.Advice), check.Beyond()
	beyond := fmt.Sprintf("%d %s beyond a limit", past, plural(past, "number", "numbers"))
	switch {
	case n == 0 && past == 0:
		return ""
	case n == 0:
		return "Worth a second look: " + beyond
	case past == 0:
		return fmt.Sprintf("Worth a second look: %d %s", n, plural(n, "thing", "things"))
	}
	return fmt.Sprintf("Worth a second look: %d %s, and %s", n, plural(n, "thing", "things"), beyond)
}

// openOrCreate opens the book for writing, or makes it where there is none.
func (c *command) openOrCreate(ctx context.Context, loc *time.Location) (book *logbook.Book, made bool, err error) {
	o, err := c.writing(loc)
	if err != nil {
		return nil, false, err
	}
	if book, err = logbook.Open(c.bookPath(), o); !noBook(err) {
		return book, false, err
	}
	book, err = logbook.Create(ctx, c.bookPath(), o)
	return book, true, err
}

// revisionFacts is a plant revision in JSON, our addition to the contract.
type revisionFacts struct {
	ID        string `json:"id"`
	From      string `json:"from"`
	WrittenAt string `json:"written_at,omitempty"`
	By        string `json:"by,omitempty"`
	Name      string `json:"name"`
	Made      bool   `json:"book_made,omitempty"`
	Already   bool   `json:"already,omitempty"` // the same text was in force; nothing was added
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
