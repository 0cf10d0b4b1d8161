package copies

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Copy is one kept copy, as its name tells.
type Copy struct {
	Path   string
	Number uint64 // 1 for the first of its series
	Time   time.Time
	Mark   uint64 // how many entries it holds, as logbook.Book.Mark counts
	Sum    string // the beginning of the SHA-256 of its bytes
}

func (c Copy) name() string { return filepath.Base(c.Path) }

// Series is the copies of one book that one machine makes.
type Series struct {
	stem, tag string
}

// Lengths of the parts of a name, in characters.
const (
	tagLen = 6
	sumLen = 8
)

const stampForm = "20060102T150405Z"

// SeriesOf names the series of a book: two machines, or two books of one machine, that keep copies in one folder never take
// each other's away. path should be absolute.
func SeriesOf(path string, writer [16]byte) Series {
	sum := sha256.Sum256(append(writer[:], path...))
	stem := filepath.Base(path)
	return Series{stem: strings.TrimSuffix(stem, filepath.Ext(stem)), tag: hex.EncodeToString(sum[:])[:tagLen]}
}

// name is the file name of a copy.
func (s Series) name(c Copy) string {
	return fmt.Sprintf("%s-%s-%05d-%s-%d-%s.book", s.stem, s.tag, c.Number, c.Time.UTC().Format(stampForm), c.Mark, c.Sum)
}

// rest are the parts of a name behind the series' own.
var rest = regexp.MustCompile(`^([0-9]{5,19})-([0-9]{8}T[0-9]{6}Z)-([0-9]{1,19})-([0-9a-f]{8})\.book$`)

// parse reads a file name; false is any that is not one of the series.
func (s Series) parse(name string) (Copy, bool) {
	tail, ok := strings.CutPrefix(name, s.stem+"-"+s.tag+"-")
	m := rest.FindStringSubmatch(tail)
	if !ok || m == nil {
		return Copy{}, false
	}
	c := Copy{Sum: m[4]}
	var errs [3]error
	c.Number, errs[0] = strconv.ParseUint(m[1], 10, 63)
	c.Time, errs[1] = time.Parse(stampForm, m[2])
	c.Mark, errs[2] = strconv.ParseUint(m[3], 10, 63)
	if errs != [3]error{} || s.name(c) != name {
		return Copy{}, false
	}
	return c, true
}

// List finds the copies of the series in a folder, newest first. Anything else there is passed over.
func (s Series) List(dir string) ([]Copy, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var list []Copy
	for _, e := range entries {
		if c, ok := s.parse(e.Name()); ok && e.Type().IsRegular() {
			c.Path = filepath.Join(dir, e.Name())
			list = append(list, c)
		}
	}
	slices.SortFunc(list, newestFirst)
	return list, nil
}

// anyName is the name of a copy of any series: the book's name, the mark, and the parts behind it.
var anyName = regexp.MustCompile(`^(.+)-([0-9a-f]{6})-([0-9]{5,19}-[0-9]{8}T[0-9]{6}Z-[0-9]{1,19}-[0-9a-f]{8}\.book)$`)

// Newest finds the copy in a folder that holds the most of a book, whoever made it, for when the book itself cannot say which series is
// its own; false where there is none. Copies of books of other names count only where none is of this one's, and a copy whose bytes do
// not give its name never counts. Of one series the number decides, of several the count of entries and then the time.
func Newest(dir, book string) (Copy, bool) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return Copy{}, false
	}
	series := map[Series]bool{}
	for _, e := range entries {
		if m := anyName.FindStringSubmatch(e.Name()); m != nil {
			series[Series{stem: m[1], tag: m[2]}] = true
		}
	}
	own := SeriesOf(book, [16]byte{}).stem
	var best, other []Copy
	for s := range series {
		if c, ok := s.newestWhole(dir); ok && s.stem == own {
			best = append(best, c)
		} else if ok {
			other = append(other, c)
		}
	}
	if len(best) == 0 {
		best = other
	}
	if len(best) == 0 {
		return Copy{}, false
	}
	return slices.MaxFunc(best, func(a, b Copy) int {
		return cmp.Or(cmp.Compare(a.Mark, b.Mark), a.Time.Compare(b.Time), cmp.Compare(a.name(), b.name()))
	}), true
}

// newestWhole is the newest copy of the series whose bytes are those that its name tells of.
func (s Series) newestWhole(dir string) (Copy, bool) {
	list, err := s.List(dir)
	if err != nil {
		return Copy{}, false
	}
	for _, c := range list {
		if whole, err := c.Whole(); whole && err == nil {
			return c, true
		}
	}
	return Copy{}, false
}

// Whole reports whether a copy's bytes are those that its name tells of.
func (c Copy) Whole() (bool, error) {
	data, err := os.ReadFile(c.Path)
	if err != nil {
		return false, err
	}
	return sumText(sha256.Sum256(data)) == c.Sum, nil
}

func sumText(sum [sha256.Size]byte) string { return hex.EncodeToString(sum[:])[:sumLen] }
