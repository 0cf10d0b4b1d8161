package ui

// State is how a reading stands to its band. The words are those of the files and of --json.
type State int

// The states. Unjudged is for what has no band or was not read.
const (
	Unjudged State = iota
	Good
	Near
	Out
)

// StateOf returns the state for a word of the files: "in", "near" or "out"; Unjudged for anything else.
func StateOf(word string) State {
	switch word {
	case "in":
		return Good
	case "near":
		return Near
	case "out":
		return Out
	}
	return Unjudged
}

// Word returns the state as it is written, "" for Unjudged.
func (s State) Word() string {
	switch s {
	case Good:
		return "in"
	case Near:
		return "near"
	case Out:
		return "out"
	case Unjudged:
	}
	return ""
}

// Sign returns a sign that grows with urgency: nothing, "!", "!!".
func (s State) Sign() string {
	switch s {
	case Near:
		return "!"
	case Out:
		return "!!"
	case Unjudged, Good:
	}
	return ""
}

// tail is the sign after a word.
func (s State) tail() string {
	if sign := s.Sign(); sign != "" {
		return " " + sign
	}
	return ""
}
