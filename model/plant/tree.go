package plant

import (
	"math"
	"strconv"
	"strings"
)

// kind is what a value is in the file.
type kind int

const (
	isText kind = iota
	isNumber
	isFlag
	isDate
	isArray
	isTable
	isBroken // its line could not be read; already told
)

// String names the kind as a sentence wants it.
func (k kind) String() string {
	switch k {
	case isText:
		return "text in quotes"
	case isNumber:
		return "a number"
	case isFlag:
		return "true or false"
	case isDate:
		return "a date or time"
	case isArray:
		return "a list"
	case isTable:
		return "a table"
	case isBroken:
		return "unreadable"
	}
	return "kind(" + strconv.Itoa(int(k)) + ")"
}

// node is a value with its place in the file. A table's place is that of its header.
type node struct {
	kind  kind
	off   int
	text  string  // of isText, and as written for numbers
	num   float64 // of isNumber
	flag  bool
	items []*node // of isArray

	entries []*entry // of isTable, in the file's order
	index   map[string]*entry
	headed  bool // a table with its own [header], or a list made by [[headers]]
	closed  bool // an inline table or list: nothing can be added to it from outside
	dotted  bool // a table made by a dotted key: it cannot have a header of its own
}

// entry is a key of a table and its value.
type entry struct {
	name string
	off  int // of the key
	val  *node
}

// get returns the value of a key, nil where the table has none.
func (n *node) get(name string) *node {
	if e := n.find(name); e != nil {
		return e.val
	}
	return nil
}

func (n *node) find(name string) *entry { return n.index[name] }

func (n *node) put(name string, off int, v *node) {
	if n.index == nil {
		n.index = map[string]*entry{}
	}
	e := &entry{name, off, v}
	n.entries = append(n.entries, e)
	n.index[name] = e
}

// parseNumber reads a TOML integer or float. The parser has checked its form; false means out of range.
func parseNumber(text string) (float64, bool) {
	s := strings.ReplaceAll(text, "_", "")
	switch strings.TrimLeft(s, "+-") {
	case "inf":
		return math.Inf(1), true
	case "nan":
		return math.NaN(), true
	}
	if len(s) > 2 && s[0] == '0' && (s[1] == 'x' || s[1] == 'o' || s[1] == 'b') {
		i, err := strconv.ParseInt(s, 0, 64)
		return float64(i), err == nil
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}
