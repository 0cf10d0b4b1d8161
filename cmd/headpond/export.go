package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/logbook/workbook"
	"example.org/headpond/model/localtime"
	"example.org/headpond/tui/ui/text"
)

type exportFile struct {
	*command
	from, to string
	readable bool
	replace  bool
}

func exportCommand(c *command) *cobra.Command {
	o := &exportFile{command: c}
	cmd := &cobra.Command{
		Use:   "export FILE",
		Short: "Write the whole log into one file for someone else",
		Long: prose("Write rounds, events, corrections, upkeep and the plant's description into one zip, a Frictionless Data Package: Headpond opens it whole (headpond open), and any spreadsheet opens the tables in it. Nothing is lost: imported into an empty book it gives the same entries.",
			"With --from and --to only a part is written, and the package says that its chain is partial. --readable adds a workbook with charts."),
		Args: usageArgs(cobra.ExactArgs(1), "the name of the package, such as log.zip"),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args[0]) },
	}
	cmd.Flags().StringVar(&o.from, "from", "", "only what happened from this `time` on")
	cmd.Flags().StringVar(&o.to, "to", "", "only what happened before this `time`; a date alone is that day's end")
	cmd.Flags().BoolVar(&o.readable, "readable", false, "add rounds.xlsx: the log for spreadsheets, with charts")
	cmd.Flags().BoolVar(&o.replace, "replace", false, "put the package in the place of an earlier one of that name")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// exportFacts is what `export --json` prints; our addition to the contract.
type exportFacts struct {
	File  string `json:"file"`
	Bytes int64  `json:"bytes"`
	datapackage.Summary
}

func (o *exportFile) run(ctx context.Context, path string) error {
	s, err := o.read(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	w, err := o.options(s)
	if err != nil {
		return err
	}
	if err := o.mayWrite(path); err != nil {
		return err
	}
	var sum *datapackage.Summary
	bytes, err := writeWhole(path, o.replace, func(to io.Writer) error {
		sum, err = datapackage.Write(ctx, to, s.book, w)
		return err
	}, func(temp string) error { return readBack(ctx, temp) })
	if err != nil {
		return packageError(path, err)
	}
	return o.report(s, exportFacts{File: path, Bytes: bytes, Summary: *sum})
}

// options turns the flags into what is written.
func (o *exportFile) options(s *session) (w datapackage.WriteOptions, err error) {
	w.Created = s.now()
	if w.From, err = s.bound("from", o.from, localtime.Start); err != nil {
		return w, err
	}
	if w.To, err = s.bound("to", o.to, localtime.End); err != nil {
		return w, err
	}
	if !w.From.IsZero() && !w.To.IsZero() && !w.From.Before(w.To) {
		return w, usagef("--from %s is not before --to %s", jsonTime(w.From, s.loc), jsonTime(w.To, s.loc))
	}
	if o.readable {
		p := workbook.Options{Plant: s.plant, From: w.From, To: w.To}
		w.Workbook = func(ctx context.Context, to io.Writer) error { return workbook.Write(ctx, to, s.book, p) }
	}
	return w, nil
}

// mayWrite refuses a name that is taken, before the work is done. Only an earlier package is ever replaced.
func (o *exportFile) mayWrite(path string) error {
	if path == "-" {
		return usagef("a package is read back once it is written, which standard output cannot be; name a file, such as log.zip; %s", nothingChanged)
	}
	_, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("%s: %w; %s", path, bare(err), nothingChanged)
	case !o.replace:
		return fmt.Errorf("%s: it exists already; name another file, or replace it with --replace; %s", path, nothingChanged)
	case !isPackage(path):
		return fmt.Errorf("%s: it is no package, and only an earlier package is replaced; name another file; %s", path, nothingChanged)
	}
	return nil
}

// readBack opens what was written, for a stick that lies.
func readBack(ctx context.Context, temp string) error {
	p, err := datapackage.Open(ctx, temp)
	if err != nil {
		return fmt.Errorf("what was written does not read back, so that this medium cannot be trusted: %w", err)
	}
	return p.Close()
}

// writingError says why a file could not be written, under the name that the person gave it.
type writingError struct {
	path, what string
	err        error
}

func (e *writingError) Error() string { return e.path + ": " + e.what + "; " + nothingChanged }
func (e *writingError) Unwrap() error { return e.err }

// notWritten turns what the system says of a file beside path into an error that names path. Other errors pass unchanged.
func notWritten(path string, err error) error {
	var book *logbook.Error
	var own *writingError
	var pe *fs.PathError
	var le *os.LinkError
	switch {
	case err == nil, errors.As(err, &book), errors.As(err, &own):
		return err
	case errors.As(err, &pe) && pe.Op == "open" && errors.Is(err, fs.ErrNotExist):
		return &writingError{path, "there is no folder " + filepath.Dir(path), err}
	case errors.As(err, &pe):
		return &writingError{path, "it cannot be written: " + pe.Err.Error(), err}
	case errors.As(err, &le):
		return &writingError{path, "it cannot be written: " + le.Err.Error(), err}
	}
	return err
}

// writeWhole writes a file beside, verifies it and gives it its name only then. It returns its size.
func writeWhole(path string, replace bool, fill func(io.Writer) error, verify func(temp string) error) (size int64, err error) {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*.part")
	if err != nil {
		return 0, notWritten(path, err)
	}
	defer func() { _ = os.Remove(f.Name()) }()
	defer func() { err = notWritten(path, err) }()
	err = fill(f)
	if serr := f.Sync(); err == nil {
		err = serr
	}
	if info, serr := f.Stat(); serr == nil {
		size = info.Size()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = verify(f.Name())
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err != nil {
		return 0, err
	}
	if replace {
		return size, os.Rename(f.Name(), path)
	}
	return size, nameNew(f.Name(), path)
}

// nameNew gives a file its name unless something has it. Where the file system has no second names, the look comes first.
func nameNew(temp, path string) error {
	taken := fmt.Errorf("%s: it exists already; %s", path, nothingChanged)
	err := os.Link(temp, path)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return taken
	}
	if _, err := os.Lstat(path); err == nil {
		return taken
	}
	return os.Rename(temp, path)
}

func (o *exportFile) report(s *session, f exportFacts) error {
	if f.LeftOut > 0 {
		o.tell("caution: %d entries were left out because only a whole export can hold them", f.LeftOut)
	}
	if o.json {
		return o.printJSON(f)
	}
	o.say("%s: %d %s, %d %s, %d %s, %d upkeep done, %d %s of the plant; %s, verified.", text.Show(f.File), f.Rounds, plural(f.Rounds, "round", "rounds"),
		f.Events, plural(f.Events, "event", "events"), f.Amendments, plural(f.Amendments, "correction", "corrections"), f.Upkeep, f.Plants,
		plural(f.Plants, "description", "descriptions"), bytesWords(f.Bytes))
	if f.Chain == datapackage.Partial {
		o.say("It is a part of the log, and says that its chain is partial.")
	}
	o.say("To look at it anywhere: headpond open %s", text.Show(f.File))
	return nil
}
