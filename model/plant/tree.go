package plant

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
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

// builder turns the parser's expressions into one tree and checks what TOML forbids across expressions: keys and tables
// that are given twice. It follows TOML 1.0; agreement with the library's own decoder is fuzzed.
type builder struct {
	*collector
	root *node
	cur  *node  // the table that keys go to
	path string // of cur, for messages
	key  string // of the value that is being read, for messages
}

// part is one part of a dotted key.
type part struct {
	name string
	off  int
}

func (b *builder) parts(it unstable.Iterator, base int) []part {
	var ps []part
	for it.Next() {
		k := it.Node()
		ps = append(ps, part{string(k.Data), base + int(k.Raw.Offset)})
	}
	return ps
}

func pathText(ps []part) string {
	names := make([]string, len(ps))
	for i, p := range ps {
		names[i] = keyText(p.name)
	}
	return strings.Join(names, ".")
}

// under joins a table's path and a key of it.
func under(path string, ps []part) string {
	if path == "" {
		return pathText(ps)
	}
	return path + "." + pathText(ps)
}

// header enters a [table] or [[list]].
func (b *builder) header(ps []part, list bool) {
	off := ps[0].off
	for off > 0 && b.src.data[off] != '[' {
		off--
	}
	if list && off > 0 && b.src.data[off-1] == '[' {
		off--
	}
	// Whatever goes wrong, the keys that follow go to a table of their own, so that they make no further noise.
	b.cur, b.path = &node{kind: isTable, off: off}, pathText(ps)
	at := b.root
	for i, p := range ps[:len(ps)-1] {
		next := at.get(p.name)
		switch {
		case next == nil:
			next = &node{kind: isTable, off: off}
			at.put(p.name, p.off, next)
		case next.kind == isArray && next.headed:
			next = next.items[len(next.items)-1]
		case next.kind != isTable || next.closed:
			b.add(off, pathText(ps[:i+1]), b.twice(at.find(p.name)), "each name once")
			return
		}
		at = next
	}
	last := ps[len(ps)-1]
	if list {
		b.listHeader(at, last, off, pathText(ps))
	} else {
		b.tableHeader(at, last, off, pathText(ps))
	}
}

func (b *builder) listHeader(at *node, last part, off int, path string) {
	list := at.get(last.name)
	switch {
	case list == nil:
		list = &node{kind: isArray, off: off, headed: true}
		at.put(last.name, last.off, list)
	case list.kind != isArray || !list.headed:
		b.add(off, path, b.twice(at.find(last.name)), "each name once; a list is written ["+"["+path+"]] every time")
		return
	}
	b.cur = &node{kind: isTable, off: off, headed: true}
	list.items = append(list.items, b.cur)
	b.path = fmt.Sprintf("%s[%d]", path, len(list.items))
}

func (b *builder) tableHeader(at *node, last part, off int, path string) {
	table := at.get(last.name)
	switch {
	case table == nil:
		b.cur.headed = true
		at.put(last.name, last.off, b.cur)
	case table.kind == isTable && !table.headed && !table.closed && !table.dotted:
		table.headed, table.off = true, off
		b.cur = table
	default:
		b.add(off, path, b.twice(at.find(last.name)), "each name once; where there are several, every one begins with ["+"["+path+"]]")
	}
}

func (b *builder) twice(e *entry) string {
	return fmt.Sprintf("given twice (the first is in line %d)", b.src.lineIndex(e.off)+1)
}

// keyValue adds one key to a table.
func (b *builder) keyValue(into *node, n *unstable.Node, base int) (end int) {
	ps := b.parts(n.Key(), base)
	raw := n.Raw
	end = base + int(raw.Offset+raw.Length)
	b.key = under(b.path, ps)
	val, _ := b.value(n.Value(), base, b.valueStart(n, base))
	b.insert(into, ps, val)
	return end
}

// insert puts a value at a possibly dotted key.
func (b *builder) insert(into *node, ps []part, val *node) {
	at := into
	for i, p := range ps[:len(ps)-1] {
		next := at.get(p.name)
		switch {
		case next == nil:
			next = &node{kind: isTable, off: p.off, dotted: true}
			at.put(p.name, p.off, next)
		case next.kind != isTable || !next.dotted:
			b.add(ps[0].off, under(b.path, ps[:i+1]), b.twice(at.find(p.name)), "each key once")
			return
		}
		at = next
	}
	last := ps[len(ps)-1]
	if e := at.find(last.name); e != nil {
		b.add(ps[0].off, under(b.path, ps), b.twice(e), "each key once")
		return
	}
	at.put(last.name, last.off, val)
}

// valueStart finds where a key's value begins: the parser keeps no place for lists.
func (b *builder) valueStart(n *unstable.Node, base int) int {
	var off int
	for it := n.Key(); it.Next(); {
		k := it.Node()
		off = base + int(k.Raw.Offset+k.Raw.Length)
	}
	for off < len(b.src.data) && b.src.data[off] != '=' {
		off++
	}
	return b.skipBlank(off + 1)
}

// skipBlank passes over blanks, line ends, commas and comments between the values of a list.
func (b *builder) skipBlank(off int) int {
	for off < len(b.src.data) {
		switch b.src.data[off] {
		case ' ', '\t', '\r', '\n', ',':
			off++
		case '#':
			for off < len(b.src.data) && b.src.data[off] != '\n' {
				off++
			}
		default:
			return off
		}
	}
	return off
}

// value converts a value that begins at an offset and returns it with the offset behind it.
func (b *builder) value(n *unstable.Node, base, off int) (*node, int) {
	end := base + int(n.Raw.Offset+n.Raw.Length)
	switch n.Kind {
	case unstable.String:
		return &node{kind: isText, off: off, text: string(n.Data)}, end
	case unstable.Bool:
		return &node{kind: isFlag, off: off, text: string(n.Data), flag: string(n.Data) == "true"}, end
	case unstable.Integer, unstable.Float:
		text := string(n.Data)
		v, ok := parseNumber(text)
		if !ok {
			b.add(off, b.key, "the number "+quote(text)+" is too large", "a smaller number")
			return &node{kind: isBroken, off: off}, end
		}
		return &node{kind: isNumber, off: off, text: text, num: v}, end
	case unstable.Array:
		return b.array(n, base, off)
	case unstable.InlineTable:
		return b.inline(n, base, off)
	}
	return &node{kind: isDate, off: off, text: string(n.Data)}, end
}

func (b *builder) array(n *unstable.Node, base, off int) (*node, int) {
	list := &node{kind: isArray, off: off, closed: true}
	at := off + 1
	for it := n.Children(); it.Next(); {
		var item *node
		item, at = b.value(it.Node(), base, b.skipBlank(at))
		list.items = append(list.items, item)
	}
	return list, b.skipBlank(at) + 1
}

func (b *builder) inline(n *unstable.Node, base, off int) (*node, int) {
	table := &node{kind: isTable, off: off, closed: true}
	at := off + 1
	for it := n.Children(); it.Next(); {
		at = b.keyValue(table, it.Node(), base)
	}
	return table, b.skipBlank(at) + 1
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
