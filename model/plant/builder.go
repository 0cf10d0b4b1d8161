package plant

import (
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

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
