package text

import (
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// ASCII replaces what a terminal without UTF-8 could not show, cell by cell so that columns stay where they are: letters
// lose their accents, the signs of measures become the nearest ASCII sign, anything else a question mark; of °C the C
// stays. Colour codes pass. It serves --ascii as the last step; the files keep the original.
func ASCII(s string) string {
	if s = degrees(s); allASCII(s) {
		return s
	}
	var b strings.Builder
	b.Grow(len(s))
	for len(s) > 0 {
		// A byte before another ASCII byte is a cell of its own; before anything else a mark may belong to it.
		if s[0] < 0x80 && (len(s) == 1 || s[1] < 0x80) {
			b.WriteByte(s[0])
			s = s[1:]
			continue
		}
		cluster, width := ansi.FirstGraphemeCluster(s, ansi.GraphemeWidth)
		s = s[len(cluster):]
		if width == 0 {
			continue
		}
		sign, ok := nearest(firstRune(cluster))
		if !ok {
			sign = '?'
		}
		b.WriteByte(sign)
		b.WriteString(strings.Repeat("?", width-1))
	}
	return b.String()
}

// degrees writes C for °C and F for °F. The cell that is saved goes to the next gap of two spaces or more, else to the end of the
// line, so that columns stay where they are and no sentence has a hole.
func degrees(s string) string {
	if !strings.ContainsRune(s, '°') {
		return s
	}
	var b strings.Builder
	b.Grow(len(s))
	owed := 0
	pay := func() {
		b.WriteString(strings.Repeat(" ", owed))
		owed = 0
	}
	for len(s) > 0 {
		rest, is := strings.CutPrefix(s, "°")
		switch {
		case is && temperature(rest):
			owed++
			s = rest
			continue
		case s[0] == '\n' || strings.HasPrefix(s, "  "):
			pay()
		}
		b.WriteByte(s[0])
		s = s[1:]
	}
	pay()
	return b.String()
}

// temperature reports whether what stands behind a degree sign is the scale of a temperature and no other word.
func temperature(s string) bool {
	return s != "" && (s[0] == 'C' || s[0] == 'F') && (len(s) == 1 || !letter(s[1]))
}

func letter(c byte) bool { return c >= 0x80 || c|0x20 >= 'a' && c|0x20 <= 'z' }

func allASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}

func firstRune(s string) rune {
	for _, r := range s {
		return r
	}
	return 0
}

// lookalikes pairs each character with the ASCII one that reads most like it.
const lookalikes = "ÀAÁAÂAÃAÄAÅAÇCÈEÉEÊEËEÌIÍIÎIÏIÑNÒOÓOÔOÕOÖOØOÙUÚUÛUÜUÝYàaáaâaãaäaåaçcèeéeêeëeìiíiîiïiñnòoóoôoõoöoøoùuúuûuüuýyÿyßs" +
	"°o·.–-—-−-×x÷/±~≤<≥>≈~µuμuρpηnΔdΩo²2³3¹1½h¼q¾t‘'’'“\"”\"«\"»\"…~→>←<↑^↓v•*" + NBSP + " " +
	"─-│|┌+┐+└+┘+├+┤+┬+┴+┼+█#▄=▌:"

// nearest returns the ASCII sign for a character; an ASCII one is its own.
func nearest(r rune) (byte, bool) {
	if r < 0x80 {
		return byte(r), true
	}
	i := strings.IndexRune(lookalikes, r)
	if i < 0 {
		return 0, false
	}
	return lookalikes[i+len(string(r))], true
}
