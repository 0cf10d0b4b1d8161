package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Value is a number as it was typed and as it is kept.
type Value struct {
	Kept  float64 // in the quantity's own unit
	Typed string  // what was typed, with its unit; "" where that is the kept unit, so that Kept says it all
}

// ValueError tells what was typed and what was expected.
type ValueError struct {
	Typed    string
	Expected string
}

// Error quotes what was typed and says what was expected.
func (e *ValueError) Error() string {
	return fmt.Sprintf("%s is not %s", quote(e.Typed), e.Expected)
}

// The range of a kept number. No gauge at a small plant shows more, or anything finer: what is larger is refused as a
// slip, what is finer is nothing. Within it Text writes at most 40 characters, which ParseValue reads back exactly.
const (
	largest = 1e12
	finest  = 1e-9
)

// maxTyped is the longest text that can be a reading.
const maxTyped = 64

// ParseValue reads a typed number for a quantity, with or without a unit: "241", "19 psi", "0,9 m", "3 ft 2 in", "-1.2".
//
// One comma or point is a decimal sign, two or more separators are an error. A bare number is in the unit that the system
// shows; pass Metric for files and the command line, where a bare number is always in the kept unit. A number in the kept
// unit is kept exactly; a converted one to 12 significant digits. Not-a-number, infinities, powers of ten and numbers
// beyond 1e12 are refused. The error is a *ValueError.
func ParseValue(q Info, s string, bare System) (Value, error) {
	v, ok := parseValue(q, s, bare)
	if !ok {
		return Value{}, &ValueError{Typed: s, Expected: q.Expected(bare)}
	}
	return v, nil
}

func parseValue(q Info, s string, bare System) (Value, bool) {
	if !q.Number() || len(s) > maxTyped {
		return Value{}, false
	}
	text := strings.TrimSpace(spell(s))
	num, rest, ok := cutNumber(text)
	if !ok {
		return Value{}, false
	}
	rest = strings.ToLower(strings.TrimSpace(rest))
	if rest == "" {
		unit, _, factor, offset := bare.Shown(q.Unit, q.Digits)
		if unit == q.Unit {
			return keep(num, "")
		}
		return keep(tidy(num*factor+offset), text+" "+string(unit))
	}
	name := strings.ReplaceAll(rest, " ", "")
	for i, u := range accepted(q.Unit) {
		switch {
		case !u.is(name):
		case i == 0:
			return keep(num, "")
		default:
			return keep(tidy(num*u.factor+u.offset), text)
		}
	}
	if q.Unit != Metre && q.Unit != Millimetre {
		return Value{}, false
	}
	m, ok := feetAndInches(text, num, rest)
	if !ok {
		return Value{}, false
	}
	if q.Unit == Millimetre {
		m *= 1e3
	}
	return keep(tidy(m), text)
}

// keep refuses what no gauge can show and drops what none can resolve.
func keep(v float64, typed string) (Value, bool) {
	if math.IsNaN(v) || math.Abs(v) > largest || len(typed) > maxTyped {
		return Value{}, false // a typed text that is too long could not be read again
	}
	if math.Abs(v) < finest {
		v = 0 // never minus zero either
	}
	return Value{Kept: v, Typed: typed}, true
}

// tidy removes the dust of a conversion: 26 psi is kept to 12 significant digits, far finer than any gauge.
func tidy(v float64) float64 { return significant(v, 12) }

// significant rounds to a number of significant digits.
func significant(v float64, digits int) float64 {
	t, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	if err != nil {
		return v // only an infinity, which keep refuses
	}
	return t
}

// spell brings the signs that keyboards, phones and word processors put for minus, degrees, feet, inches and spaces to
// the one that is read here.
func spell(s string) string {
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 || s[i] == '\'' {
			return speller.Replace(s)
		}
	}
	return s
}

// speller is safe for concurrent use and never changes.
var speller = strings.NewReplacer(
	"\u2212", "-", "\u2013", "-", // minus sign, en dash
	"\u00a0", " ", "\u2009", " ", "\u202f", " ", // spaces that do not break
	"\u00ba", "°", "\u2103", "°C", "\u2109", "°F", // ordinal sign, one-character degrees
	"''", "\"", "\u2032", "'", "\u2033", "\"", "\u2019", "'", "\u201d", "\"", // primes and quotation marks
)

// feetAndInches reads a height in whole feet and inches, "3 ft 2 in" or 3'2", in metres. The sign in front is of both.
func feetAndInches(text string, feet float64, rest string) (float64, bool) {
	if feet != math.Trunc(feet) {
		return 0, false
	}
	for _, foot := range []string{"feet", "foot", "ft", "'"} {
		tail, ok := strings.CutPrefix(rest, foot)
		if !ok {
			continue
		}
		tail = strings.TrimSpace(tail)
		inches, unit, ok := cutNumber(tail)
		if !ok || inches >= 12 || tail[0] == '-' || tail[0] == '+' {
			return 0, false
		}
		switch strings.TrimSpace(unit) {
		case "in", "inch", "inches", "\"", "":
		default:
			return 0, false
		}
		m := math.Abs(feet)*footM + inches*inchM
		if text[0] == '-' { // not the number's sign, which -0 ft would lose
			m = -m
		}
		return m, true
	}
	return 0, false
}

// cutNumber splits a leading decimal number from what follows. A comma or a point, once, is the decimal sign.
func cutNumber(s string) (num float64, rest string, ok bool) {
	i, separators, digits := 0, 0, 0
scan:
	for ; i < len(s); i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
		case (c == '+' || c == '-') && i == 0:
		case c == '.' || c == ',':
			separators++
		default:
			break scan
		}
	}
	if digits == 0 || separators > 1 {
		return 0, "", false
	}
	v, err := strconv.ParseFloat(strings.Replace(s[:i], ",", ".", 1), 64)
	return v, s[i:], err == nil
}

// Expected says in words what may be typed for the quantity.
func (q Info) Expected(bare System) string {
	if !q.Number() {
		return "one of " + strings.Join(q.Words, ", ")
	}
	unit := q.ShowUnit(bare)
	var others []string
	for _, u := range accepted(q.Unit) {
		if Unit(u.symbol) != unit && len(others) < 3 {
			others = append(others, u.symbol)
		}
	}
	s := fmt.Sprintf("a number in %s", unit)
	if len(others) > 0 {
		s += " (or with its unit, such as " + strings.Join(others, ", ") + ")"
	}
	return s
}

// ParseWord reads one of the quantity's words; a unique beginning of one is enough, letter case does not matter. The
// error is a *ValueError.
func ParseWord(q Info, s string) (string, error) {
	t := strings.ToLower(strings.TrimSpace(s))
	match := ""
	for _, w := range q.Words {
		switch {
		case w == t:
			return w, nil
		case t == "" || !strings.HasPrefix(w, t):
		case match != "":
			return "", &ValueError{Typed: s, Expected: q.Expected(Metric)}
		default:
			match = w
		}
	}
	if match == "" {
		return "", &ValueError{Typed: s, Expected: q.Expected(Metric)}
	}
	return match, nil
}
