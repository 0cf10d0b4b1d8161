package plant

import "slices"

// value is a checked value on its way into the plant.
type value struct {
	num   float64
	text  string
	flag  bool
	nums  []float64
	texts []string
	rows  [][]float64
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
		if d.full() {
			break
		}
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
	case formTexts:
		return d.readTexts(t, s, n)
	}
	nums, ok := d.readList(t, s, n, 12)
	return value{nums: nums}, ok
}
