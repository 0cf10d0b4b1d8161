package checklist

import (
	"fmt"
	"strings"
	"unicode"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// List is a checklist that can be walked. The tags are those of `headpond checklist --json`, our own addition to the contract.
type List struct {
	Name     string        `json:"name"`
	For      plant.ListFor `json:"for,omitempty"`
	Unit     string        `json:"unit,omitempty"`
	BuiltIn  bool          `json:"built_in"`
	Cautions []string      `json:"cautions"`
	Steps    []string      `json:"steps"`
}

// Lists returns the lists of a plant: those for the four occasions in their order, each the plant file's own where it has one
// and else the built-in one, then the file's others.
func Lists(p *plant.Plant) []List {
	if p == nil {
		return nil
	}
	var out []List
	var f *facts // worked out where a built-in list is needed
	for _, occasion := range plant.ListFors() {
		own := ownLists(p, occasion)
		if len(own) == 0 {
			if f == nil {
				f = factsOf(p)
			}
			own = []List{f.builtIn(occasion)}
		}
		out = append(out, own...)
	}
	return append(out, ownLists(p, "")...)
}

// ownLists are the lists of the plant file for an occasion.
func ownLists(p *plant.Plant, occasion plant.ListFor) []List {
	var out []List
	for _, c := range p.Checklists {
		if c.For == occasion {
			out = append(out, List{Name: c.Name, For: c.For, Unit: c.Unit, Cautions: append([]string{}, c.Cautions...), Steps: append([]string{}, c.Steps...)})
		}
	}
	return out
}

// NameError is a name that no list has, or that several begin with.
type NameError struct {
	Typed   string
	Several []string // the lists that it may be; empty where there is none
	Known   []string // every list
}

// Error says what was typed and what would have been right.
func (e *NameError) Error() string {
	if len(e.Several) > 0 {
		return fmt.Sprintf("%q may be %s; expected more of the name", e.Typed, strings.Join(e.Several, " or "))
	}
	hint := ""
	if n := quantity.Nearest(e.Typed, e.Known); n != "" {
		hint = "; did you mean " + n + "?"
	}
	return fmt.Sprintf("there is no checklist %q (%s)%s", e.Typed, strings.Join(e.Known, "; "), hint)
}

// Find returns the list that is meant by its name, by its occasion, or by a part of its name that no other has. Letter case does
// not matter. The error is a *NameError.
func Find(lists []List, typed string) (List, error) {
	want := strings.ToLower(strings.Join(strings.Fields(typed), " "))
	e := &NameError{Typed: typed}
	for _, match := range []func(List) bool{
		func(l List) bool { return strings.ToLower(l.Name) == want },
		func(l List) bool { return l.For != "" && string(l.For) == want },
		func(l List) bool { return want != "" && strings.Contains(strings.ToLower(l.Name), want) },
	} {
		var found []List
		e.Several = nil
		for _, l := range lists {
			if match(l) {
				found, e.Several = append(found, l), append(e.Several, l.Name)
			}
		}
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 {
			return List{}, e
		}
	}
	for _, l := range lists {
		if l.For != "" {
			e.Known = append(e.Known, string(l.For))
		}
		if l.Name != string(l.For) {
			e.Known = append(e.Known, l.Name)
		}
	}
	return List{}, e
}

// TOML writes lists as tables of the plant file, for a person to alter and put in.
func TOML(lists []List) string {
	var b strings.Builder
	for i, l := range lists {
		if i > 0 {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "[[checklist]]\nname = %s\n", quote(l.Name))
		if l.For != "" {
			fmt.Fprintf(&b, "for = %s\n", quote(string(l.For)))
		}
		if l.Unit != "" {
			fmt.Fprintf(&b, "unit = %s\n", quote(l.Unit))
		}
		if len(l.Cautions) > 0 {
			texts(&b, "caution", l.Cautions)
		}
		texts(&b, "step", l.Steps)
	}
	return b.String()
}

func texts(b *strings.Builder, key string, list []string) {
	b.WriteString(key + " = [\n")
	for _, s := range list {
		b.WriteString("  " + quote(s) + ",\n")
	}
	b.WriteString("]\n")
}

// quote writes a basic string of TOML. What cannot be seen, or would turn the line round on a terminal, stands as an escape,
// which reads back the same; the joiners are needed by several scripts.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '\\' || r == '"':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r != '\u200c' && r != '\u200d' && unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp):
			fmt.Fprintf(&b, `\U%08x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
