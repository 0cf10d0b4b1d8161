package plant

import (
	"errors"
	"regexp"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"example.org/headpond/model/quantity"
)

// maxSyntax is how many lines that are no TOML are told before reading is given up.
const maxSyntax = 50

// readTree reads the whole text into a tree. A line that is no TOML is told and passed over, so that one slip does not
// hide the others; what it was meant to give is marked as unreadable rather than missing.
func readTree(c *collector) *node {
	b := &builder{collector: c, root: &node{kind: isTable}}
	b.cur = b.root
	var p unstable.Parser
	for base, slips := 0, 0; base < len(c.src.data) && slips < maxSyntax; slips++ {
		p.Reset(c.src.data[base:])
		end := base
		for p.NextExpression() {
			end = max(end, b.expression(p.Expression(), base))
		}
		var perr *unstable.ParserError
		if !errors.As(p.Error(), &perr) {
			break
		}
		base = b.slip(base, end, perr)
	}
	return b.root
}

// expression adds one parsed line to the tree and returns the offset behind what it read.
func (b *builder) expression(n *unstable.Node, base int) (end int) {
	switch n.Kind {
	case unstable.Table, unstable.ArrayTable:
		ps := b.parts(n.Key(), base)
		b.header(ps, n.Kind == unstable.ArrayTable)
		last := ps[len(ps)-1].off
		return b.nextLine(last) - 1
	case unstable.KeyValue:
		return b.keyValue(b.cur, n, base)
	}
	return base
}

// nextLine returns the offset of the line after the one that holds off.
func (b *builder) nextLine(off int) int {
	i := b.src.lineIndex(off) + 1
	if i >= len(b.src.lines) {
		return len(b.src.data)
	}
	return b.src.lines[i]
}

// The beginnings of lines at which reading is taken up again: a key or a header of the kind that a plant file has.
var (
	keyLine    = regexp.MustCompile(`^[ \t]*("?[A-Za-z][A-Za-z0-9_.-]*"?)[ \t]*=`)
	headerLine = regexp.MustCompile(`^[ \t]*\[{1,2}[ \t]*([A-Za-z][A-Za-z0-9_.-]*)`)
	anyKeyLine = regexp.MustCompile(`^[ \t]*("?[A-Za-z][A-Za-z0-9_.-]*"?)[ \t]*[=:]`)
)

// slip tells a line that is no TOML and returns where reading goes on. end is the offset behind the last good value.
func (b *builder) slip(base, end int, perr *unstable.ParserError) (next int) {
	// A highlight is a piece of the source, so the room behind it tells where it begins.
	off := min(max(cap(b.src.data)-cap(perr.Highlight), base), len(b.src.data))
	start := b.slipStart(base, end, off)
	text := b.src.line(b.src.lineIndex(start))
	what, expected := b.slipWords(start, off, perr.Message)
	if m := headerLine.FindStringSubmatch(text); m != nil && start+len(text) >= off {
		b.add(off, m[1], what, expected)
		b.guessHeader(start, text, m[1])
		return b.resume(start, off)
	}
	key := ""
	if m := anyKeyLine.FindStringSubmatch(text); m != nil {
		key = strings.Trim(m[1], `"`)
		if b.cur.find(key) == nil {
			b.cur.put(key, start, &node{kind: isBroken, off: start})
		}
	}
	if off > start+len(text) && key != "" {
		// A list or text that was not closed runs into sound lines: the fault is where it began.
		b.add(b.skipBlank(start+strings.IndexByte(text, '=')+1), join(b.path, key), what, expected)
	} else {
		b.add(off, join(b.path, key), what, expected)
	}
	return b.resume(start, off)
}

// slipStart finds the start of the line at which the unreadable key or header begins: the first line behind the last good
// one that is neither blank nor a comment.
func (b *builder) slipStart(base, end, off int) int {
	i, last := b.src.lineIndex(base), b.src.lineIndex(off)
	if end > base {
		i = b.src.lineIndex(end) + 1
	}
	for ; i < last; i++ {
		if text := strings.TrimSpace(b.src.line(i)); text != "" && text[0] != '#' {
			break
		}
	}
	return b.src.lines[i]
}

// guessHeader enters the table that an ill-formed heading most likely means, so that the keys below it are judged too.
func (b *builder) guessHeader(start int, text, name string) {
	var ps []part
	for _, p := range strings.Split(name, ".") {
		if p != "" {
			ps = append(ps, part{p, start + strings.IndexByte(text, '[') + 1})
		}
	}
	b.header(ps, strings.Contains(text, "[[") || strings.Contains(text, "]]"))
}

// resume finds the next line that begins a key or a header. The line of the fault itself counts when the value was begun
// on an earlier line, for then it is a sound line that an unclosed bracket ran into.
func (b *builder) resume(start, off int) int {
	i := b.src.lineIndex(off)
	if b.src.lineIndex(start) == i {
		i++
	}
	for ; i < len(b.src.lines); i++ {
		if text := b.src.line(i); keyLine.MatchString(text) || headerLine.MatchString(text) {
			return b.src.lines[i]
		}
	}
	return len(b.src.data)
}

var (
	decimalComma = regexp.MustCompile(`^([+-]?[0-9]+),([0-9]+)[ \t]*(#.*)?$`)
	numberUnit   = regexp.MustCompile(`^([+-]?[0-9][0-9_.]*)[ \t]*([^0-9\s.,#\]}_+-][^\s#,]*)[ \t]*(#.*)?$`)
	leadingZero  = regexp.MustCompile(`^[+-]?0[0-9]`)
	barePoint    = regexp.MustCompile(`^[+-]?(\.[0-9]+|[0-9]+\.)([ \t#,\]]|$)`)
)

// slipWords says in our own words what is wrong with what begins at start and cannot be read on at off, from the text
// itself where the slip is a common one.
func (b *builder) slipWords(start, off int, message string) (what, expected string) {
	line := b.src.line(b.src.lineIndex(start))
	trimmed := strings.TrimSpace(line)
	key, value, found := strings.Cut(line, "=")
	value = strings.TrimSpace(value)
	switch {
	case found && numberUnit.MatchString(value) && !strings.Contains(message, "UTF-8") && !strings.Contains(message, "in comment"):
		m := numberUnit.FindStringSubmatch(value)
		return unitWords(strings.TrimSpace(key), m[1], m[2])
	case strings.Contains(message, "UTF-8"):
		return "a letter that is not UTF-8", "the file saved as UTF-8"
	case strings.Contains(message, "in comment"):
		return "a control character in a comment", "letters, digits and signs only"
	case headerLine.MatchString(line):
		return "the heading " + quote(trimmed) + " is not well formed", "[name] for one table, or [[name]] for each of several"
	case !found && strings.Contains(line, ":"):
		return "a colon where a key needs an equals sign", "key = value, such as volts = 240"
	case !found:
		return "the line " + quote(trimmed) + " is neither a key nor a heading", "key = value, or [heading], or a comment that begins with #"
	case start+len(line) < off && value != "" && (value[0] == '[' || value[0] == '{'):
		return "the list that begins in line " + strconv.Itoa(b.src.lineIndex(start)+1) + " is not closed or not well formed", listForm
	}
	return valueWords(value, message)
}

const listForm = "numbers with commas between them, and every [ closed by a ]"

// valueWords says what is wrong with what stands behind an equals sign.
func valueWords(value, message string) (what, expected string) {
	switch {
	case value == "" || value[0] == '#':
		return "no value behind the equals sign", "a value, or the whole line made a comment with # in front"
	case strings.ContainsAny(value[:min(3, len(value))], "\u201c\u201d\u201e\u00ab"):
		return "curly quotation marks", `straight ones, as in name = "Tern Hollow"`
	case decimalComma.MatchString(value):
		m := decimalComma.FindStringSubmatch(value)
		return "a decimal comma", "a decimal point: " + m[1] + "." + m[2]
	case barePoint.MatchString(value):
		return "a decimal point without a digit on both sides", "a number such as 0.5 or 5.0"
	case leadingZero.MatchString(value):
		return "a number that begins with a needless 0", "the number without it"
	case value[0] == '"' || value[0] == '\'':
		if strings.Contains(message, "escape") || strings.Contains(message, `\`) {
			return `a \ in text, which begins a code`, `\\ for a single \, or the text in single quotes`
		}
		if strings.Contains(message, "newline") {
			return "something behind the closing quotation mark", "nothing more in the line, or a comment that begins with #"
		}
		return "text whose quotation mark is not closed", "text between two quotation marks in one line"
	case value[0] == '[' || value[0] == '{':
		return "a list that is not well formed", listForm
	case value[0] == '+' || value[0] == '-' || (value[0] >= '0' && value[0] <= '9'):
		return "the number " + quote(value) + " cannot be read", "digits with at most one decimal point, such as -1.55"
	}
	return "the value " + quote(value) + " is neither a number nor text", "text in quotation marks, a number, or true or false"
}

// keyUnit is the unit that a key's name ends with, None where other units cannot be reckoned in it.
func keyUnit(ending string) quantity.Unit {
	switch ending {
	case "m":
		return quantity.Metre
	case "mm":
		return quantity.Millimetre
	case "kw":
		return quantity.Kilowatt
	case "kwh":
		return quantity.KilowattHour
	case "lps":
		return quantity.LitrePerSecond
	case "volts":
		return quantity.Volt
	}
	return quantity.None
}

// unitWords says what is wrong with "10 cm" behind crest_m, and what the number in the key's own unit is. Of a unit that it does not
// know it names no number, since the one that was typed would be wrong.
func unitWords(key, num, unit string) (what, expected string) {
	what = "text " + quote(unit) + " behind the number"
	name := key[strings.LastIndexByte(key, '_')+1:]
	if name == "share" && unit == "%" {
		if v, err := strconv.ParseFloat(num, 64); err == nil {
			return what, "the number alone (" + strconv.FormatFloat(v/100, 'g', 12, 64) + "), as a share of 1"
		}
	}
	if u := keyUnit(name); u != quantity.None {
		if v, err := quantity.ParseValue(quantity.Info{Unit: u}, num+" "+unit, quantity.Metric); err == nil {
			return what, "the number alone (" + number(v.Kept) + "), in " + string(u)
		}
	}
	return what, "the number alone, in the unit that the key's name ends with"
}
