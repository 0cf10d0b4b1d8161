package csvfile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// rowReader makes a round of one row.
type rowReader struct {
	r        *reader
	in       row
	round    record.Round
	ownID    bool // the row brings its id
	aside    map[string]string
	problems []Problem
}

func newRowReader(r *reader, in row) *rowReader {
	return &rowReader{r: r, in: in}
}

// problem notes what is wrong with a cell. A long text is cut, since the row itself is kept.
func (c *rowReader) problem(column, text, expected string) {
	const most = 200
	for i := range text {
		if i >= most {
			text = text[:i] + "…"
			break
		}
	}
	c.problems = append(c.problems, Problem{Line: c.in.line, Column: column, Text: text, Expected: expected})
}

// read reads all cells and then what they say together.
func (c *rowReader) read() {
	if !c.whole() {
		return
	}
	typed := ""
	for i, col := range c.r.cols {
		text := c.in.cells[i]
		if strings.TrimSpace(text) == "" {
			if col.kind == isTime {
				c.problem(col.name, "", expectedTime)
			}
			continue
		}
		if !utf8.ValidString(text) {
			c.problem(col.name, text, "text in UTF-8")
			continue
		}
		if col.kind == isTyped {
			typed = unguard(text)
			continue
		}
		c.cell(col, text)
	}
	if len(c.problems) > 0 {
		return
	}
	c.setTyped(typed)
	c.setID()
	c.saysSomething()
	c.ask()
}

// saysSomething refuses a row that says something in columns of no known name alone, as when the name is misspelt: it would
// stand in the book as a round at which nothing was read. A row of a time alone is such a round (the time alone is required),
// and one that brings its id is an entry of a book already.
func (c *rowReader) saysSomething() {
	r := &c.round
	if c.ownID || len(c.problems) > 0 || len(r.Values)+len(r.Words) > 0 || r.Running != nil || strings.TrimSpace(r.Note) != "" {
		return
	}
	for _, u := range c.r.cols {
		if said := c.text(u.name); u.kind == isExtra && strings.TrimSpace(said) != "" {
			c.problem(u.name, said, "a column that is known: the row has no other reading, and no note, so that nothing of it would be seen")
			return
		}
	}
}

// whole reports whether there is a cell for every column. Blank ones too many are passed over.
func (c *rowReader) whole() bool {
	cells, cols := c.in.cells, c.r.cols
	nth := func(i int) string {
		if i < len(cols) {
			return cols[i].name
		}
		return fmt.Sprint(i + 1)
	}
	if c.in.broken != "" {
		c.problem(nth(len(cells)), c.in.raw, "that "+c.in.broken)
		return false
	}
	for len(cells) > len(cols) && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) != len(cols) {
		c.problem(nth(min(len(cells), len(cols))), fmt.Sprintf("a row of %d cells", len(cells)), fmt.Sprintf("%d, as in the header", len(cols)))
		return false
	}
	c.in.cells = cells
	return true
}

// cell reads one cell that is not blank.
func (c *rowReader) cell(col column, text string) {
	switch col.kind {
	case isTime:
		c.round.Time = c.time(col, text)
	case isWritten:
		c.round.WrittenAt = c.time(col, text)
	case isID:
		id, ok := readID(strings.TrimSpace(text))
		if !ok {
			c.problem(col.name, text, "the 26 letters and digits of an entry's id, or nothing")
		}
		c.round.ID, c.ownID = id, true
	case isConfirmed:
		info, _ := quantity.Lookup(quantity.ScreenCleared) // any question of yes or no
		word, err := quantity.ParseWord(info, text)
		if err != nil {
			c.problem(col.name, text, "yes, no or nothing")
		}
		c.round.Confirmed = word == "yes"
	case isField:
		c.failed(col, text, c.round.Set(col.name, unguard(text), c.r.units, quantity.Metric))
	case isReading:
		if c.round.Values == nil && col.info.Number() {
			c.round.Values = make(map[quantity.Key]float64, c.r.numbers) // so that it need not grow cell by cell
		}
		c.failed(col, text, c.round.SetReading(col.key, col.info, text, quantity.Metric))
	case isExtra:
		c.extra(&c.round.Extra, col.name, text)
	case isAside:
		c.extra(&c.aside, col.name, text)
	case isTyped, isReason:
	}
}

// failed notes why a column could not be set.
func (c *rowReader) failed(col column, text string, err error) {
	var bad *record.FieldError
	if errors.As(err, &bad) {
		c.problem(col.name, text, bad.Expected)
	} else if err != nil {
		c.problem(col.name, text, err.Error())
	}
}

// extra keeps the text of an unknown column, with plain line ends and otherwise as it stands.
func (c *rowReader) extra(m *map[string]string, name, text string) {
	text = lineEnds(unguard(text))
	if *m == nil {
		*m = map[string]string{}
	}
	(*m)[name] = text
}

// lineEnds makes CRLF and a lone carriage return a line feed.
func lineEnds(text string) string {
	if !strings.ContainsRune(text, '\r') {
		return text
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
}

const expectedTime = "a time such as 2026-01-05T07:00:00-04:00, or without the offset in the plant's time zone"

// time reads a time: RFC 3339, or a local one of the plant, always with its date. A clock change is never guessed.
func (c *rowReader) time(col column, text string) time.Time {
	expected := ""
	t, err := absolute(text, c.r.p.Location)
	var twice *localtime.AmbiguousError
	var never *localtime.MissingError
	switch {
	case errors.As(err, &twice):
		expected = fmt.Sprintf("%s or %s, because the clocks are set back and it happens twice", record.TimeText(twice.Earlier), record.TimeText(twice.Later))
	case errors.As(err, &never):
		expected = fmt.Sprintf("a time that exists: the clocks are set forward from %s to %s", never.Before.Format("15:04 -07:00"), never.After.Format("15:04 -07:00"))
	case err != nil:
		expected = expectedTime
	default:
		if err := checkYear(t); err != nil {
			expected = "a time from 1970 on"
		}
	}
	if expected != "" {
		c.problem(col.name, text, expected)
	}
	return t
}

// errNoTime is any text that is no date with a time of day.
var errNoTime = errors.New("not a date and a time of day")

// absolute reads a text that means the same whenever it is read. The time is cut to the second, as in the book.
func absolute(text string, loc *time.Location) (time.Time, error) {
	text = strings.TrimSpace(text)
	if len(text) < len("2006-01-02 7:00") || text[4] != '-' || strings.Trim(text[:4], "0123456789") != "" {
		return time.Time{}, errNoTime // "now", "-2h" and "06:30" mean something else tomorrow
	}
	zone := loc
	if zone == nil {
		if !zoned(text) {
			return time.Time{}, errNoTime // a local time of a plant without a zone
		}
		zone = time.UTC
	}
	t, form, err := localtime.Parse(text, time.Time{}, zone)
	if err == nil && form == localtime.Date {
		err = errNoTime // a whole day
	}
	if err != nil {
		return time.Time{}, err
	}
	t = time.Unix(t.Unix(), 0).In(t.Location())
	_, offset := t.Zone()
	if loc != nil {
		if _, o := t.In(loc).Zone(); o == offset {
			return t.In(loc), nil
		}
	}
	if offset == 0 {
		return t.UTC(), nil
	}
	return t.In(time.FixedZone("", offset)), nil
}

// zoned reports whether a text ends in Z or an offset such as -04:00.
func zoned(text string) bool {
	n := len(text)
	return strings.HasSuffix(strings.ToUpper(text), "Z") || n > 6 && (text[n-6] == '+' || text[n-6] == '-') && text[n-3] == ':'
}

// setTyped reads how readings were typed. It must agree with the readings, which a person may have changed since.
func (c *rowReader) setTyped(text string) {
	list, ok := splitTyped(text)
	if !ok {
		c.problem(colTyped, text, "column=value pairs between semicolons, such as pressure_kpa=19 psi; air_c=40 °F")
		return
	}
	for _, t := range list {
		k, info, err := quantity.ParseKey(t.key, c.r.units)
		v, read := c.round.Values[k]
		_, word := c.round.Words[k]
		if err != nil || !read && !word {
			c.problem(colTyped, text, "columns that have a reading; "+plain(t.key)+" has none")
			continue
		}
		if was, err := quantity.ParseValue(info, t.text, quantity.Metric); read && err == nil && math.Abs(was.Kept-v) > 1e-9*max(1, math.Abs(v)) {
			c.problem(colTyped, text, fmt.Sprintf("nothing, or %s, which is what stands in %s", quantity.Text(v), k))
			continue
		}
		if c.round.Typed == nil {
			c.round.Typed = map[quantity.Key]string{}
		}
		c.round.Typed[k] = t.text
	}
}

// setID checks the id that the row brings, or derives one.
func (c *rowReader) setID() {
	if len(c.problems) > 0 {
		return
	}
	if !c.ownID {
		id, err := DeriveID(c.round)
		if err != nil {
			c.problem(record.ColTime, c.round.Text(record.ColTime), err.Error())
		}
		c.round.ID = id
		return
	}
	at, ok := idTime(c.round.ID)
	if ok && at.Unix() == c.round.Time.Unix() || c.r.o.TimeAmended != nil && c.r.o.TimeAmended(c.round.ID) {
		return
	}
	if c.r.o.Entry != nil {
		return // the book's own entry may explain it: compare asks
	}
	c.problem(colID, c.round.ID, "an id of the row's time; this one is of "+record.TimeText(at)+". Leave it blank for a new round, or correct the time of the old one with headpond amend")
}

// ask notes the readings that are not plausible, unless someone has confirmed them.
func (c *rowReader) ask() {
	if c.round.Confirmed {
		return
	}
	for _, q := range assess.Questions(c.r.p, c.round) {
		if q.Slip {
			continue // within the contract's range, which is all that an import goes by
		}
		if c.r.o.Yes {
			c.round.Confirmed = true
			return
		}
		c.problem(string(q.Key), c.text(string(q.Key)), "what is plausible here, "+q.Expected()+"; --yes takes it as confirmed")
	}
}
