package plant

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode"
)

// Problem is one thing that is wrong with a plant file, at the place where it stands.
type Problem struct {
	Line     int    // from 1
	Column   int    // from 1, counted in characters
	Key      string // path such as "pond.crest_m" or "unit[2].best_head_m"; "" where no key can be named
	What     string // what is wrong
	Expected string // what would be right
}

// String returns "line:col: key: what; expected …".
func (p Problem) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d:%d: ", p.Line, p.Column)
	if p.Key != "" {
		b.WriteString(p.Key + ": ")
	}
	b.WriteString(p.What)
	if p.Expected != "" {
		b.WriteString("; expected " + p.Expected)
	}
	return b.String()
}

// Problems is the error of Parse: everything that is wrong with a file, in the file's order.
type Problems struct {
	Name string // the file's name as the caller gave it
	List []Problem
}

// Error prints one line a problem, each with the file's name in front, and ends by saying that nothing was changed.
func (p *Problems) Error() string {
	var b strings.Builder
	name := harmless(p.Name)
	for _, x := range p.List {
		b.WriteString(name + ":" + x.String() + "\n")
	}
	b.WriteString("nothing was changed")
	return b.String()
}

// maxProblems keeps a hopeless file (a picture, a book) from filling the screen for minutes.
const maxProblems = 500

// collector gathers problems at byte offsets of the source.
type collector struct {
	src  *source
	list []placedProblem
}

type placedProblem struct {
	off int
	Problem
}

// full reports that no more problems are taken: looking for them can end.
func (c *collector) full() bool { return len(c.list) > maxProblems }

func (c *collector) add(off int, key, what, expected string) {
	if c.full() {
		return
	}
	c.list = append(c.list, placedProblem{off, Problem{Key: key, What: what, Expected: expected}})
}

// problems sorts what was gathered into the file's order and gives each its line and column; nil where there is none.
func (c *collector) problems(name string) *Problems {
	if len(c.list) == 0 {
		return nil
	}
	sort.SliceStable(c.list, func(i, j int) bool { return c.list[i].off < c.list[j].off })
	out := &Problems{Name: name}
	for i, p := range c.list {
		p.Line, p.Column = c.src.position(p.off)
		if i == maxProblems {
			out.List = append(out.List, Problem{Line: p.Line, Column: p.Column,
				What:     fmt.Sprintf("there are more problems than the %d above", maxProblems),
				Expected: "those to be put right first"})
			break
		}
		out.List = append(out.List, p.Problem)
	}
	return out
}

// maxQuoted is how much of a person's text a message repeats.
const maxQuoted = 40

// quote repeats a piece of the file in a message: short, in quotes, and with control characters made visible.
func quote(s string) string {
	r := []rune(s)
	if len(r) > maxQuoted {
		s = string(r[:maxQuoted-1]) + "…"
	}
	return strconv.Quote(s)
}

// harmless replaces what a terminal might act on.
func harmless(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, s)
}

// keyText shows a key: bare where it needs no quotes, else quoted.
func keyText(s string) string {
	if s == "" || len(s) > maxQuoted {
		return quote(s)
	}
	for _, r := range s {
		if r > unicode.MaxASCII || !(r == '_' || r == '-' || unicode.IsLetter(r) || unicode.IsDigit(r)) {
			return quote(s)
		}
	}
	return s
}

// joinWords lists words for a sentence: `"a", "b" or "c"`.
func joinWords(words []string) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = strconv.Quote(w)
	}
	if len(q) < 2 {
		return strings.Join(q, "")
	}
	return strings.Join(q[:len(q)-1], ", ") + " or " + q[len(q)-1]
}

// onlyOnce leaves out what a list has already.
func onlyOnce(words []string) []string {
	var out []string
	for _, w := range words {
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

// number prints a value as a person would type it.
func number(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
