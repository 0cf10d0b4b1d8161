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
	Typed string  // what was typed, trimmed; "" where it was a bare number in the kept unit
}

// ValueError tells what was typed and what was expected.
type ValueError struct {
	Typed    string
	Expected string
}

// Error quotes what was typed and says what was expected.
func (e *ValueError) Error() string {
	return fmt.Sprintf("%q is not %s", e.Typed, e.Expected)
}

// ParseValue reads a typed number for a quantity, with or without a unit: "241", "19 psi", "0,9 m", "3 ft 2 in", "-1.2".
//
// One comma or point is a decimal sign, two or more separators are an error. A bare number is in the unit that the system
// shows; pass Metric for files and the command line, where a bare number is always in the kept unit. Not-a-number and
// infinities are refused. The error is a *ValueError.
func ParseValue(q Info, s string, bare System) (Value, error) {
	text := strings.TrimSpace(s)
	expected := q.expected(bare)
	fail := func() (Value, error) { return Value{}, &ValueError{Typed: s, Expected: expected} }
	if !q.Number() || text == "" || len(text) > 64 {
		return fail()
	}
	num, rest, ok := cutNumber(text)
	if !ok {
		return fail()
	}
	rest = strings.ToLower(strings.TrimSpace(rest))
	if rest == "" {
		_, _, factor, offset := bare.Shown(q.Unit, q.Digits)
		v := Value{Kept: tidy(num*factor + offset)}
		if factor != 1 || offset != 0 {
			unit, _, _, _ := bare.Shown(q.Unit, q.Digits)
			v.Typed = text + " " + string(unit)
		}
		return check(v, fail)
	}
	kept, ok := withUnit(q, num, rest)
	if !ok {
		return fail()
	}
	return check(Value{Kept: tidy(kept), Typed: text}, fail)
}

// check refuses what no gauge can show.
func check(v Value, fail func() (Value, error)) (Value, error) {
	if math.IsNaN(v.Kept) || math.IsInf(v.Kept, 0) {
		return fail()
	}
	return v, nil
}

// tidy removes the dust of a conversion: 26 psi is kept to 12 significant digits, far finer than any gauge.
func tidy(v float64) float64 {
	t, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64)
	if err != nil {
		return v
	}
	if t == 0 {
		return 0 // never minus zero
	}
	return t
}

// withUnit converts a number whose unit was typed; "3 ft 2 in" carries a second number in the rest.
func withUnit(q Info, num float64, rest string) (float64, bool) {
	for _, u := range accepted(q.Unit) {
		for _, name := range u.names {
			if strings.ReplaceAll(rest, " ", "") == name {
				return num*u.factor + u.offset, true
			}
		}
	}
	if q.Unit != Metre && q.Unit != Millimetre {
		return 0, false
	}
	for _, foot := range []string{"ft", "feet", "foot", "'"} {
		tail, ok := strings.CutPrefix(rest, foot)
		if !ok {
			continue
		}
		inches, unit, ok := cutNumber(strings.TrimSpace(tail))
		if unit = strings.TrimSpace(unit); !ok || inches < 0 || inches >= 12 || (unit != "in" && unit != "\"" && unit != "inches" && unit != "") {
			continue
		}
		m := math.Copysign(math.Abs(num)*footM+inches*inchM, num)
		if q.Unit == Millimetre {
			m *= 1e3
		}
		return m, true
	}
	return 0, false
}

// cutNumber splits a leading decimal number from what follows. A comma or a point, once, is the decimal sign.
func cutNumber(s string) (num float64, rest string, ok bool) {
	i, separators, digits := 0, 0, 0
	for i < len(s) {
		c := s[i]
		switch {
		case c >= '0' && c <= '9':
			digits++
		case (c == '+' || c == '-') && i == 0:
		case c == '.' || c == ',':
			separators++
		default:
			goto done
		}
		i++
	}
done:
	if strings.HasPrefix(s, "\u2212") { // a typographic minus
		n, r, ok := cutNumber("-" + strings.TrimPrefix(s, "\u2212"))
		return n, r, ok
	}
	if digits == 0 || separators > 1 {
		return 0, "", false
	}
	v, err := strconv.ParseFloat(strings.Replace(s[:i], ",", ".", 1), 64)
	if err != nil {
		return 0, "", false
	}
	return v, s[i:], true
}

// expected says in words what may be typed.
func (q Info) expected(bare System) string {
	if !q.Number() {
		return "one of " + strings.Join(q.Words, ", ")
	}
	unit, _, _, _ := bare.Shown(q.Unit, q.Digits)
	var others []string
	for _, u := range accepted(q.Unit) {
		if u.names[0] != strings.ToLower(string(unit)) && len(others) < 3 {
			others = append(others, u.names[0])
		}
	}
	s := fmt.Sprintf("a number in %s", unit)
	if len(others) > 0 {
		s += " (or with its unit, such as " + strings.Join(others, ", ") + ")"
	}
	return s
}

// Expected says in words what may be typed for the quantity.
func (q Info) Expected(bare System) string { return q.expected(bare) }

// ParseWord reads one of the quantity's words; a unique beginning of one is enough, letter case does not matter.
func ParseWord(q Info, s string) (string, error) {
	t := strings.ToLower(strings.TrimSpace(s))
	var match []string
	for _, w := range q.Words {
		if w == t {
			return w, nil
		}
		if t != "" && strings.HasPrefix(w, t) {
			match = append(match, w)
		}
	}
	if len(match) == 1 {
		return match[0], nil
	}
	return "", &ValueError{Typed: s, Expected: q.expected(Metric)}
}

// Text writes a kept value in the form of the CSV: the shortest decimal that reads back the same.
func Text(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// Show writes a reading for people: in the system's unit, with the quantity's digits, or more where the reading itself has
// more (never more than two beyond), without the unit.
func (q Info) Show(v float64, s System) string {
	_, digits, factor, offset := s.Shown(q.Unit, q.Digits)
	x := (v - offset) / factor
	if factor == 1 && offset == 0 {
		if _, frac, ok := strings.Cut(Text(v), "."); ok && len(frac) > digits {
			digits = min(len(frac), digits+2)
		}
	}
	return fixed(x, digits)
}

// ShowEstimate writes a computed value: the quantity's digits and no more.
func (q Info) ShowEstimate(v float64, s System) string {
	_, digits, factor, offset := s.Shown(q.Unit, q.Digits)
	return fixed((v-offset)/factor, digits)
}

// ShowUnit returns the unit in which Show writes.
func (q Info) ShowUnit(s System) Unit {
	u, _, _, _ := s.Shown(q.Unit, q.Digits)
	return u
}

// fixed formats with a set number of decimals and never shows minus zero.
func fixed(v float64, digits int) string {
	t := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(t, "-0.") == "" {
		return strings.TrimPrefix(t, "-")
	}
	return t
}
