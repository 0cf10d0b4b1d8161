package csvfile

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// formulaSigns are what a spreadsheet may take for the beginning of a formula, full-width forms included (OWASP, CSV
// injection; from memory).
const formulaSigns = "=+-@\t\r\n＝＋－＠"

// guarded reports whether a text is apostrophes, at least least of them, and then what could be a formula.
func guarded(s string, least int) bool {
	tail := strings.TrimLeft(s, "'")
	if len(s)-len(tail) < least || tail == "" {
		return false
	}
	first, _ := utf8.DecodeRuneInString(tail)
	return strings.ContainsRune(formulaSigns, first)
}

// guard makes a text harmless for spreadsheets; unguard takes that back. See the package's comment.
func guard(s string) string {
	if guarded(s, 0) && !plainNumber(s) {
		return "'" + s
	}
	return s
}

// unguard is the inverse of guard.
func unguard(s string) string {
	if guarded(s, 1) && !plainNumber(s[1:]) {
		return s[1:]
	}
	return s
}

// plainNumber reports whether a text is a decimal number and nothing else, which no spreadsheet calculates with.
func plainNumber(s string) bool {
	digits := strings.TrimLeft(s, "+-")
	if len(s)-len(digits) > 1 || digits == "" || strings.Trim(digits, "0123456789.") != "" {
		return false
	}
	_, err := strconv.ParseFloat(digits, 64)
	return err == nil
}

// plain leaves a column's name as it is and quotes one that holds anything but printable characters, or is long.
func plain(s string) string {
	if len(s) <= maxName && strconv.Quote(s) == `"`+s+`"` {
		return s
	}
	return quote(s)
}

// quote quotes a text for a message, cut where it is long.
func quote(s string) string {
	const most = 60
	n := 0
	for i := range s {
		if n++; n > most {
			return strconv.Quote(s[:i]) + "…"
		}
	}
	return strconv.Quote(s)
}
