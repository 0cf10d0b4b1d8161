package copies

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"example.org/headpond/logbook"
)

// Keeper keeps the copies of one book. It holds nothing open, and its methods may run beside everything else.
type Keeper struct {
	Book     *logbook.Book
	Writer   [16]byte // this machine: see logbook.Options
	Now      func() time.Time
	Location *time.Location // whose calendar tells weeks and months; nil is UTC
	Rule     Rule           // the zero rule is Kept
}

// When a copy is made without being asked.
const (
	every   = 12 * time.Hour     // so often at most, and only when something was written since
	tooOld  = 7 * 24 * time.Hour // what was written is in no copy for so long: it is said
	abandon = 24 * time.Hour     // a copy that was begun so long ago and never finished is taken away
)

// folderSuffix is added to the book's name: the folder of the copies that lie with it.
const folderSuffix = ".copies"

// Readme is the file that marks a folder as one in which copies are kept, and tells whoever finds it what they are. A folder
// elsewhere is only written to where it is there: the place of a stick that is not plugged in is an empty folder of the
// computer's own.
const Readme = "headpond-copies.txt"

const readmeText = `Copies of a Headpond logbook, made by Headpond by itself.

Each file whose name ends in .book is the whole logbook as it was at the time that its name tells (in UTC). The newest few
are kept, and one of each of the last weeks and months. To look at one:

    headpond --book FILE

To put one back in the place of a book that is lost or damaged (what is there is kept):

    headpond restore FILE

Headpond takes away no file that it did not write. Do not delete this one: it marks the folder.
`

// Beside is the folder of the copies that lie with the book.
func (k Keeper) Beside() string { return Beside(k.Book.Path()) }

// Beside is the folder of the copies that lie with a book, which need not open.
func Beside(book string) string { return book + folderSuffix }

func (k Keeper) rule() Rule {
	if k.Rule == (Rule{}) {
		return Kept()
	}
	return k.Rule
}

func (k Keeper) series() (Series, error) {
	path, err := filepath.Abs(k.Book.Path())
	if err != nil {
		return Series{}, fmt.Errorf("naming the copies: %w", err)
	}
	return SeriesOf(path, k.Writer), nil
}

func (k Keeper) zone() *time.Location {
	if k.Location == nil {
		return time.UTC
	}
	return k.Location
}

// Use makes a folder one in which copies are kept, from now on, beside the one that lies with the book; "" for none any more.
// The folder above it must be there. A copy is made there at once.
func (k Keeper) Use(ctx context.Context, dir string) (Made, error) {
	if dir == "" {
		return Made{}, k.Book.SetElsewhere(ctx, logbook.Elsewhere{})
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return Made{}, err
	}
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return Made{}, fmt.Errorf("making the folder for copies: %w; nothing was changed", err)
	}
	if err := mark(dir); err != nil {
		return Made{}, fmt.Errorf("marking the folder for copies: %w; nothing was changed", err)
	}
	if err := k.Book.SetElsewhere(ctx, logbook.Elsewhere{Dir: dir}); err != nil {
		return Made{}, err
	}
	m := k.Make(ctx)
	return m, m.Err()
}

// mark writes the file that marks a folder, unless it is there.
func mark(dir string) error {
	f, err := os.OpenFile(filepath.Join(dir, Readme), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	_, err = f.WriteString(readmeText)
	return errors.Join(err, f.Sync(), f.Close())
}

// Made is what was done in each place.
type Made struct{ Places []MadeIn }

// MadeIn is what was done in one folder.
type MadeIn struct {
	Dir     string
	Copy    *Copy // nil where none was made
	Missing bool  // the folder is not there, as where a stick is not plugged in
	Removed int   // copies that the rule does not keep any more
	Altered []string
	Err     error
}

// Err is the first failure; a missing folder is none.
func (m Made) Err() error {
	for _, p := range m.Places {
		if p.Err != nil {
			return p.Err
		}
	}
	return nil
}

// MakeDue makes copies where something was written since the last one and that one is not of today. It is cheap where nothing
// is due.
func (k Keeper) MakeDue(ctx context.Context) (Made, error) {
	s, err := k.Status(ctx)
	if err != nil {
		return Made{}, err
	}
	var due []string
	for _, p := range s.Places {
		if p.due(s) {
			due = append(due, p.Dir)
		}
	}
	if len(due) == 0 {
		return Made{}, nil
	}
	return k.make(ctx, due), nil
}

// due reports whether a copy is to be made in a place. A last copy from the future tells that a clock has jumped, not that it is
// new.
func (p Place) due(s Status) bool {
	if p.Missing || s.Mark == 0 {
		return false
	}
	if p.Last == nil {
		return true
	}
	age := s.At.Sub(p.Last.Time)
	return p.Last.Mark != s.Mark && (age >= every || age < 0)
}

// Make makes a copy in every place now.
func (k Keeper) Make(ctx context.Context) Made {
	dirs := []string{k.Beside()}
	if e, err := k.Book.Elsewhere(ctx); err == nil && e.Dir != "" {
		dirs = append(dirs, e.Dir)
	}
	return k.make(ctx, dirs)
}

// make reads and verifies the book once and saves it in each folder.
func (k Keeper) make(ctx context.Context, dirs []string) Made {
	var m Made
	fail := func(err error) Made {
		m.Places = append(m.Places, MadeIn{Dir: dirs[0], Err: err})
		return m
	}
	series, err := k.series()
	if err != nil {
		return fail(err)
	}
	book, err := k.Book.Copy(ctx)
	if err != nil {
		return fail(err)
	}
	for _, dir := range dirs {
		m.Places = append(m.Places, k.makeIn(ctx, series, book, dir))
	}
	return m
}

// makeIn saves a copy in one folder and takes away what the rule does not keep.
func (k Keeper) makeIn(ctx context.Context, s Series, book *logbook.Copy, dir string) (in MadeIn) {
	in.Dir = dir
	if dir == k.Beside() {
		if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
			in.Err = failed(dir, err)
			return in
		}
	} else if !present(dir) {
		in.Missing = true
		return in
	}
	list, err := s.List(dir)
	if err != nil {
		in.Err = failed(dir, err)
		return in
	}
	c := Copy{Number: 1, Time: k.Now().Truncate(time.Second), Mark: book.Mark, Sum: sumText(book.Sum())}
	if len(list) > 0 {
		c.Number = list[0].Number + 1
	}
	c.Path = filepath.Join(dir, s.name(c))
	if in.Err = book.Save(ctx, c.Path); in.Err != nil {
		return in
	}
	in.Copy = &c
	if dir != k.Beside() {
		in.Err = k.Book.SetElsewhere(ctx, logbook.Elsewhere{Dir: dir, Last: c.Time, Mark: c.Mark})
	}
	_, drop := k.rule().Split(append(list, c), k.zone())
	in.Removed, in.Altered = remove(ctx, drop)
	s.sweep(dir, c.Time)
	return in
}

// failed is an error about the folder itself.
func failed(dir string, err error) error {
	return fmt.Errorf("keeping a copy in %s: %w; nothing was changed", dir, err)
}

// present reports whether a folder elsewhere is the one that was marked.
func present(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, Readme))
	return err == nil
}

// remove takes copies away whose bytes are those that their names tell of: these we wrote. Others are left and named.
func remove(ctx context.Context, list []Copy) (removed int, altered []string) {
	for _, c := range list {
		if ctx.Err() != nil {
			return removed, altered
		}
		whole, err := c.Whole()
		if err != nil || !whole {
			altered = append(altered, c.Path)
			continue
		}
		if os.Remove(c.Path) == nil {
			removed++
		}
	}
	return removed, altered
}

// sweep takes away copies of the series that a power cut or an end of the program left unfinished.
func (s Series) sweep(dir string, now time.Time) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		info, err := e.Info()
		name, isPart := strings.CutSuffix(e.Name(), ".part")
		dot := strings.LastIndexByte(name, '.') // before the part that makes the unfinished name unique
		if err != nil || !isPart || dot < 0 || !e.Type().IsRegular() || now.Sub(info.ModTime()) < abandon {
			continue
		}
		if _, ours := s.parse(name[:dot]); ours {
			_ = os.Remove(filepath.Join(dir, e.Name()))
		}
	}
}
