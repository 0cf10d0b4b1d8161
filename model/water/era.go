package water

import (
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// Draws gives what the machines of a revision of the plant take and give. An error says why that cannot be worked out.
type Draws func(p *plant.Plant) (Draw, error)

// Always is Draws for a plant whose machines never changed.
func Always(d Draw) Draws { return func(*plant.Plant) (Draw, error) { return d, nil } }

// era is a stretch in which one revision of the plant file was in force: a machine that was replaced drew its own water
// while it was there. The stage table, seepage and evaporation are today's throughout, because a later survey of the same
// pond knows it better; the bypass is read by readConditions.
type era struct {
	from  time.Time // of the first, nothing: it holds for all earlier times
	units []string
	draws *drawBook
}

// readEras lists the revisions up to now, oldest first. Where an old one's draw cannot be worked out, today's stands in.
func (b *basin) readEras(h *record.History, draws Draws) {
	var eras []era
	for i, r := range h.Revisions {
		if r.Plant == nil || r.From.After(h.At) && i > 0 {
			continue
		}
		e := era{from: r.From, units: r.Plant.UnitIDs(), draws: b.draws}
		if r.Plant != b.plant {
			if d, err := draws(r.Plant); err == nil {
				e.draws = newDrawBook(d, b.draws.lo, b.draws.lo+(drawKnots-1)*b.draws.step)
			} else {
				b.standIns++
			}
		}
		eras = append(eras, e)
	}
	if len(eras) > 0 {
		b.eras = eras
	}
}

// eraAt is the place of the era that a time lies in.
func (b *basin) eraAt(t time.Time) int {
	i := 0
	for i+1 < len(b.eras) && !b.eras[i+1].from.After(t) {
		i++
	}
	return i
}

// units are all machines that there ever were, today's first.
func (b *basin) units() []string {
	list := append([]string{}, b.plant.UnitIDs()...)
	have := map[string]bool{}
	for _, u := range list {
		have[u] = true
	}
	for i := range b.eras {
		for _, u := range b.eras[i].units {
			if !have[u] {
				list, have[u] = append(list, u), true
			}
		}
	}
	return list
}

// byEra cuts a stretch where one revision gave way to the next.
func (b *basin) byEra(from, to time.Time, add func(e *era, from, to time.Time)) {
	for i := b.eraAt(from); from.Before(to); i++ {
		end := to
		if i+1 < len(b.eras) && b.eras[i+1].from.Before(to) {
			end = b.eras[i+1].from
		}
		if end.After(from) {
			add(&b.eras[i], from, end)
			from = end
		}
	}
}

// all is everything that the era's machines can draw.
func (e *era) all() *drawTable { return e.draws.table(e.units) }
