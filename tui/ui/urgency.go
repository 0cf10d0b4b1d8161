package ui

import "example.org/headpond/model/assess"

// StateOfUrgency is how something that wants attention stands.
func StateOfUrgency(u assess.Urgency) State {
	switch u {
	case assess.UrgentOut:
		return Out
	case assess.UrgentNear:
		return Near
	case assess.UrgentDue, assess.UrgentNote:
	}
	return Unjudged
}

// UrgencyMark is an urgency as a word with its sign; "ok" where there is none.
func UrgencyMark(u assess.Urgency) string {
	switch u {
	case assess.UrgentOut:
		return "OUT !!"
	case assess.UrgentNear:
		return "NEAR !"
	case assess.UrgentDue:
		return "DUE"
	case assess.UrgentNote:
		return "note"
	}
	return "ok"
}
