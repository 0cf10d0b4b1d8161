package assess

// WithNotice returns the facts with one more thing that wants attention, which the readings do not tell: for instance that the
// copies of the book are old. An empty text adds nothing.
func (n *Now) WithNotice(u Urgency, screen, text string) *Now {
	if text == "" {
		return n
	}
	out := *n
	more := Attention{Urgency: u, Text: text, Screen: screen, Topic: TopicCopies}
	out.Attention = sortAttention(append(append([]Attention{}, n.Attention...), more))
	if n.Water != nil {
		out.dry = sortAttention(append(append([]Attention{}, n.dry...), more))
	}
	return &out
}
