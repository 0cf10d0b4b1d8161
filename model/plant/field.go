package plant

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// form is what a key's value has to be.
type form int

const (
	formText   form = iota
	formWord        // one of the spec's words
	formNumber      // one number within the spec's range
	formFlag        // true or false
	formPair        // [low, high], rising
	formRows2       // [[a, b], …]
	formRows3       // [[a, b, c], …]
	formMonths      // twelve numbers
)

// span is the range that a number must lie in.
type span struct {
	lo, hi float64
	above  bool // lo itself is outside
}

func (s span) holds(v float64) bool {
	return v <= s.hi && (v > s.lo || !s.above && v == s.lo)
}

// String says the range as "above 0 and at most 1".
func (s span) String() string {
	if s.above {
		return "above " + number(s.lo) + " and at most " + number(s.hi)
	}
	return "from " + number(s.lo) + " to " + number(s.hi)
}

func above0(hi float64) span { return span{0, hi, true} }
func from0(hi float64) span  { return span{0, hi, false} }
func share() span            { return span{0, 1, true} }

// anyLevel holds every elevation on land and some below, for a gauge zero may be the sea's.
func anyLevel() span { return span{-1000, 9000, false} }

// spec describes one key: for reading it, for what a message expects, and for the comment in the starting file.
type spec struct {
	key      string
	form     form
	required bool
	span     span
	columns  []span // of rows: the range of each column
	words    []string
	what     string // what it is, in a few words
	find     string // where a caretaker finds it; may be several sentences
	example  string // its value in the starting file, as TOML
	standard string // what holds where it is absent, in words; "" for required keys
	off      bool   // commented out in the starting file
}

func (s spec) spanText() string {
	if s.span == anyReading() {
		return "in the reading's unit"
	}
	return s.span.String()
}

// expected says what a value of this key should be.
func (s spec) expected() string {
	what := " (" + s.what + ")"
	switch s.form {
	case formText:
		return "text in quotation marks" + what
	case formWord:
		return joinWords(s.words) + what
	case formNumber:
		return "a number " + s.spanText() + what
	case formFlag:
		return "true or false" + what
	case formPair:
		return "[low, high] with low below high, each " + s.spanText() + what
	case formRows2, formRows3:
		return "rows such as " + s.example + what
	case formMonths:
		return "12 numbers, January first, each " + s.span.String() + what
	}
	return s.what
}

// value is a checked value on its way into the plant.
type value struct {
	num  float64
	text string
	flag bool
	nums []float64
	rows [][]float64
}

// field joins a key's description with where its value goes.
type field[T any] struct {
	spec
	put func(*T, value)
}

// table is a table of the file while it is being checked.
type table struct {
	node *node
	path string
	good map[string]bool // keys that were given and are sound
}

// at returns where a key's value stands, or the table's header where the key is absent.
func (t *table) at(key string) int {
	if v := t.node.get(key); v != nil {
		return v.off
	}
	return t.node.off
}

func (t *table) has(keys ...string) bool {
	for _, k := range keys {
		if !t.good[k] {
			return false
		}
	}
	return true
}

func (t *table) given(key string) bool { return t.node.get(key) != nil }

// decoder reads the tree into a plant and gathers what is wrong.
type decoder struct {
	*collector
}

// problem tells a problem of a key of a table.
func (d *decoder) problem(t *table, key, what, expected string) {
	d.add(t.at(key), join(t.path, key), what, expected)
}

func join(path, key string) string {
	switch {
	case key == "":
		return path
	case path == "":
		return keyText(key)
	}
	return path + "." + keyText(key)
}

// decode reads one table by its fields: unknown keys, wrong types, values out of range and missing keys are told. subs
// names the tables inside, which the caller reads.
func decode[T any](d *decoder, n *node, path string, fields []field[T], subs []string, into *T) *table {
	t := &table{node: n, path: path, good: map[string]bool{}}
	byName := map[string]field[T]{}
	names := append([]string(nil), subs...)
	for _, f := range fields {
		byName[f.key] = f
		names = append(names, f.key)
	}
	for _, e := range n.entries {
		if slices.Contains(subs, e.name) {
			continue
		}
		f, ok := byName[e.name]
		if !ok {
			d.unknown(t, e, names)
			continue
		}
		if v, ok := d.read(t, f.spec, e.val); ok {
			t.good[f.key] = true
			f.put(into, v)
		}
	}
	for _, f := range fields {
		if f.required && !t.given(f.key) {
			d.add(n.off, join(path, f.key), "missing", f.expected())
		}
	}
	return t
}

// read checks one value against its key's description.
func (d *decoder) read(t *table, s spec, n *node) (value, bool) {
	switch s.form {
	case formText, formWord:
		return d.readText(t, s, n)
	case formNumber:
		v, ok := d.readNumber(t, s, s.span, n)
		return value{num: v}, ok
	case formFlag:
		if n.kind != isFlag {
			d.wrongType(t, s, n)
			return value{}, false
		}
		return value{flag: n.flag}, true
	case formRows2:
		return d.readRows(t, s, n, 2)
	case formRows3:
		return d.readRows(t, s, n, 3)
	case formPair:
		return d.readPair(t, s, n)
	}
	nums, ok := d.readList(t, s, n, 12)
	return value{nums: nums}, ok
}

func (d *decoder) wrongType(t *table, s spec, n *node) {
	if n.kind == isBroken {
		return
	}
	expected := s.expected()
	if n.kind == isText && s.form == formNumber {
		if v, ok := parseNumber(strings.TrimSpace(n.text)); ok {
			expected = number(v) + " without quotation marks"
		}
	}
	d.add(n.off, join(t.path, s.key), "is "+n.kind.String(), expected)
}

// maxText is the longest text of a key, in characters: these are names and short reasons.
const maxText = 200

func (d *decoder) readText(t *table, s spec, n *node) (value, bool) {
	if n.kind != isText {
		d.wrongType(t, s, n)
		return value{}, false
	}
	text := strings.TrimSpace(n.text)
	what := ""
	switch {
	case text == "":
		what = "is empty"
	case strings.ContainsFunc(text, unicode.IsControl):
		what = quote(text) + " holds a control character"
	case len([]rune(text)) > maxText:
		what = fmt.Sprintf("is %d characters long", len([]rune(text)))
	case s.form == formWord && !slices.Contains(s.words, text):
		what = quote(text) + " is not one of its words"
	default:
		return value{text: text}, true
	}
	d.add(n.off, join(t.path, s.key), what, s.expected())
	return value{}, false
}

func (d *decoder) readNumber(t *table, s spec, in span, n *node) (float64, bool) {
	if n.kind != isNumber {
		d.wrongType(t, s, n)
		return 0, false
	}
	what, expected := "", s.expected()
	switch {
	case math.IsNaN(n.num) || math.IsInf(n.num, 0):
		what = n.text + " is no value that can be measured"
	case in.holds(n.num):
		return n.num, true
	case in == share() && n.num >= 2 && n.num <= 100:
		what = number(n.num) + " is out of range"
		expected = fmt.Sprintf("%s, if %s per cent is meant: a number %s (%s)", strconv.FormatFloat(n.num/100, 'g', 6, 64), n.text, s.span, s.what)
	case in != s.span:
		what = number(n.num) + " is out of range (" + in.String() + ")"
	default:
		what = number(n.num) + " is out of range"
	}
	d.add(n.off, join(t.path, s.key), what, expected)
	return 0, false
}

// readList reads a list of a fixed count of numbers.
func (d *decoder) readList(t *table, s spec, n *node, count int) ([]float64, bool) {
	if n.kind != isArray || n.headed {
		d.wrongType(t, s, n)
		return nil, false
	}
	if len(n.items) != count {
		d.add(n.off, join(t.path, s.key), fmt.Sprintf("has %s", plural(len(n.items), "value")), s.expected())
		return nil, false
	}
	nums, good := make([]float64, count), true
	for i, item := range n.items {
		in := s.span
		if s.columns != nil {
			in = s.columns[i]
		}
		v, ok := d.readNumber(t, s, in, item)
		nums[i], good = v, good && ok
	}
	return nums, good
}

func (d *decoder) readPair(t *table, s spec, n *node) (value, bool) {
	nums, ok := d.readList(t, s, n, 2)
	if ok && nums[0] >= nums[1] {
		d.add(n.off, join(t.path, s.key), fmt.Sprintf("%s is not below %s", number(nums[0]), number(nums[1])), s.expected())
		return value{}, false
	}
	return value{nums: nums}, ok
}

func (d *decoder) readRows(t *table, s spec, n *node, columns int) (value, bool) {
	if n.kind != isArray || n.headed {
		d.wrongType(t, s, n)
		return value{}, false
	}
	if len(n.items) == 0 {
		d.add(n.off, join(t.path, s.key), "has no rows", s.expected())
		return value{}, false
	}
	var v value
	good := true
	for i, row := range n.items {
		if row.kind != isArray || len(row.items) != columns {
			what := fmt.Sprintf("row %d is %s", i+1, row.kind)
			if row.kind == isArray {
				what = fmt.Sprintf("row %d has %s", i+1, plural(len(row.items), "value"))
			}
			d.add(row.off, join(t.path, s.key), what, s.expected())
			good = false
			continue
		}
		nums, ok := d.readList(t, s, row, columns)
		v.rows, good = append(v.rows, nums), good && ok
	}
	return v, d.rising(t, s, n) && good
}

// rising tells rows that do not begin with a larger number than the row before.
func (d *decoder) rising(t *table, s spec, n *node) bool {
	good, last, lastRow := true, math.Inf(-1), 0
	for i, row := range n.items {
		if len(row.items) == 0 || row.items[0].kind != isNumber || math.IsNaN(row.items[0].num) {
			continue
		}
		v := row.items[0].num
		if v <= last {
			d.add(row.off, join(t.path, s.key), fmt.Sprintf("row %d begins with %s, which is not above row %d with %s",
				i+1, number(v), lastRow, number(last)), "rows in rising order "+"("+s.what+")")
			good = false
		}
		last, lastRow = v, i+1
	}
	return good
}

// rowAt returns where row i of a list stands.
func (t *table) rowAt(key string, i int) int {
	if n := t.node.get(key); n != nil && i < len(n.items) {
		return n.items[i].off
	}
	return t.at(key)
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
