package plant

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

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
