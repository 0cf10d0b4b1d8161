package text

import (
	"fmt"
	"unicode/utf16"
	"unicode/utf8"
)

// JSON returns encoded JSON in which everything that could act on a terminal, reorder a line or hide in it is written as an
// escape: DEL, C1 and the invisible characters, which an encoder leaves as they are. Every reader of JSON reads the same text.
func JSON(encoded []byte) []byte {
	var out []byte
	kept := 0
	for i := 0; i < len(encoded); {
		if c := encoded[i]; c < 0x7f { // below space stands only what lays the JSON out: the encoder escapes it in texts
			i++
			continue
		}
		r, n := utf8.DecodeRune(encoded[i:])
		if r != utf8.RuneError && risky(r) {
			out = append(out, encoded[kept:i]...)
			out = appendEscape(out, r)
			kept = i + n
		}
		i += n
	}
	if kept == 0 {
		return encoded
	}
	return append(out, encoded[kept:]...)
}

// appendEscape writes a rune as JSON's escape, two of them beyond the first plane.
func appendEscape(out []byte, r rune) []byte {
	if high, low := utf16.EncodeRune(r); high != utf8.RuneError {
		return fmt.Appendf(out, `\u%04x\u%04x`, high, low)
	}
	return fmt.Appendf(out, `\u%04x`, r)
}
