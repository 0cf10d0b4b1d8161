package ui_test

import (
	"bytes"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/muesli/termenv"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// roles lists each look of a theme by name.
func roles(t ui.Theme) map[string]ui.Style {
	m := map[string]ui.Style{
		"good": t.Good, "near": t.Near, "out": t.Out, "title": t.Title, "heading": t.Heading, "strong": t.Strong, "dim": t.Dim,
		"key": t.Key, "selected": t.Selected, "input": t.Input, "ghost": t.Ghost, "caret": t.Caret, "line": t.Line, "fill": t.Fill,
	}
	for i, s := range t.Series {
		m["series "+string(rune('1'+i))] = s
	}
	return m
}

func TestStyleClosesEachLineAndGoesOnAfterAnInnerLook(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	cases := []struct{ name, got, want string }{
		{"one line", th.Strong.Render("ab"), "\x1b[1mab\x1b[0m"},
		{"two lines", th.Strong.Render("a\nb"), "\x1b[1ma\x1b[0m\n\x1b[1mb\x1b[0m"},
		{"inner look", th.Strong.Render("a" + th.Selected.Render("b") + "c"), "\x1b[1ma\x1b[7mb\x1b[0m\x1b[1mc\x1b[0m"},
		{"inner look at the end", th.Strong.Render("a" + th.Selected.Render("b")), "\x1b[1ma\x1b[7mb\x1b[0m"},
		{"nothing", th.Strong.Render(""), ""},
		{"zero style", ui.Style{}.Render("a\nb"), "a\nb"},
	}
	for _, c := range cases {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

func TestWithoutColoursEveryRoleIsPlain(t *testing.T) {
	for name, s := range roles(uitest.Theme(uitest.Look{})) {
		if !s.Plain() {
			t.Errorf("%s draws %q", name, s.Render("x"))
		}
	}
}

// Only bold, faint, reverse and the 16 foreground colours by number (ECMA-48 SGR 1, 2, 7, 30–37; 90–97 as xterm added them) may
// be written: no painted background (40–47, 48), no palette or true colours (38).
func TestLooksUseTheTerminalsOwnColoursOnItsOwnBackground(t *testing.T) {
	allowed := regexp.MustCompile(`^\x1b\[(1|2|7|3[0-7]|9[0-7])(;(1|2|7|3[0-7]|9[0-7]))*mx\x1b\[0m$`)
	for _, bg := range []ui.Background{ui.AnyBackground, ui.DarkBackground, ui.LightBackground} {
		for name, s := range roles(uitest.Theme(uitest.Look{Color: true, Background: bg})) {
			out := s.Render("x")
			if s.Plain() {
				continue
			}
			if !allowed.MatchString(out) {
				t.Errorf("%s on background %d draws %q", name, bg, out)
			}
			faint := strings.Contains(out, "[2m") || strings.Contains(out, ";2m") || strings.Contains(out, "[2;")
			if faint && name != "line" {
				t.Errorf("%s is faint, but must be read", name)
			}
		}
	}
}

func TestSelectionAndCaretAreReverseVideo(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	for name, s := range map[string]ui.Style{"selected": th.Selected, "caret": th.Caret} {
		if got := s.Render("x"); got != "\x1b[7mx\x1b[0m" {
			t.Errorf("%s draws %q, want reverse video", name, got)
		}
	}
}

// environ is a process environment for the test.
type environ []string

func (e environ) Environ() []string { return e }

func (e environ) Getenv(name string) string {
	for _, kv := range e {
		if k, v, _ := strings.Cut(kv, "="); k == name {
			return v
		}
	}
	return ""
}

func TestRendererKeepsToSixteenColoursAndTheWish(t *testing.T) {
	cases := []struct {
		name string
		mode ui.ColorMode
		env  environ
		want termenv.Profile
	}{
		{"never, though forced by the environment", ui.ColorNever, environ{"CLICOLOR_FORCE=1", "TERM=xterm-256color"}, termenv.Ascii},
		{"always, though no terminal and NO_COLOR", ui.ColorAlways, environ{"NO_COLOR=1"}, termenv.ANSI},
		{"auto, no terminal", ui.ColorAuto, environ{"TERM=xterm-256color", "COLORTERM=truecolor"}, termenv.Ascii},
		{"auto, forced", ui.ColorAuto, environ{"TERM=xterm-256color", "COLORTERM=truecolor", "CLICOLOR_FORCE=1"}, termenv.ANSI},
		{"auto, NO_COLOR wins", ui.ColorAuto, environ{"NO_COLOR=1", "CLICOLOR_FORCE=1"}, termenv.Ascii},
		{"auto, dumb terminal", ui.ColorAuto, environ{"TERM=dumb"}, termenv.Ascii},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := ui.NewRenderer(&bytes.Buffer{}, c.mode, c.env).ColorProfile(); got != c.want {
				t.Errorf("profile %s, want %s", got.Name(), c.want.Name())
			}
		})
	}
}

func TestStatesAreWordsAndSigns(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	want := map[ui.State]string{ui.Unjudged: "", ui.Good: "in", ui.Near: "near !", ui.Out: "out !!"}
	for s, text := range want {
		if got := th.Verdict(s); got != text {
			t.Errorf("verdict of state %d is %q, want %q", s, got, text)
		}
		if s != ui.Unjudged && ui.StateOf(s.Word()) != s {
			t.Errorf("the word %q does not give its state back", s.Word())
		}
	}
	if ui.StateOf("IN") != ui.Unjudged {
		t.Error("a word that is not of the files has a state")
	}
}

func TestGlyphsAreOneCellAndInTheASCIISetASCII(t *testing.T) {
	for _, ascii := range []bool{false, true} {
		g := uitest.Theme(uitest.Look{ASCII: ascii}).Glyphs
		all := slices.Concat([]string{g.Horizontal, g.Vertical, g.TopLeft, g.TopRight, g.BottomLeft, g.BottomRight, g.TeeRight, g.TeeLeft,
			g.TeeDown, g.TeeUp, g.Cross, g.Full, g.Lower, g.Left, g.Cut, g.Select}, g.Spark, g.Marks[:])
		for _, s := range all {
			if r := []rune(s); len(r) != 1 || ascii && (r[0] < 0x20 || r[0] > 0x7e) {
				t.Errorf("glyph %q in the set ascii=%v", s, ascii)
			}
		}
	}
}
