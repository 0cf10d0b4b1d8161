package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/tui/ui/text"
)

// openPackage opens an export package and says in its errors which file it is.
func openPackage(ctx context.Context, path string) (*datapackage.Package, error) {
	p, err := datapackage.Open(ctx, path)
	return p, packageError(path, err)
}

// packageError names the file where the error does not.
func packageError(path string, err error) error {
	var book *logbook.Error
	var other *otherPlantError
	var writing *writingError
	switch {
	case err == nil, errors.As(err, &book), errors.As(err, &other), errors.As(err, &writing), errors.Is(err, context.Canceled):
		return err
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: there is no such file; %s", path, nothingChanged)
	}
	var own *datapackage.Error
	if errors.As(err, &own) {
		return fmt.Errorf("%s: %w", path, err)
	}
	return fmt.Errorf("%s: it cannot be read: %w; %s", path, bare(err), nothingChanged)
}

// mustExist refuses a name that a person gave and that leads to nothing, before it is taken for that of a book.
func mustExist(path string) error {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: there is no such file; %s", path, nothingChanged)
	}
	return nil
}

// verifyPackage reads every entry before anything is written, so that a bad package never keeps the book locked.
func (c *command) verifyPackage(ctx context.Context, path string) (*datapackage.Package, error) {
	p, err := openPackage(ctx, path)
	if err != nil {
		return nil, err
	}
	shown := c.progress("reading, entries")
	err = p.Verify(ctx, func(done int) { shown.step(done, max(done, p.About.Entries)) })
	shown.end()
	if err != nil {
		_ = p.Close()
		return nil, packageError(path, err)
	}
	return p, nil
}

// takePackage merges a package into a book that is there. A log of another plant is refused unless yes is set, since what is in
// a book is never taken out of it again.
func takePackage(ctx context.Context, p *datapackage.Package, b *logbook.Book, path, verb string, yes bool) (added, already int, err error) {
	if !yes {
		if err := samePlant(ctx, b, foreignLog{path: path, verb: verb + " --yes", sites: []string{p.Plant.Site.Name}, entries: p.Entries}); err != nil {
			return 0, 0, packageError(path, err)
		}
	}
	added, already, err = p.Into(ctx, b)
	return added, already, packageError(path, err)
}

// passing is a book made of a package, to be looked at and thrown away.
type passing struct {
	book    string
	created time.Time // of the package
	lost    int       // entries that are known to be missing in it
	remove  func()
}

// packageBook makes a passing book of a package.
func (c *command) packageBook(ctx context.Context, path string) (*passing, error) {
	p, err := openPackage(ctx, path)
	if err != nil {
		return nil, err
	}
	defer p.Close()
	dir, err := os.MkdirTemp(c.tempDir, "headpond-open-")
	if err != nil {
		return nil, fmt.Errorf("there is no place for what is in the package: %w; %s", bare(err), nothingChanged)
	}
	v := &passing{book: filepath.Join(dir, "package.book"), created: p.Created, remove: func() { _ = os.RemoveAll(dir) }}
	b, err := p.NewBook(ctx, v.book, c.bookOptions(p.Plant.Location))
	if err == nil {
		_, v.lost, err = b.Gaps(ctx)
	}
	if err != nil {
		v.remove()
		return nil, packageError(path, err)
	}
	return v, nil
}

// visit is the command on another book than the user's, as a visitor who leaves nothing behind, in the book neither.
func (c *command) visit(book string) *command {
	other := *c
	other.book, other.visitor, other.looking = book, true, true
	return &other
}

// isPackage tells a package from a book by how it begins; everything else is taken for a book, whose own message says
// what is wrong.
func isPackage(path string) bool { return datapackage.IsPackage(path) }

// importPackage is import for a package.
func (o *importFile) importPackage(ctx context.Context, path string) error {
	if o.keepGood {
		return usagef("--keep-good is for CSV files: a package is taken whole or not at all; %s", nothingChanged)
	}
	p, err := o.verifyPackage(ctx, path)
	if err != nil {
		return err
	}
	defer p.Close()
	b, made, err := o.openOrCreate(ctx, p.Plant.Location)
	if err != nil {
		return err
	}
	added, already, err := takePackage(ctx, p, b, path, "import", o.yes || made)
	if err != nil {
		if made {
			_ = os.Remove(b.Path()) // it holds nothing yet
		}
		return err
	}
	if len(p.About.Gaps) > 0 {
		_, lost, err := b.Gaps(ctx)
		if err != nil {
			return err
		}
		o.tellLost(path, lost)
	}
	return o.tellMerged(path, p, b, made, added, already)
}

// tellLost cautions of entries that are known to be missing in a log that was rescued from a damaged file.
func (c *command) tellLost(path string, lost int) {
	if lost > 0 {
		c.tell("caution: %s: %d %s lost before this log was rescued from a damaged file, and no other is missing; a backup or package from before brings them back by: headpond merge FILE",
			text.Show(path), lost, plural(lost, "entry was", "entries were"))
	}
}

// tellMerged says what a package brought.
func (o *importFile) tellMerged(path string, p *datapackage.Package, b *logbook.Book, made bool, added, already int) error {
	if p.About.Chain == datapackage.Partial && added > 0 {
		o.tell("caution: the package is a part of a log, so its entries begin chains of their own here where what they follow is missing")
	}
	if o.json {
		return o.printJSON(packageImported{Added: added, Already: already, Bad: []string{}, Made: made})
	}
	o.say("%s: %d %s added, %d here already.", text.Show(path), added, plural(added, "entry", "entries"), already)
	if made {
		o.say("The book %s was made for them.", text.Show(b.Path()))
	}
	return nil
}

// packageImported is what `import --json` prints for a package.
type packageImported struct {
	Added   int      `json:"added"`
	Already int      `json:"already"`
	Bad     []string `json:"bad"` // always empty: a package is taken whole or not at all
	Made    bool     `json:"book_made,omitempty"`
}

// mergePackage is merge for a package.
func (c *command) mergePackage(ctx context.Context, s *session, path string, yes bool) (added, already int, err error) {
	p, err := c.verifyPackage(ctx, path)
	if err != nil {
		return 0, 0, err
	}
	defer p.Close()
	return takePackage(ctx, p, s.book, path, "merge", yes)
}

// chainColumns are set aside where rounds.csv of a package is imported by itself.
func chainColumns() []string { return slices.Clone(datapackage.ChainColumns()) }
