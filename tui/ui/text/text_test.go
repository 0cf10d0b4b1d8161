package text_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"example.org/headpond/tui/ui/text"
)

func TestShowMakesTextHarmless(t *testing.T) {
	cases := []struct{ name, in, want string }{
		{"plain", "screen half clear, 19 psi", "screen half clear, 19 psi"},
		{"accents and degree", "Ré: 4 °C, 0,9 m²", "Ré: 4 °C, 0,9 m²"},
		{"colour code", "\x1b[31mred\x1b[0m", `\x1b[31mred\x1b[0m`},
		{"clipboard write (OSC 52)", "\x1b]52;c;aGk=\a", `\x1b]52;c;aGk=\x07`},
		{"one-byte CSI (C1)", "\u009b31m", `\u009b31m`},
		{"newline, tab, return", "a\n\tb\r", `a\n\tb\r`},
		{"nul and delete", "\x00\x7f", `\x00\x7f`},
		{"reordering", "level \u202e58.0- ", `level \u202e58.0- `},
		{"isolates and marks", "\u2066\u2069\u200e\u200f\u061c", `\u2066\u2069\u200e\u200f\u061c`},
		{"hidden", "vo\u200blts\ufeff\u00ad\u2060", `vo\u200blts\ufeff\u00ad\u2060`},
		{"line separators", "a\u2028b\u2029", `a\u2028b\u2029`},
		{"tag characters", "ok\U000e0041", `ok\U000e0041`},
		{"bad UTF-8", "a\xffb\xc3", `a\xffb\xc3`},
		{"a real replacement character stays", "a\ufffdb", "a\ufffdb"},
		{"raw C1 byte is bad UTF-8", "\x9b2J", `\x9b2J`},
		{"overlong and surrogate", "\xc0\xaf\xed\xa0\x80", `\xc0\xaf\xed\xa0\x80`},
		{"family emoji keeps its joiners", "👨\u200d👩\u200d👧", "👨\u200d👩\u200d👧"},
		{"an accent with no letter under it", "\u0301a \u0301b", `\u0301a \u0301b`},
		{"an accent on a letter stays", "e\u0301", "e\u0301"},
		{"empty", "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := text.Show(c.in); got != c.want {
				t.Errorf("Show(%q) = %q, want %q", c.in, got, c.want)
			}
		})
	}
}

func TestShowLinesKeepsBreaksOnly(t *testing.T) {
	got := text.ShowLines("one\r\ntwo\tx\nthree\x1b[2J\r")
	want := []string{"one", "two x", `three\x1b[2J\r`}
	if strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("ShowLines = %q, want %q", got, want)
	}
}

// FuzzShow asserts the safety rule itself, by Unicode's own tables rather than by Show's: nothing that acts gets through,
// visible text is untouched, and doing it twice changes nothing.
func FuzzShow(f *testing.F) {
	for _, s := range []string{"", "241.2", "\x1b[31m", "a\xff\xfe", "\u202e\u2066", "é°²", "\u009b", "👨\u200d👩", "\ufffd\xef\xbf", "\U0001fffe"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := text.Show(s)
		if !utf8.ValidString(got) {
			t.Fatalf("Show(%q) = %q is not UTF-8", s, got)
		}
		for _, r := range got {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' || unicode.Is(unicode.Noncharacter_Code_Point, r) {
				t.Fatalf("Show(%q) = %q lets %U through", s, got, r)
			}
		}
		if again := text.Show(got); again != got {
			t.Fatalf("Show twice: %q, then %q", got, again)
		}
		harmless := utf8.ValidString(s) && strings.IndexFunc(s, func(r rune) bool {
			return unicode.IsControl(r) || unicode.Is(unicode.M, r) || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r) ||
				unicode.Is(unicode.Noncharacter_Code_Point, r)
		}) < 0
		if harmless && got != s {
			t.Fatalf("Show(%q) = %q changed harmless text", s, got)
		}
	})
}

// line generates one line as it could reach the screen after Show, wide and combining characters included.
func line(t *rapid.T) string {
	return text.Show(rapid.StringOf(rapid.OneOf(rapid.RuneFrom([]rune("abc 0.,-é°²漢字👩\u0301\u200d🏳\ufe0f≥🏽ﾞൎ\u0600")), rapid.Rune())).Draw(t, "line"))
}

func TestNoCutOrWrappedLineIsWiderThanAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, w := line(t), rapid.IntRange(-1, 40).Draw(t, "w")
		mark := rapid.SampledFrom([]string{"…", "~", ""}).Draw(t, "mark")
		cut := text.Truncate(s, w, mark)
		if n := text.Width(cut); n > max(0, w) {
			t.Fatalf("Truncate(%q, %d) is %d wide: %q", s, w, n, cut)
		}
		if text.Width(s) > w && w > 0 && !strings.HasSuffix(cut, mark) {
			t.Fatalf("Truncate(%q, %d) = %q does not say that it was cut", s, w, cut)
		}
		if n := text.Width(text.Fit(s, w, mark)); w >= 0 && n != w {
			t.Fatalf("Fit(%q, %d) is %d wide", s, w, n)
		}
		if n := text.Width(text.FitLeft(s, w, mark)); w >= 0 && n != w {
			t.Fatalf("FitLeft(%q, %d) is %d wide", s, w, n)
		}
		for _, l := range text.Wrap(s, w) {
			if n := text.Width(l); n > w {
				t.Fatalf("Wrap(%q, %d) has a line %d wide: %q", s, w, n, l)
			}
		}
	})
}

func TestWrapLosesNoWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := strings.Join(rapid.SliceOf(rapid.StringMatching(`[a-z0-9.-]{1,12}`)).Draw(t, "words"), " ")
		w := rapid.IntRange(1, 30).Draw(t, "w")
		got := strings.ReplaceAll(strings.Join(text.Wrap(s, w), ""), " ", "")
		if want := strings.ReplaceAll(s, " ", ""); got != want {
			t.Fatalf("Wrap(%q, %d) holds %q", s, w, got)
		}
	})
}

func TestWrapBreaksAtSpacesOnly(t *testing.T) {
	cases := []struct {
		in   string
		w    int
		want string
	}{
		{"stop level -0.85 m", 12, "stop level|-0.85 m"},
		{"stop level -0.85" + text.NBSP + "m", 16, "stop level|-0.85 m"},
		{"one\n\ntwo", 10, "one||two"},
		{"abcdefgh ij", 3, "abc|def|gh|ij"},
		{"漢字", 1, "?|?"},
		{"漢", 1, "?"},
		{"漢 b", 1, "?|b"},
		{"漢字 a", 3, "漢|字|a"},
		{"", 5, ""},
	}
	for _, c := range cases {
		if got := strings.Join(text.Wrap(c.in, c.w), "|"); got != c.want {
			t.Errorf("Wrap(%q, %d) = %q, want %q", c.in, c.w, got, c.want)
		}
	}
	if got := text.Wrap("x", 0); got != nil {
		t.Errorf("Wrap at width 0 = %q, want nothing", got)
	}
}

func TestPadAndCutCountCells(t *testing.T) {
	cases := []struct{ name, got, want string }{
		{"pad right, wide", text.PadRight("漢", 4), "漢  "},
		{"pad left", text.PadLeft("14.6", 6), "  14.6"},
		{"pad never cuts", text.PadLeft("14.6", 2), "14.6"},
		{"centre", text.Centre("ab", 5), " ab  "},
		{"colour codes take no cell", text.PadRight("\x1b[1mab\x1b[0m", 3), "\x1b[1mab\x1b[0m "},
		{"cut keeps colours", text.Truncate("\x1b[1mabcdef\x1b[0m", 4, "…"), "\x1b[1mabc…\x1b[0m"},
		{"cut by cells", text.Cut("abcdef", 2, 4), "cd"},
		{"cut backwards", text.Cut("abcdef", 4, 2), ""},
		{"mark wider than the room", text.Truncate("abcdef", 1, "..."), "."},
	}
	for _, c := range cases {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

func TestASCIIKeepsTheWidthAndIsASCII(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := line(t)
		got := text.ASCII(s)
		for _, r := range got {
			if r >= 0x80 {
				t.Fatalf("ASCII(%q) = %q holds %U", s, got, r)
			}
		}
		if text.Width(got) != text.Width(s) {
			t.Fatalf("ASCII(%q) = %q is %d wide, want %d", s, got, text.Width(got), text.Width(s))
		}
	})
}

// °C becomes C, and what stands in columns stays there: the cell goes to the next gap, or to the end of the line.
func TestASCIIOfTemperatures(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"8 °C", "8 C "},
		{"46 °F", "46 F "},
		{"Bearing A 64 °C is near the edge: above 60 °C.", "Bearing A 64 C is near the edge: above 60 C.  "},
		{" 64 °C       near !", " 64 C        near !"},
		{"64 °C, 12 °C   read\nnext", "64 C, 12 C     read\nnext"},
		{"8 °C\n9 °C", "8 C \n9 C "},
		{"\x1b[1m64 °C\x1b[m  out", "\x1b[1m64 C\x1b[m   out"},
		{"45° bend", "45o bend"},
		{"3 °Chalk", "3 oChalk"},
		{"12 °Cé", "12 oCe"},
	} {
		got := text.ASCII(c.in)
		if got != c.want {
			t.Errorf("ASCII(%q) = %q, want %q", c.in, got, c.want)
		}
		for i, l := range strings.Split(got, "\n") {
			if was := strings.Split(c.in, "\n")[i]; text.Width(l) != text.Width(was) {
				t.Errorf("ASCII(%q) is %d cells wide, the original %d", was, text.Width(l), text.Width(was))
			}
		}
	}
}

func TestASCIIReadsLikeTheOriginal(t *testing.T) {
	cases := []struct{ in, want string }{
		{"Ré 4 °C ±2 m² 0–5", "Re 4 C ~2 m2 0-5 "},
		{"├──█──┤", "+--#--+"},
		{"漢", "??"},
		{"e\u0301", "e"},
		{"\x1b[1mé\x1b[0m", "\x1b[1me\x1b[0m"},
	}
	for _, c := range cases {
		if got := text.ASCII(c.in); got != c.want {
			t.Errorf("ASCII(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

func BenchmarkShowPlain(b *testing.B) {
	s := strings.Repeat("screen half clear, 19 psi. ", 4)
	for b.Loop() {
		text.Show(s)
	}
}

func BenchmarkWidthAccented(b *testing.B) {
	s := strings.Repeat("Ré 4 °C ", 10)
	for b.Loop() {
		text.Width(s)
	}
}
