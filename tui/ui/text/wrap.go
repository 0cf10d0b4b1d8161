package text

import (
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// NBSP between two words, such as a number and its unit, keeps them on one line. Wrap draws it as a plain space.
const NBSP = "\u00a0"

// Wrap breaks plain text into lines of at most w cells, at spaces only: a hyphen is a minus sign more often than not here.
// A word longer than a line is cut between graphemes. Line ends in s are kept; an empty line stays empty. For w < 1 it
// returns nil.
func Wrap(s string, w int) []string {
	if w < 1 {
		return nil
	}
	var lines []string
	for _, paragraph := range strings.Split(s, "\n") {
		lines = append(lines, wrapParagraph(paragraph, w)...)
	}
	for i, l := range lines {
		lines[i] = strings.ReplaceAll(l, NBSP, " ")
	}
	return lines
}

func wrapParagraph(s string, w int) []string {
	var lines []string
	line, used := "", 0
	for _, word := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\t' }) {
		n := Width(word)
		if used > 0 && used+1+n <= w {
			line, used = line+" "+word, used+1+n
			continue
		}
		if used > 0 {
			lines = append(lines, line)
		}
		for n > w {
			var head string
			head, word = cutHead(word, w)
			lines, n = append(lines, head), Width(word)
		}
		if word == "" { // cut up whole: its last piece is the line to go on with
			last := len(lines) - 1
			word, lines = lines[last], lines[:last]
			n = Width(word)
		}
		line, used = word, n
	}
	return append(lines, line)
}

// cutHead splits off the longest start of a word that has at most w cells. A wide character that has no room at all becomes
// a question mark, so that each cut makes the word shorter.
func cutHead(word string, w int) (head, rest string) {
	if head = cut(word, w, ""); head != "" {
		return head, word[len(head):]
	}
	first, _ := ansi.FirstGraphemeCluster(word, ansi.GraphemeWidth)
	return "?", word[len(first):]
}
