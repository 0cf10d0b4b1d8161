package uitest

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Harmless tells whether text that is on its way to a terminal holds nothing that acts on it: only UTF-8, no control characters
// but the line feed, nothing that reorders, hides or separates lines, and, where colours are allowed, no escape sequence but
// those that choose one of the 16 colours or an attribute. It asks Unicode's own tables, not the package that makes text safe.
func Harmless(s string, colors bool) error {
	if !utf8.ValidString(s) {
		return fmt.Errorf("not UTF-8: %s", around(s, strings.IndexFunc(s, func(r rune) bool { return r == utf8.RuneError })))
	}
	if colors {
		var err error
		if s, err = plain(s); err != nil {
			return err
		}
	}
	for i, r := range s {
		switch {
		case r == '\n', r == '\u200c', r == '\u200d': // the joiners are needed by several scripts
		case unicode.IsControl(r), unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Bidi_Control, unicode.Noncharacter_Code_Point):
			return fmt.Errorf("%U reaches the terminal: %s", r, around(s, i))
		}
	}
	return nil
}

// plain takes the sequences that choose a look out of a text, and finds fault with those that choose what the program never does.
func plain(s string) (string, error) {
	var b strings.Builder
	for {
		head, rest, ok := strings.Cut(s, "\x1b[")
		b.WriteString(head)
		if !ok {
			return b.String(), nil
		}
		codes, rest, ok := strings.Cut(rest, "m")
		if !ok {
			return "", fmt.Errorf("an escape sequence that is no look: %q", codes)
		}
		for _, code := range strings.Split(codes, ";") {
			n, err := strconv.Atoi(code)
			own := code == "" || err == nil && (n <= 7 || n >= 22 && n <= 27 || n >= 30 && n <= 37 || n == 39 || n >= 40 && n <= 47 || n == 49 || n >= 90 && n <= 97 || n >= 100 && n <= 107)
			if !own {
				return "", fmt.Errorf("the escape sequence %q is none of the program's own", codes)
			}
		}
		s = rest
	}
}

// around shows where in a text something was found.
func around(s string, at int) string {
	return strconv.QuoteToASCII(s[max(0, at-60):min(len(s), at+30)])
}
