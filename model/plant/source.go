package plant

import (
	"bytes"
	"sort"
	"unicode/utf8"
)

// maxSource is the largest file that is read; a plant's description is a few kilobytes.
const maxSource = 256 << 10

// source is the text of a file, without a byte-order mark, that can tell line and column of an offset.
type source struct {
	data  []byte
	lines []int // offset at which each line starts
}

func newSource(data []byte) *source {
	s := &source{data: bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), lines: []int{0}}
	for i, c := range s.data {
		if c == '\n' {
			s.lines = append(s.lines, i+1)
		}
	}
	return s
}

// position returns line and column, both from 1; the column counts characters, as editors do.
func (s *source) position(off int) (line, column int) {
	off = min(max(off, 0), len(s.data))
	i := sort.SearchInts(s.lines, off+1) - 1
	return i + 1, utf8.RuneCount(s.data[s.lines[i]:off]) + 1
}

// lineIndex returns the index in lines of the line that holds an offset.
func (s *source) lineIndex(off int) int { return sort.SearchInts(s.lines, off+1) - 1 }

// line returns a line's text without its end; "" beyond the last.
func (s *source) line(i int) string {
	if i < 0 || i >= len(s.lines) {
		return ""
	}
	end := len(s.data)
	if i+1 < len(s.lines) {
		end = s.lines[i+1] - 1
	}
	return string(bytes.TrimSuffix(s.data[s.lines[i]:end], []byte("\r")))
}

// unreadable tells why the bytes are no text that could be a plant file; "" where they may be one.
func (s *source) unreadable() (what, expected string) {
	const utf8Text = "a text file in UTF-8; in the editor choose \"UTF-8\" when saving"
	switch {
	case len(s.data) > maxSource:
		return "the file is larger than 256 KiB", "a plant file, which is a few kilobytes of text"
	case bytes.HasPrefix(s.data, []byte{0xff, 0xfe}), bytes.HasPrefix(s.data, []byte{0xfe, 0xff}):
		return "the file is in UTF-16", utf8Text
	case bytes.IndexByte(s.data, 0) >= 0:
		return "the file is not text (it holds a zero byte)", utf8Text
	case len(bytes.TrimSpace(s.data)) == 0:
		return "the file is empty", "a plant file, such as \"plant new\" writes"
	}
	return "", ""
}
