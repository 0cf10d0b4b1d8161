package quantity

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Key is a quantity as it stands in a round: the name alone for the common bus, "A.volts" for one unit.
type Key string

// NewKey joins a unit id ("" for the common bus) and a name.
func NewKey(unit string, n Name) Key {
	if unit == "" {
		return Key(n)
	}
	return Key(unit + "." + string(n))
}

// Split returns the unit id ("" for the common bus) and the name of a key.
func (k Key) Split() (unit string, n Name) {
	if u, rest, ok := strings.Cut(string(k), "."); ok {
		return u, Name(rest)
	}
	return "", Name(k)
}

// Unit returns the unit id in front of the key, "" for the common bus.
func (k Key) Unit() string { u, _ := k.Split(); return u }

// Name returns the key without the unit id.
func (k Key) Name() Name { _, n := k.Split(); return n }

// KeyError tells that a key names no reading of this plant.
type KeyError struct {
	Key     string
	Nearest string // the nearest known key, "" where none is near
	Why     string
}

// Error names the key, the reason and the nearest known one.
func (e *KeyError) Error() string {
	s := fmt.Sprintf("%s is %s", plain(e.Key), e.Why)
	if e.Nearest != "" {
		s += fmt.Sprintf("; did you mean %s?", e.Nearest)
	}
	return s
}

// plain leaves a word as it is and quotes anything that could not be a key, so that it can be read and does no harm.
func plain(s string) string {
	for _, r := range s {
		if r <= ' ' || r > '~' || r == '"' {
			return quote(s)
		}
	}
	if s == "" || len(s) > quotedRunes {
		return quote(s)
	}
	return s
}

// quotedRunes is how much of a text an error repeats.
const quotedRunes = 60

// quote quotes a text for an error, cut where it is long.
func quote(s string) string {
	if utf8.RuneCountInString(s) <= quotedRunes {
		return strconv.Quote(s)
	}
	cut, n := 0, 0
	for cut = range s {
		if n == quotedRunes {
			break
		}
		n++
	}
	return strconv.Quote(s[:cut]) + "…"
}

// ParseKey checks a key against the catalogue and the plant's unit ids. Letter case does not matter where it leaves no
// doubt: "a.Volts" is A.volts unless the plant has both a unit A and a unit a. The error is a *KeyError.
func ParseKey(s string, units []string) (Key, Info, error) {
	unit, rest, dotted := strings.Cut(strings.TrimSpace(s), ".")
	if !dotted {
		unit, rest = "", unit
	}
	name := Name(strings.ToLower(strings.TrimSpace(rest)))
	info, ok := Lookup(name)
	fail := func(why string, nearest Key) (Key, Info, error) {
		return "", Info{}, &KeyError{Key: s, Why: why, Nearest: string(nearest)}
	}
	switch {
	case !ok:
		return fail("not a reading that is known here", nearestKey(s, units))
	case !dotted && info.Common:
		return Key(name), info, nil
	case !dotted && len(units) == 0:
		return fail("read for one unit only, and this plant has none", "")
	case !dotted:
		return fail("read for one unit only, with its id in front", NewKey(units[0], name))
	}
	id, ok := MatchUnit(strings.TrimSpace(unit), units)
	switch {
	case !ok && len(units) == 0:
		return fail("for a unit, but this plant has none", "")
	case !ok:
		return fail(fmt.Sprintf("for a unit %s that this plant does not have (it has %s)", quote(unit), strings.Join(units, ", ")), nearestKey(s, units))
	case !info.PerUnit:
		return fail("not read for one unit, only for the plant", Key(name))
	}
	return NewKey(id, name), info, nil
}

// MatchUnit finds a unit id as written, or else the only one that differs from it in letter case alone.
func MatchUnit(s string, units []string) (string, bool) {
	if slices.Contains(units, s) {
		return s, true
	}
	found := ""
	for _, u := range units {
		if !strings.EqualFold(u, s) {
			continue
		}
		if found != "" {
			return "", false
		}
		found = u
	}
	return found, found != ""
}

// Keys lists every key that a plant with these unit ids can have, in walking order: the common one before the units'.
func Keys(units []string) []Key {
	var keys []Key
	for i := range catalogue {
		q := &catalogue[i]
		if q.Common {
			keys = append(keys, Key(q.Name))
		}
		if q.PerUnit {
			for _, u := range units {
				keys = append(keys, NewKey(u, q.Name))
			}
		}
	}
	return keys
}

// maxNear is the longest text for which a near word is sought: no key is longer, and the search costs its length.
const maxNear = 64

// Nearest returns the candidate that is the fewest edits away from s, or "" when none is within a third of its length.
// Among equals the first in the alphabet is taken.
func Nearest(s string, candidates []string) string {
	if len(s) > maxNear {
		return ""
	}
	best, bestD := "", len(s)/3+1
	for _, c := range candidates {
		d := editDistance(strings.ToLower(s), strings.ToLower(c))
		if d < bestD || (d == bestD && best != "" && c < best) {
			best, bestD = c, d
		}
	}
	return best
}

func nearestKey(s string, units []string) Key {
	keys := Keys(units)
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = string(k)
	}
	return Key(Nearest(s, names))
}

// editDistance counts the insertions, deletions, changes and swaps of neighbours between two short words.
func editDistance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	d := make([][]int, len(ra)+1)
	for i := range d {
		d[i] = make([]int, len(rb)+1)
		d[i][0] = i
	}
	for j := range rb {
		d[0][j+1] = j + 1
	}
	for i := 1; i <= len(ra); i++ {
		for j := 1; j <= len(rb); j++ {
			cost := 1
			if ra[i-1] == rb[j-1] {
				cost = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+cost)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(ra)][len(rb)]
}
