package demo

import (
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// mistakes puts into the finished story what people get wrong and put right: slips of the pen with their corrections, and
// rounds that were written down later than they were walked.
func (t *teller) mistakes() {
	t.slipOfTheDigit()
	t.lostSign()
	t.wrongThermometer()
	t.fromPaper(56, 2)
	t.fromPaper(77, 1)
	t.fromPaper(lastWeek+5, 1)
}

// pick finds the first round from a day on that fits, and is not among the last two.
func (t *teller) pick(fromDay int, fits func(r *record.Round) bool) (int, bool) {
	from := t.cal.time(t.cal.at(fromDay, 0))
	for i := range max(0, len(t.story.Rounds)-2) {
		r := &t.story.Rounds[i]
		if !r.Time.Before(from) && fits(r) {
			return i, true
		}
	}
	return 0, false
}

// amend corrects a round some hours after it was walked.
func (t *teller) amend(i int, later time.Duration, key quantity.Key, text, why, by string) {
	t.story.Amendments = append(t.story.Amendments, Amendment{Round: i, Changes: map[string]string{string(key): text}, Why: why, By: by,
		At: t.story.Rounds[i].Time.Add(later)})
}

// slipOfTheDigit is 2411 V for 241 V, asked about and confirmed all the same.
func (t *teller) slipOfTheDigit() {
	const right, wrong = 241, 2411
	i, ok := t.pick(60, func(r *record.Round) bool { return r.By == ro && r.Values[keyVolts] == right })
	if !ok {
		return
	}
	r := &t.story.Rounds[i]
	r.Values[keyVolts], r.Confirmed = wrong, true
	r.Typed = map[quantity.Key]string{keyVolts: quantity.Text(wrong)}
	t.amend(i, 9*time.Hour+12*time.Minute, keyVolts, quantity.Text(right), "the 1 key twice, and yes without reading; the paper says 241", ro)
}

// lostSign is a pond level below the gauge's zero, written as above it.
func (t *teller) lostSign() {
	i, ok := t.pick(44, func(r *record.Round) bool {
		v, read := r.Value(keyLevel)
		return read && v < -0.12 && v > -0.4
	})
	if !ok {
		return
	}
	r := &t.story.Rounds[i]
	right := quantity.Text(r.Values[keyLevel])
	r.Values[keyLevel] *= -1
	t.amend(i, 25*time.Hour+31*time.Minute, keyLevel, right, "lost the minus sign", imke)
}

// wrongThermometer is a reading that is withdrawn.
func (t *teller) wrongThermometer() {
	key := keyBearing(large)
	i, ok := t.pick(95, func(r *record.Round) bool {
		_, bearing := r.Value(key)
		_, air := r.Value(keyAir)
		return bearing && air
	})
	if !ok {
		return
	}
	r := &t.story.Rounds[i]
	r.Values[key] = r.Values[keyAir] + 1
	t.amend(i, 3*time.Hour+5*time.Minute, key, "-", "read the air thermometer twice", r.By)
}

// fromPaper makes so many rounds from a day on written down only after the next one.
func (t *teller) fromPaper(fromDay, n int) {
	i, ok := t.pick(fromDay, func(r *record.Round) bool { return r.Time.Hour() >= 15 })
	if !ok || i+n >= len(t.story.Rounds) {
		return
	}
	next := t.story.Rounds[i+n]
	for k := range n {
		r := &t.story.Rounds[i+k]
		r.WrittenAt = next.WrittenAt.Add(time.Duration(4+3*k) * time.Minute)
		if r.Note == "" {
			r.Note = "from paper, the laptop was flat"
		}
	}
}
