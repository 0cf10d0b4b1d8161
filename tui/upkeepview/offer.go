package upkeepview

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// offer is what belongs to a checklist that was walked and is an entry of its own: the stop after the stopping list.
type offer struct {
	list    checklist.List
	at      time.Time
	by      string
	choices [][]string // of units, the likeliest first
	choice  int
	open    []string // the steps that were not walked
}

// kind is the event that is offered, "" where it is none.
func (o offer) kind() record.EventKind {
	switch o.list.For {
	case plant.ForStart:
		return record.Start
	case plant.ForStop:
		return record.Stop
	case plant.ForAfterTrip, plant.ForClearing:
	}
	return ""
}

// any reports whether there is anything to offer.
func (o offer) any() bool { return o.list.For != "" }

// units are those that are chosen.
func (o offer) units() []string {
	if len(o.choices) == 0 {
		return nil
	}
	return o.choices[o.choice]
}

// offerOf works out what a saved list offers. For a stop the units that run come first, for a start those that stand.
func (s Screen) offerOf(l checklist.List, d record.Done) offer {
	o := offer{list: l, at: d.Time, by: d.By}
	if d.Walk != nil {
		for _, t := range d.Walk.Ticks {
			if t.State == record.TickOpen {
				o.open = append(o.open, t.Step)
			}
		}
	}
	p := s.history.Plant
	if o.kind() == "" || p == nil {
		return o
	}
	if l.Unit != "" {
		o.choices = [][]string{{l.Unit}}
		return o
	}
	ids := p.UnitIDs()
	var likely []string
	for id, state := range s.history.Timeline().At(s.history.At) {
		if (state == record.On) == (o.kind() == record.Stop) {
			likely = append(likely, id)
		}
	}
	slices.SortFunc(likely, func(a, b string) int { return slices.Index(ids, a) - slices.Index(ids, b) })
	add := func(units []string) {
		if len(units) > 0 && !slices.ContainsFunc(o.choices, func(c []string) bool { return slices.Equal(c, units) }) {
			o.choices = append(o.choices, units)
		}
	}
	if o.kind() == record.Stop {
		add(likely)
	}
	for _, id := range append(slices.Clone(likely), ids...) {
		add([]string{id})
	}
	add(ids)
	return o
}

// says is what will be written.
func (o offer) says(s Screen) string {
	switch {
	case o.kind() != "":
		return fmt.Sprintf("%s of %s, %s", o.kind(), text.Show(strings.Join(o.units(), "+")), s.clock(o.at))
	case o.list.For == plant.ForClearing:
		return "a round that says the screen was cleared, " + s.clock(o.at)
	}
	return ""
}

// offerSaved answers the saving of what was offered.
type offerSaved struct {
	id, what string
	cautions []string
}

func (s Screen) offerKey(key tea.KeyMsg, action string) (Screen, tea.Cmd) {
	switch action {
	case "upkeep.yes":
		return s.saveOffer()
	case "upkeep.no":
		s.mode = listing
	case "upkeep.units":
		by := 1
		if key.Type == tea.KeyLeft {
			by = len(s.offer.choices) - 1
		}
		s.offer.choice = (s.offer.choice + by) % len(s.offer.choices)
	case "upkeep.round":
		s.mode = listing
		return s, desk.Go("round", "")
	case "upkeep.event":
		s.mode = listing
		return s, desk.Go("log", "event")
	}
	return s, nil
}

// saveOffer writes the entry that was offered and confirmed.
func (s Screen) saveOffer() (Screen, tea.Cmd) {
	if s.saving {
		return s, nil
	}
	s.saving = true
	o, book, what := s.offer, s.desk.Book, s.offer.says(s)
	return s, func() tea.Msg {
		ctx := context.Background()
		if o.kind() != "" {
			saved, err := book.AddEvent(ctx, record.Event{Time: o.at, Kind: o.kind(), Units: o.units(), By: o.by, Note: "by the checklist " + o.list.Name}, "")
			if err != nil {
				return desk.Failed{Doing: "Saving the event", Err: err}
			}
			return offerSaved{saved.Entry.ID, what, saved.Cautions}
		}
		r := record.Round{Time: o.at, By: o.by, Words: map[quantity.Key]string{quantity.Key(quantity.ScreenCleared): "yes"}}
		saved, err := book.AddRound(ctx, r, "")
		if err != nil {
			return desk.Failed{Doing: "Saving the round", Err: err}
		}
		return offerSaved{saved.Entry.ID, what, saved.Cautions}
	}
}

func (s Screen) offerSaved(m offerSaved) (Screen, tea.Cmd) {
	s.saving = false
	if s.mode == offering {
		s.mode = listing
	}
	return s, func() tea.Msg { return desk.Saved{ID: m.id, What: m.what, Cautions: m.cautions} }
}

// offerLines draw the question.
func (s Screen) offerLines() []string {
	o := s.offer
	out := append([]string{"", " " + s.Theme.Good.Render("Saved in the log: "+text.Show(o.list.Name))}, "")
	if n := len(o.open); n > 0 {
		said := fmt.Sprintf("Ended early: %s not walked, from %q on. The plant may not stand as this list leaves it: look before you write it down.",
			plural(n, "step was", "steps were"), text.Show(o.open[0]))
		out = append(append([]string{""}, indent(said, s.w, " "+text.PadRight(ui.Near.Sign(), 3), s.Theme.Near)...), out...)
	}
	switch o.list.For {
	case plant.ForStart, plant.ForStop:
		out = append(out, s.paragraph("The list is not the event: running hours, energy and water follow the log's starts and stops. Write it down too?")...)
		out = append(out, "", "   "+s.Theme.Strong.Render(s.Theme.Cut(o.says(s), max(1, s.w-6))), "")
		out = append(out, " y yes, write it down")
		if len(o.choices) > 1 {
			out = append(out, " Right, Left: it was another unit")
		}
		out = append(out, " n no, it stands there already")
	case plant.ForClearing:
		out = append(out, s.paragraph("The log learns of the clearing by a round. With the pressures before and after it can tell what the clearing gained and when the next one is due.")...)
		out = append(out, "", " r walk a round, with the pressures before and after", " y write only that the screen was cleared", " n no, it stands there already")
	case plant.ForAfterTrip:
		out = append(out, s.paragraph("Does the trip itself stand in the log, with its time and its cause? The start after it belongs there too.")...)
		out = append(out, "", " e write the trip down", " n no, it stands there already")
	}
	return out
}

// paragraph wraps a sentence into the window.
func (s Screen) paragraph(sentence string) []string { return indent(sentence, s.w, " ", ui.Style{}) }
