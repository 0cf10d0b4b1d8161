package plant

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Change is a new value for a number that a plant file gives.
type Change struct {
	Key   string // path such as "penstock[1].minor_k" or "unit[2].best_efficiency", as a Problem names it
	Value float64
}

var pathPart = regexp.MustCompile(`^([a-z_]+)(?:\[([0-9]+)\])?$`)

// Revise writes new values in place of numbers of a plant file and leaves every other byte as it is, comments and the way it
// is laid out included. The text must be sound, every key must stand in it with a number, and the result is sound again;
// otherwise the error says what is wrong, and nothing is returned.
func Revise(name string, data []byte, changes []Change) ([]byte, error) {
	if _, err := Parse(name, data); err != nil {
		return nil, err
	}
	src := newSource(data)
	root := readTree(&collector{src: src})
	type edit struct {
		node *node
		text string
	}
	var edits []edit
	for _, c := range changes {
		n, err := numberAt(root, c.Key)
		if err != nil {
			return nil, err
		}
		if got := string(src.data[n.off:min(n.off+len(n.text), len(src.data))]); got != n.text {
			return nil, fmt.Errorf("%s: %q stands where its value %q was expected; nothing was changed", c.Key, got, n.text)
		}
		edits = append(edits, edit{n, number(c.Value)})
	}
	slices.SortFunc(edits, func(a, b edit) int { return a.node.off - b.node.off })
	var out bytes.Buffer
	out.Write(data[:len(data)-len(src.data)]) // the byte-order mark, where there is one
	from := 0
	for _, e := range edits {
		if e.node.off < from {
			return nil, errors.New("two changes of one value; nothing was changed")
		}
		out.Write(src.data[from:e.node.off])
		out.WriteString(e.text)
		from = e.node.off + len(e.node.text)
	}
	out.Write(src.data[from:])
	if _, err := Parse(name, out.Bytes()); err != nil {
		return nil, fmt.Errorf("the revised description would not be sound: %w", err)
	}
	return out.Bytes(), nil
}

// numberAt finds the number of a path.
func numberAt(root *node, path string) (*node, error) {
	at := root
	for part := range strings.SplitSeq(path, ".") {
		m := pathPart.FindStringSubmatch(part)
		if m == nil {
			return nil, fmt.Errorf("%s: %q is no key of a plant file; nothing was changed", path, part)
		}
		if at = at.get(m[1]); at == nil {
			return nil, fmt.Errorf("%s: the file does not give it; nothing was changed", path)
		}
		if m[2] != "" {
			i, err := strconv.Atoi(m[2])
			if err != nil || at.kind != isArray || i < 1 || i > len(at.items) {
				return nil, fmt.Errorf("%s: the file has no %s; nothing was changed", path, part)
			}
			at = at.items[i-1]
		}
	}
	if at.kind != isNumber {
		return nil, fmt.Errorf("%s: it is %s and not a number; nothing was changed", path, at.kind)
	}
	return at, nil
}
