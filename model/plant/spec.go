package plant

// form is what a key's value has to be.
type form int

const (
	formText   form = iota
	formWord        // one of the spec's words
	formNumber      // one number within the spec's range
	formFlag        // true or false
	formPair        // [low, high], rising
	formRows2       // [[a, b], …]
	formRows3       // [[a, b, c], …]
	formMonths      // twelve numbers
	formTexts       // ["…", "…"]
)

// span is the range that a number must lie in.
type span struct {
	lo, hi float64
	above  bool // lo itself is outside
}

func (s span) holds(v float64) bool {
	return v <= s.hi && (v > s.lo || !s.above && v == s.lo)
}

// String says the range as "above 0 and at most 1".
func (s span) String() string {
	if s.above {
		return "above " + number(s.lo) + " and at most " + number(s.hi)
	}
	return "from " + number(s.lo) + " to " + number(s.hi)
}

func above0(hi float64) span { return span{0, hi, true} }
func from0(hi float64) span  { return span{0, hi, false} }
func share() span            { return span{0, 1, true} }

// anyLevel holds every elevation on land and some below, for a gauge zero may be the sea's.
func anyLevel() span { return span{-1000, 9000, false} }

// spec describes one key: for reading it, for what a message expects, and for the comment in the starting file.
type spec struct {
	key      string
	form     form
	required bool
	span     span
	columns  []span // of rows: the range of each column
	words    []string
	what     string // what it is, in a few words
	find     string // where a caretaker finds it; may be several sentences
	example  string // its value in the starting file, as TOML
	standard string // what holds where it is absent, in words; "" for required keys
	off      bool   // commented out in the starting file
}

func (s spec) spanText() string {
	if s.span == anyReading() {
		return "in the reading's unit"
	}
	return s.span.String()
}

// expected says what a value of this key should be.
func (s spec) expected() string {
	what := " (" + s.what + ")"
	switch s.form {
	case formText:
		return "text in quotation marks" + what
	case formWord:
		return joinWords(s.words) + what
	case formNumber:
		return "a number " + s.spanText() + what
	case formFlag:
		return "true or false" + what
	case formPair:
		return "[low, high] with low below high, each " + s.spanText() + what
	case formRows2, formRows3:
		return "rows such as " + s.example + what
	case formTexts:
		return "a list of texts such as " + s.example + what
	case formMonths:
		return "12 numbers, January first, each " + s.span.String() + what
	}
	return s.what
}
