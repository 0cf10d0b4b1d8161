package ui_test

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// rgb is a colour as 0xRRGGBB.
type rgb uint32

// terminalPalettes are colours 0 to 15 of common terminals, from memory of their published defaults: the VGA text mode (also the
// Linux console's), xterm's XTerm-col.ad, the Windows "Campbell" scheme, and the Tango palette.
func terminalPalettes() map[string][16]rgb {
	return map[string][16]rgb{
		"vga": {0x000000, 0xaa0000, 0x00aa00, 0xaa5500, 0x0000aa, 0xaa00aa, 0x00aaaa, 0xaaaaaa,
			0x555555, 0xff5555, 0x55ff55, 0xffff55, 0x5555ff, 0xff55ff, 0x55ffff, 0xffffff},
		"xterm": {0x000000, 0xcd0000, 0x00cd00, 0xcdcd00, 0x0000ee, 0xcd00cd, 0x00cdcd, 0xe5e5e5,
			0x7f7f7f, 0xff0000, 0x00ff00, 0xffff00, 0x5c5cff, 0xff00ff, 0x00ffff, 0xffffff},
		"campbell": {0x0c0c0c, 0xc50f1f, 0x13a10e, 0xc19c00, 0x0037da, 0x881798, 0x3a96dd, 0xcccccc,
			0x767676, 0xe74856, 0x16c60c, 0xf9f1a5, 0x3b78ff, 0xb4009e, 0x61d6d6, 0xf2f2f2},
		"tango": {0x2e3436, 0xcc0000, 0x4e9a06, 0xc4a000, 0x3465a4, 0x75507b, 0x06989a, 0xd3d7cf,
			0x555753, 0xef2929, 0x8ae234, 0xfce94f, 0x729fcf, 0xad7fa8, 0x34e2e2, 0xeeeeec},
	}
}

// luminance is relative luminance by WCAG 2.1's definition.
func luminance(c rgb) float64 {
	part := func(v rgb) float64 {
		x := float64(v&0xff) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*part(c>>16) + 0.7152*part(c>>8) + 0.0722*part(c)
}

// contrast is WCAG 2.1's contrast ratio, 1 to 21.
func contrast(a, b rgb) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

// Black on white has ratio 21 by the definition; #777777 on white is WCAG's well-known near miss of 4.5, at 4.48.
func TestContrastIsWCAGs(t *testing.T) {
	if got := contrast(0, 0xffffff); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white %v, want 21", got)
	}
	if got := contrast(0x777777, 0xffffff); math.Abs(got-4.48) > 0.01 {
		t.Errorf("#777777 on white %.3f, want 4.48", got)
	}
}

var foreground = regexp.MustCompile(`[\[;](3|9)([0-7])(;|m)`)

// colourOf returns the number, 0 to 15, of the colour that a look writes; ok is false for the terminal's own text colour.
func colourOf(s ui.Style) (n int, ok bool) {
	m := foreground.FindStringSubmatch(s.Render("x"))
	if m == nil {
		return 0, false
	}
	n, _ = strconv.Atoi(m[2])
	if m[1] == "9" {
		n += 8
	}
	return n, true
}

// Where the background is known, each role must have WCAG's 3:1 for large or graphical text in each palette; where it is not,
// 2.5:1 on black and on white at once, which no hue but red and magenta reaches. The words beside stand in the
// terminal's own text colour.
func TestEveryRoleCanBeReadOnItsBackground(t *testing.T) {
	cases := []struct {
		name string
		bg   ui.Background
		on   []rgb
		min  float64
	}{
		{"dark", ui.DarkBackground, []rgb{0x000000}, 3},
		{"light", ui.LightBackground, []rgb{0xffffff}, 3},
		{"any", ui.AnyBackground, []rgb{0x000000, 0xffffff}, 2.5},
	}
	for _, c := range cases {
		for role, style := range roles(uitest.Theme(uitest.Look{Color: true, Background: c.bg})) {
			n, ok := colourOf(style)
			if !ok {
				continue
			}
			for palette, colours := range terminalPalettes() {
				for _, on := range c.on {
					if got := contrast(colours[n], on); got < c.min {
						t.Errorf("%s (colour %d) on %s (%06x), palette %s: contrast %.2f, want %.1f", role, n, c.name, on, palette, got, c.min)
					}
				}
			}
		}
	}
}
