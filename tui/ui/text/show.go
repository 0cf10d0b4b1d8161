// Package text makes text safe and measures it in terminal cells. Everything here is a pure function; the command line
// uses it as well as the screens.
//
// Text from outside (notes, imports, a plant file) goes through Show once, where it is drawn, and nowhere else: files and
// JSON keep the original.
package text

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Show returns s as one harmless line. What could act on a terminal, reorder the line or hide in it stands as a visible
// escape in Go's notation: control characters (C0, DEL, C1) such as \n and \x1b, bytes that are not UTF-8 such as \xff, and
// bidirectional, invisible and line-separating characters such as \u202e. So does an accent with no letter under it, which
// would join whatever is drawn before. All other text comes back as it was.
func Show(s string) string {
	i := firstRisk(s)
	if i < 0 {
		return s
	}
	var b strings.Builder
	b.Grow(len(s) + 8)
	b.WriteString(s[:i])
	before := ' ' // what a mark would be drawn on
	if i > 0 {
		before, _ = utf8.DecodeLastRuneInString(s[:i])
	}
	for _, r := range s[i:] {
		// A range over a string gives RuneError of width 1 for a bad byte; the position tells it from a real U+FFFD.
		if r == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(s[i:]); size == 1 {
				fmt.Fprintf(&b, `\x%02x`, s[i])
				i, before = i+1, ' '
				continue
			}
		}
		i += utf8.RuneLen(r)
		if risky(r) && r != utf8.RuneError || before == ' ' && joinsBefore(r) {
			b.WriteString(visible(r))
			before = ' '
			continue
		}
		b.WriteRune(r)
		before = r
	}
	return b.String()
}

// firstRisk returns the position of the first rune that Show may have to escape, -1 where all is harmless.
func firstRisk(s string) int {
	before := ' '
	for i, r := range s {
		if risky(r) || before == ' ' && joinsBefore(r) {
			return i
		}
		before = r
	}
	return -1
}

// ShowLines is Show for text that may have several lines: line ends (\n, \r\n) are kept as breaks and a tab becomes a space.
func ShowLines(s string) []string {
	lines := strings.Split(strings.ReplaceAll(s, "\r\n", "\n"), "\n")
	for i, l := range lines {
		lines[i] = Show(strings.ReplaceAll(l, "\t", " "))
	}
	return lines
}

// visible spells a rune out.
func visible(r rune) string {
	switch {
	case r == '\n':
		return `\n`
	case r == '\r':
		return `\r`
	case r == '\t':
		return `\t`
	case r < 0x80:
		return fmt.Sprintf(`\x%02x`, r)
	case r <= 0xffff:
		return fmt.Sprintf(`\u%04x`, r)
	}
	return fmt.Sprintf(`\U%08x`, r)
}

// The joiners change how neighbours are drawn and are needed by several scripts; they neither hide nor reorder text.
const (
	zeroWidthNonJoiner = '\u200c'
	zeroWidthJoiner    = '\u200d'
)

// risky reports whether a rune must not reach the terminal as it is. RuneError counts, so that Show looks closer.
func risky(r rune) bool {
	switch {
	case r >= 0x20 && r < 0x7f:
		return false
	case r < 0xa0 || r == utf8.RuneError:
		return true
	case r == zeroWidthJoiner || r == zeroWidthNonJoiner:
		return false
	case r&0xfffe == 0xfffe || r >= 0xfdd0 && r <= 0xfdef:
		return true // noncharacters: terminals differ in what they do with them
	}
	return unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp) || joinsAfter(r)
}

// joinsBefore reports whether a rune is drawn on the one before it: accents, selectors, skin tones, half-width voice marks.
func joinsBefore(r rune) bool {
	switch {
	case r <= 0x7f:
		return false
	case r == zeroWidthJoiner, r == zeroWidthNonJoiner, r == 0xff9e, r == 0xff9f:
		return true
	}
	return unicode.Is(unicode.M, r) || r >= 0x1f3fb && r <= 0x1f3ff
}

// joinsAfter reports whether a letter is drawn on the one after it (Grapheme_Cluster_Break=Prepend, those that are letters),
// and so would swallow the space that ends a column. They are rare historic forms.
func joinsAfter(r rune) bool {
	switch r {
	case 0x0d4e, 0x111c2, 0x111c3, 0x1193f, 0x11941, 0x11a3a, 0x11d46, 0x11f02:
		return true
	}
	return r >= 0x11a84 && r <= 0x11a89
}
