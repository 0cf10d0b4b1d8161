package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

type importFile struct {
	*command
	keepGood, yes bool
}

func importCommand(c *command) *cobra.Command {
	o := &importFile{command: c}
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Take rounds from a CSV file, or all of an export package; - is standard input",
		Long:  importHelp(),
		Args:  usageArgs(cobra.ExactArgs(1), "one CSV file or package, or - for standard input"),
		RunE:  func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args[0]) },
	}
	cmd.Flags().BoolVar(&o.keepGood, "keep-good", false, "import the good rows and write the bad ones, with reasons, to FILE.bad.csv")
	cmd.Flags().BoolVar(&o.yes, "yes", false, "take values that are not plausible")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (o *importFile) run(ctx context.Context, path string) error {
	if path != "-" && isPackage(path) {
		return o.importPackage(ctx, path)
	}
	s, err := o.write(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	res, err := o.read(ctx, s, path)
	if err != nil {
		return err
	}
	if !res.Good() && !o.keepGood {
		return o.refuse(path, res)
	}
	bad := ""
	if !res.Good() { // first, since rows from a pipe could not be read again
		if bad, err = writeBad(path, res); err != nil {
			return err
		}
	}
	added, already, err := s.book.AddRounds(ctx, res.Rounds)
	if err != nil {
		if bad != "" {
			_ = os.Remove(bad)
		}
		return err
	}
	o.tellFuture(s, res)
	return o.report(path, bad, res, added, already)
}

// read reads the whole file before anything is written into the book.
func (o *importFile) read(ctx context.Context, s *session, path string) (*csvfile.Result, error) {
	in, name := o.in, "standard input"
	if path != "-" {
		f, err := openFile(path)
		switch {
		case errors.Is(err, errNoFile):
			return nil, fmt.Errorf("%s: %w; - is standard input; %s", path, err, nothingChanged)
		case errors.Is(err, fs.ErrNotExist):
			return nil, fmt.Errorf("%s: there is no such file; %s", path, nothingChanged)
		case err != nil:
			return nil, fmt.Errorf("%s: it cannot be read: %w; %s", path, bare(err), nothingChanged)
		}
		defer f.Close()
		in, name = f, path
	}
	p := o.progress("reading, rows")
	known := &knownRounds{s: s}
	res, err := csvfile.Read(ctx, in, s.plant, csvfile.Options{
		Yes: o.yes, Units: s.earlierUnits(), Existing: known.at, Entry: known.entry, Aside: chainColumns(),
		Progress: func(_ int64, rows int) { p.step(rows, max(rows, 1)) },
	})
	p.end()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return res, nil
}

// errNoFile is told of what has a name but no content of its own.
var errNoFile = errors.New("it is a folder, a pipe or a device, and no file")

// openFile opens a file for reading. A pipe is refused, since opening one waits without end for whoever fills it.
func openFile(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errNoFile
	}
	return os.Open(path)
}

// tellFuture says how many of the rounds that were taken are dated after now.
func (o *importFile) tellFuture(s *session, res *csvfile.Result) {
	n := 0
	var first time.Time
	for _, r := range res.Rounds {
		if r.Time.After(s.now()) {
			if n++; n == 1 || r.Time.Before(first) {
				first = r.Time
			}
		}
	}
	if n > 0 {
		o.tell("caution: %d %s dated in the future, the first %s: left out of every answer until then; a slip is corrected by headpond amend", n,
			plural(n, "round is", "rounds are"), shortTime(first, s.loc))
	}
}

// earlierUnits are units of earlier plant revisions that the one in force does not have.
func (s *session) earlierUnits() []string {
	var ids []string
	for _, r := range s.revisions {
		for _, id := range r.Plant.UnitIDs() {
			if !slices.Contains(ids, id) && !hasUnit(s.plant, id) {
				ids = append(ids, id)
			}
		}
	}
	return ids
}

func hasUnit(p *plant.Plant, id string) bool {
	_, ok := p.UnitByID(id)
	return ok
}

// knownRounds are the book's rounds by time and by id, read once when the first row asks.
type knownRounds struct {
	s      *session
	loaded bool
	list   []record.Round
	byTime map[int64][]int
	byID   map[string]int
}

func (k *knownRounds) load(ctx context.Context) error {
	if k.loaded {
		return nil
	}
	k.byTime, k.byID = map[int64][]int{}, map[string]int{}
	err := k.s.book.Rounds(ctx, time.Time{}, time.Time{}, func(r record.Round) error {
		k.byTime[r.Time.Unix()] = append(k.byTime[r.Time.Unix()], len(k.list))
		k.byID[r.ID] = len(k.list)
		k.list = append(k.list, r)
		return nil
	})
	k.loaded = err == nil
	return err
}

func (k *knownRounds) at(ctx context.Context, t time.Time) ([]record.Round, error) {
	if err := k.load(ctx); err != nil {
		return nil, err
	}
	var list []record.Round
	for _, i := range k.byTime[t.Unix()] {
		list = append(list, k.list[i])
	}
	return list, nil
}

func (k *knownRounds) entry(ctx context.Context, id string) (record.Round, bool, error) {
	if err := k.load(ctx); err != nil {
		return record.Round{}, false, err
	}
	i, ok := k.byID[id]
	if !ok {
		return record.Round{}, false, nil
	}
	return k.list[i], true, nil
}

// maxToldBad is how many bad rows are told one by one.
const maxToldBad = 50

// refuse says what is wrong and that nothing was imported.
func (o *importFile) refuse(path string, res *csvfile.Result) error {
	if o.json {
		if err := o.printJSON(res.Facts(0, 0)); err != nil {
			return err
		}
	}
	problems := res.Problems()
	for i, p := range problems {
		if i == maxToldBad {
			o.tell("headpond: and %d more", len(problems)-i)
			break
		}
		o.tell("headpond: %s: %s", path, p.Error())
	}
	return fmt.Errorf("%s: %d of %d rows are bad, so nothing was imported; put them right, or import the others with --keep-good", path, len(res.Bad), res.Rows)
}

func (o *importFile) report(path, bad string, res *csvfile.Result, added, already int) error {
	for _, u := range res.Unknown {
		o.tell("caution: %s", u.String())
	}
	if bad != "" {
		o.tell("caution: %d of %d rows are bad and were not imported; they stand, with the reasons, in %s", len(res.Bad), res.Rows, bad)
	}
	f := res.Facts(added, already)
	if o.json {
		return o.printJSON(f)
	}
	o.say("%s: %d %s added, %d here already.", text.Show(path), f.Added, plural(f.Added, "round", "rounds"), f.Already)
	return nil
}

// writeBad puts the bad rows into a new file beside the imported one, and never over another.
func writeBad(path string, res *csvfile.Result) (name string, err error) {
	base := path
	if path == "-" {
		base = "import"
	}
	f, name, err := newBeside(base)
	if err != nil {
		return "", fmt.Errorf("%s: the file for the bad rows cannot be made: %w; nothing was imported", name, bare(err))
	}
	err = res.WriteBad(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		_ = os.Remove(name)
		return "", fmt.Errorf("%s: it could not be written whole: %w; nothing was imported", name, bare(err))
	}
	return name, nil
}

// newBeside makes BASE.bad.csv, or BASE.bad-2.csv and so on where that is taken.
func newBeside(base string) (*os.File, string, error) {
	for n := 1; ; n++ {
		name := base + ".bad.csv"
		if n > 1 {
			name = fmt.Sprintf("%s.bad-%d.csv", base, n)
		}
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if !errors.Is(err, fs.ErrExist) {
			return f, name, err
		}
	}
}
