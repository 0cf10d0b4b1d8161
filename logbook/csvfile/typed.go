package csvfile

import (
	"maps"
	"slices"
	"strings"

	"example.org/headpond/model/quantity"
)

// typedAs is one reading and how it was typed.
type typedAs struct{ key, text string }

var typedEscape = strings.NewReplacer(`\`, `\\`, ";", `\;`)

// joinTyped writes the column typed: "pressure_kpa=19 psi; A.bearing_c=104 °F", by key. A backslash stands before a
// semicolon or backslash within a text.
func joinTyped(typed map[quantity.Key]string) string {
	var b strings.Builder
	for _, k := range slices.Sorted(maps.Keys(typed)) {
		if b.Len() > 0 {
			b.WriteString("; ")
		}
		b.WriteString(string(k) + "=" + typedEscape.Replace(typed[k]))
	}
	return b.String()
}

// splitTyped is the inverse of joinTyped. It is false for a text that is not such pairs.
func splitTyped(s string) ([]typedAs, bool) {
	var list []typedAs
	for strings.TrimSpace(s) != "" {
		key, rest, ok := strings.Cut(s, "=")
		if !ok {
			return nil, false
		}
		text, tail := cutTyped(rest)
		list = append(list, typedAs{strings.TrimSpace(key), strings.TrimSpace(text)})
		s = tail
	}
	return list, true
}

// cutTyped cuts a text at the first semicolon that has no backslash before it, and takes the backslashes away.
func cutTyped(s string) (text, tail string) {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == '\\' && i+1 < len(s):
			i++
			b.WriteByte(s[i])
		case s[i] == ';':
			return b.String(), s[i+1:]
		default:
			b.WriteByte(s[i])
		}
	}
	return b.String(), ""
}
