package plant

import (
	"fmt"

	"example.org/headpond/model/quantity"
)

// Parse reads a plant file strictly. The text may begin with a UTF-8 byte-order mark and may have either kind of line end.
// Either the plant is returned, with its defaults filled in, or a *Problems with everything that is wrong, each at its line
// and column: syntax, unknown keys (with the nearest known one), wrong types, impossible values, missing keys and what does
// not fit together. name is used in messages only.
func Parse(name string, data []byte) (*Plant, error) {
	src := newSource(data)
	c := &collector{src: src}
	if what, expected := src.unreadable(); what != "" {
		c.add(0, "", what, expected)
		return nil, c.problems(name)
	}
	d := &decoder{c}
	p := d.plant(readTree(c))
	if problems := c.problems(name); problems != nil {
		return nil, problems
	}
	return p, nil
}

// tables holds the tables of a file while they are checked against each other.
type tables struct {
	site, supply, pond, intake, ballast *table
	bands, penstocks, units             []*table
	elements, loads, upkeep             []*table
	checklists                          []*table
}

// plant reads the whole tree.
func (d *decoder) plant(root *node) *Plant {
	p := &Plant{
		Site:    Site{Units: "metric"},
		Supply:  Supply{Bands: "isolated"},
		Pond:    Pond{CrestCoefficient: 1.7},
		Ballast: Ballast{ShareOf: ShareOfGeneration},
	}
	var ts tables
	d.topLevel(root)
	ts.site = one(d, root, "site", true, siteFields(), nil, &p.Site)
	ts.supply = one(d, root, "supply", true, supplyFields(), nil, &p.Supply)
	p.Bands, ts.bands = list(d, root, "", "band", bandFields(), func() Band { return Band{} })
	ts.pond = one(d, root, "pond", false, pondFields(), nil, &p.Pond)
	ts.intake = one(d, root, "intake", false, intakeFields(), nil, &p.Intake)
	p.Penstocks, ts.penstocks = list(d, root, "", "penstock", penstockFields(), func() Penstock { return Penstock{Gauge: BelowValve} })
	p.Units, ts.units = list(d, root, "", "unit", unitFields(), func() Unit {
		return Unit{RunawayRatio: 1.5, Excitation: Regulated, Bus: "common"}
	})
	ts.ballast = one(d, root, "ballast", false, ballastFields(), []string{"element"}, &p.Ballast)
	p.Ballast.Elements, ts.elements = list(d, ts.ballast.node, "ballast", "element", elementFields(), func() Element {
		return Element{RatedVolts: p.Supply.Volts, Working: true}
	})
	p.Loads, ts.loads = list(d, root, "", "load", loadFields(), func() Load { return Load{} })
	p.Upkeep, ts.upkeep = list(d, root, "", "upkeep", taskFields(), func() Task { return Task{} })
	p.Checklists, ts.checklists = list(d, root, "", "checklist", checklistFields(), func() Checklist { return Checklist{} })
	d.money(root, p)
	d.check(p, &ts)
	p.Gauge = d.gauge(root.get("gauge"), p)
	return p
}

func (d *decoder) money(root *node, p *Plant) {
	if root.get("money") == nil {
		return
	}
	p.Money = &Money{}
	t := one(d, root, "money", false, moneyFields(), []string{"fuel"}, p.Money)
	var ts []*table
	p.Money.Fuels, ts = list(d, t.node, "money", "fuel", fuelFields(), func() Fuel { return Fuel{} })
	d.unique(ts, "name", func(i int) string { return p.Money.Fuels[i].Name })
}

// one reads a table that stands once. The result is never nil: an absent table is empty and stands at the file's start.
func one[T any](d *decoder, root *node, name string, required bool, fields []field[T], subs []string, into *T) *table {
	n := root.get(name)
	switch {
	case n == nil && required:
		d.add(0, name, "the table ["+name+"] is missing", "["+name+"] with "+requiredKeys(fields))
		fallthrough
	case n == nil, n.kind == isBroken:
		return &table{node: &node{kind: isTable}, path: name, good: map[string]bool{}}
	case n.kind == isArray && n.headed:
		d.add(n.off, name, "[["+name+"]] makes a list of what stands once", "["+name+"]")
		n = n.items[0]
	case n.kind != isTable:
		d.add(n.off, name, "is "+n.kind.String(), "a table that begins with ["+name+"]")
		return &table{node: &node{kind: isTable}, path: name, good: map[string]bool{}}
	}
	return decode(d, n, name, fields, subs, into)
}

func requiredKeys[T any](fields []field[T]) string {
	var keys []string
	for _, f := range fields {
		if f.required {
			keys = append(keys, f.key)
		}
	}
	return joinPlain(keys)
}

// list reads the tables of a list, each begun from fresh.
func list[T any](d *decoder, parent *node, path, name string, fields []field[T], fresh func() T) ([]T, []*table) {
	n := parent.get(name)
	if n == nil || n.kind == isBroken {
		return nil, nil
	}
	full := join(path, name)
	items := n.items
	if n.kind == isTable {
		d.add(n.off, full, "["+full+"] stands once where there may be several", "[["+full+"]], also for the first")
		items = []*node{n}
	} else if n.kind != isArray {
		d.add(n.off, full, "is "+n.kind.String(), "tables that begin with [["+full+"]]")
		return nil, nil
	}
	var out []T
	var ts []*table
	for i, item := range items {
		if d.full() {
			break
		}
		itemPath := fmt.Sprintf("%s[%d]", full, i+1)
		if item.kind != isTable {
			d.add(item.off, itemPath, "is "+item.kind.String(), "a table that begins with [["+full+"]]")
			continue
		}
		v := fresh()
		ts = append(ts, decode(d, item, itemPath, fields, nil, &v))
		out = append(out, v)
	}
	return out, ts
}

// topLevel tells tables and keys that no plant file has.
func (d *decoder) topLevel(root *node) {
	var known []string
	for _, s := range sections() {
		known = append(known, s.name)
	}
	for _, e := range root.entries {
		if d.full() {
			break
		}
		if isKnownTable(e.name, known) || e.val.kind == isBroken {
			continue
		}
		what := "unknown table"
		if e.val.kind != isTable && !e.val.headed {
			what = "unknown key outside of any table"
		}
		expected := "one of the tables " + joinPlain(known)
		if near := nearest(e.name, known); near != "" {
			expected = near
			if root.get(near) == nil {
				// Most likely that table is meant: what stands in it is judged too.
				root.put(near, e.off, e.val)
			}
		} else if home := homeOf(e.name); home != "" {
			expected = "it below the heading [" + home + "]"
		}
		at := e.off
		if e.val.headed || e.val.kind == isTable {
			at = e.val.off
		}
		d.add(at, keyText(e.name), what, expected)
	}
}

// unknown tells a key that its table does not have.
func (d *decoder) unknown(t *table, e *entry, names []string) {
	expected := "one of " + joinPlain(names)
	if near := nearest(e.name, names); near != "" {
		expected = near
		if !t.given(near) {
			// Most likely that key is meant: it is not told to be missing as well.
			t.node.put(near, e.off, &node{kind: isBroken, off: e.val.off})
		}
	} else if home := homeOf(e.name); home != "" {
		expected = "it in [" + home + "]"
	}
	at := e.off
	if e.val.headed {
		at = e.val.off
	}
	d.add(at, join(t.path, e.name), "unknown key", expected)
}

// nearest finds the known name that a person may have meant; a very long name is no slip of one.
func nearest(name string, known []string) string {
	if len(name) > maxQuoted {
		return ""
	}
	return quantity.Nearest(name, known)
}
