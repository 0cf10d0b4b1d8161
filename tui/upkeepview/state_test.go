package upkeepview

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

func threeSteps() checklist.List {
	return checklist.List{Name: "Frost", For: plant.ForStop, Unit: "A", Steps: []string{"a", "b", "c"}}
}

// A walk goes from 0 to the end page and never past it; only the step on show is ever altered, and no older walk with it.
func TestOnlyTheStepOnShowIsAltered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := newWalk(threeSteps(), morning)
		for i := range rapid.IntRange(1, 20).Draw(t, "moves") {
			old := w
			ticks := slices.Clone(w.Ticks)
			switch rapid.IntRange(0, 3).Draw(t, "move") {
			case 0:
				if !w.ended() {
					w = w.tick(rapid.SampledFrom([]record.TickState{record.TickDone, record.TickSkipped, record.TickNotOK}).Draw(t, "state"), "n", morning.Add(time.Duration(i)*time.Minute))
					if w.At != old.At+1 {
						t.Fatalf("after a tick step %d is on show, want %d", w.At, old.At+1)
					}
				}
			case 1:
				w = w.step(rapid.IntRange(-3, 3).Draw(t, "by"))
			case 2:
				if !w.ended() {
					w = w.annotate("x")
				}
			case 3:
				w.At = w.firstOpen()
			}
			if w.At < 0 || w.At > len(w.Ticks) || w.ended() != (w.At == len(w.Ticks)) {
				t.Fatalf("step %d of %d is on show", w.At, len(w.Ticks))
			}
			if !slices.Equal(old.Ticks, ticks) {
				t.Fatal("an older walk was altered")
			}
			for j := range w.Ticks {
				if j != old.At && w.Ticks[j] != ticks[j] {
					t.Fatalf("step %d was altered while %d was on show", j, old.At)
				}
			}
		}
	})
}

// What is kept on disk is the whole walk.
func TestAWalkComesBackFromDisk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := newWalk(threeSteps(), morning)
		w.By, w.Note, w.Typed = rapid.String().Draw(t, "by"), rapid.String().Draw(t, "note"), rapid.String().Draw(t, "typed")
		w.Noting = rapid.SampledFrom([]record.TickState{"", record.TickSkipped, remark}).Draw(t, "noting")
		for !w.ended() && rapid.Bool().Draw(t, "another tick") {
			w = w.tick(record.TickSkipped, rapid.String().Draw(t, "why"), morning)
		}
		if !w.begun() {
			if w.data() != nil {
				t.Fatal("nothing is kept as something")
			}
			return
		}
		got, ok := decodeWalk(w.data())
		if !ok {
			t.Fatalf("%s cannot be read", w.data())
		}
		if diff := cmp.Diff(valid(w), got); diff != "" {
			t.Fatal(diff)
		}
	})
}

// valid is a walk as JSON holds it: bytes that are no UTF-8 do not come from keys.
func valid(w walk) walk {
	data, _ := json.Marshal(w)
	var out walk
	_ = json.Unmarshal(data, &out)
	return out
}

func TestWhatIsNoWalkIsPassedOver(t *testing.T) {
	for name, data := range map[string]string{
		"nothing":                "",
		"no JSON":                "{",
		"no steps":               `{"list":{"name":"x"},"ticks":[]}`,
		"no name":                `{"list":{"steps":["a"]},"ticks":[{}]}`,
		"more ticks than steps":  `{"list":{"name":"x","steps":["a"]},"ticks":[{},{}]}`,
		"fewer ticks than steps": `{"list":{"name":"x","steps":["a","b"]},"ticks":[{}]}`,
		"a number for a state":   `{"list":{"name":"x","steps":["a"]},"ticks":[{"state":3}]}`,
		"a time that is none":    `{"list":{"name":"x","steps":["a"]},"ticks":[{"at":"noon"}]}`,
	} {
		if w, ok := decodeWalk([]byte(data)); ok {
			t.Errorf("%s: %+v", name, w)
		}
	}
	for at, want := range map[string]int{"-5": 0, "0": 0, "1": 1, "2": 1, "99": 1} {
		w, ok := decodeWalk([]byte(`{"list":{"name":"x","steps":["a"]},"at":` + at + `,"ticks":[{}]}`))
		if !ok || w.At != want {
			t.Errorf("at %s: step %d is on show, want %d", at, w.At, want)
		}
	}
}

func TestTheEntryOfAWalk(t *testing.T) {
	w := newWalk(threeSteps(), morning).tick(record.TickDone, "", morning.Add(time.Minute))
	w = w.step(1).tick(record.TickNotOK, "worn", morning.Add(9*time.Minute))
	w.By, w.Note = "Ro", "look again"
	got := w.done(time.UTC)
	want := record.Done{Time: morning.Add(9 * time.Minute).UTC(), Task: "Frost", By: "Ro", Note: "look again", Walk: &record.Walk{For: "stop", Units: []string{"A"}, Begun: morning.UTC(),
		Ticks: []record.Tick{{Step: "a", State: record.TickDone, At: morning.Add(time.Minute).UTC()}, {Step: "b"}, {Step: "c", State: record.TickNotOK, Note: "worn", At: morning.Add(9 * time.Minute).UTC()}}}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if d := newWalk(threeSteps(), morning).done(halifax); !d.Time.Equal(morning) {
		t.Errorf("a walk without ticks is of %s", d.Time)
	}
}

// What is offered after each list, by which units ran: by hand.
func TestOffers(t *testing.T) {
	on := func(ids ...string) *record.History {
		h := &record.History{At: morning, Plant: &plant.Plant{Units: []plant.Unit{{ID: "A"}, {ID: "B"}}}}
		if ids != nil {
			h.Rounds = []record.Round{{Time: morning.Add(-time.Hour), Running: &ids}}
		}
		return h
	}
	for _, c := range []struct {
		name string
		list checklist.List
		h    *record.History
		want [][]string
	}{
		{"stop, A runs", checklist.List{For: plant.ForStop}, on("A"), [][]string{{"A"}, {"B"}, {"A", "B"}}},
		{"stop, both run", checklist.List{For: plant.ForStop}, on("A", "B"), [][]string{{"A", "B"}, {"A"}, {"B"}}},
		{"stop, none runs", checklist.List{For: plant.ForStop}, on([]string{}...), [][]string{{"A"}, {"B"}, {"A", "B"}}},
		{"stop, nothing is known", checklist.List{For: plant.ForStop}, on(), [][]string{{"A"}, {"B"}, {"A", "B"}}},
		{"start, A runs", checklist.List{For: plant.ForStart}, on("A"), [][]string{{"B"}, {"A"}, {"A", "B"}}},
		{"start, B runs", checklist.List{For: plant.ForStart}, on("B"), [][]string{{"A"}, {"B"}, {"A", "B"}}},
		{"stop of one unit", checklist.List{For: plant.ForStop, Unit: "B"}, on("A"), [][]string{{"B"}}},
		{"after a trip", checklist.List{For: plant.ForAfterTrip}, on("A"), nil},
		{"clearing", checklist.List{For: plant.ForClearing}, on("A"), nil},
		{"a list of the plant's own", checklist.List{}, on("A"), nil},
	} {
		o := Screen{history: c.h}.offerOf(c.list, record.Done{Time: morning, By: "Ro"})
		if diff := cmp.Diff(c.want, o.choices); diff != "" || o.any() != (c.list.For != "") || o.by != "Ro" || !o.at.Equal(morning) {
			t.Errorf("%s: %+v\n%s", c.name, o, diff)
		}
		if len(c.want) == 0 && o.units() != nil {
			t.Errorf("%s: units %v", c.name, o.units())
		}
	}
}
