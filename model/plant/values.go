package plant

import "github.com/pelletier/go-toml/v2/unstable"

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
