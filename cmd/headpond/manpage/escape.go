package manpage

import (
	"fmt"
	"strings"
)

// line is a line of text that the formatter takes as text, whatever stands at its beginning.
func line(s string) string {
	s = escape(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s + "\n"
}

// escape writes text so that every formatter shows it letter for letter: backslashes and quotes are spelt out, and letters
// beyond ASCII go by number, because a page has no place that says its encoding. Control characters are left out.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\\':
			b.WriteString(`\e`)
		case r == '"':
			b.WriteString(`\(dq`)
		case r == '\'':
			b.WriteString(`\(aq`)
		case r == '`':
			b.WriteString("\\(ga")
		case r == '^':
			b.WriteString(`\(ha`)
		case r == '~':
			b.WriteString(`\(ti`)
		case r == '-':
			b.WriteString(`\-`) // typed as it stands in examples, never a typographic hyphen
		case r < ' ' || r == 0x7f:
		case r > '~':
			fmt.Fprintf(&b, `\[u%04X]`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// literal is a word of the command line.
func literal(s string) string { return escape(s) }
