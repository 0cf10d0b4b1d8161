package weekview

import (
	"strings"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Item is one sentence of the review, and how what it tells stands. All text from outside in it has been made harmless for a
// terminal.
type Item struct {
	Text  string
	State ui.State
	said  bool // a sentence under the heading, no entry of a list
}

// Block is one part of the review in words: the screen, the command and the page all say these sentences.
type Block struct {
	Title string
	Items []Item
	kind  blockKind
}

type blockKind int

const (
	signed blockKind = iota // each entry behind its state's sign
	dashed                  // each entry behind a dash
)

// says adds a sentence; an empty one adds nothing.
func (b Block) says(s string) Block {
	if s != "" {
		b.Items = append(b.Items, Item{Text: s, said: true})
	}
	return b
}

// lists adds an entry of a list; an empty one adds nothing.
func (b Block) lists(s string, state ui.State) Block {
	if s != "" {
		b.Items = append(b.Items, Item{Text: s, State: state})
	}
	return b
}

// blocks are the parts that are told in sentences, in the order of the screen; a part that the plant does not have has no title.
func (p page) blocks() []Block {
	return []Block{p.stops(), p.clearings(), p.water(), p.permits(), p.money(), p.upkeep(), p.units(), p.extremes()}
}

// block draws a part in lines of w cells.
func (p page) block(b Block, w int) []string {
	if b.Title == "" {
		return nil
	}
	out := []string{p.section(b.Title, w)}
	for _, i := range b.Items {
		switch {
		case i.said:
			out = join(out, p.plain(i.Text, w))
		case b.kind == dashed:
			out = join(out, p.dash(i, w))
		default:
			out = join(out, p.item(i, w))
		}
	}
	return out
}

// item wraps one entry of a list behind its state's sign, its further lines indented.
func (p page) item(i Item, w int) []string {
	lead := " " + text.PadRight(i.State.Sign(), 3)
	var out []string
	for _, l := range text.Wrap(i.Text, max(10, w-6)) {
		out = append(out, p.common.Theme.State(i.State).Render(lead+l))
		lead = "      "
	}
	return out
}

// dash wraps one entry of a list behind a dash.
func (p page) dash(i Item, w int) []string {
	lead := " - "
	var out []string
	for _, l := range text.Wrap(i.Text, max(10, w-4)) {
		out = append(out, lead+l)
		lead = strings.Repeat(" ", 3)
	}
	return out
}

// Listed reports whether the item is an entry of a list, and no sentence that stands by itself.
func (i Item) Listed() bool { return !i.said }
