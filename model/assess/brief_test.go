package assess

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
)

// busy is a plant with two readings out of band, three upkeep tasks, and a screen to be cleared.
func busy(t testing.TB) *Now {
	t.Helper()
	h := calm(t)
	r := h.Rounds[0]
	r.Values["hertz"], r.Values["volts"] = 56.5, 210
	r.Words["screen"] = "partly"
	every := func(task string, days float64) plant.Task { return plant.Task{Task: task, EveryDays: &days} }
	h.Plant.Upkeep = []plant.Task{every("check the crest", 30), every("grease the bearing", 20), every("test the trips", 42)}
	h.Revisions[0].From = noon.AddDate(0, 0, -40)
	return NowFacts(h)
}

func texts(list []Attention) string {
	var out []string
	for _, a := range list {
		out = append(out, string(a.Urgency)+" "+a.Text)
	}
	return strings.Join(out, "\n")
}

func atMost(n int) func([]Attention) bool {
	return func(list []Attention) bool { return len(list) <= n }
}

func TestBriefTellsEverythingWhereItFits(t *testing.T) {
	n := busy(t)
	if list, folded := n.Brief(atMost(len(n.Attention))); folded != 0 || texts(list) != texts(n.Attention) {
		t.Errorf("%d folded:\n%s", folded, texts(list))
	}
}

// The least urgent is folded first, and no more than it takes.
func TestBriefFoldsFromTheLeastUrgent(t *testing.T) {
	n := busy(t)
	all := len(n.Attention)
	list, folded := n.Brief(atMost(all - 1))
	if want := "due 2 upkeep tasks are overdue and 1 due, the first: grease the bearing"; folded != 2 || !strings.Contains(texts(list), want) {
		t.Errorf("%d folded, %q expected in\n%s", folded, want, texts(list))
	}
	if !strings.Contains(texts(list), "Voltage 210 V is out of band: below 220 V") {
		t.Errorf("what is urgent was folded though there was room:\n%s", texts(list))
	}
	list, folded = n.Brief(atMost(0))
	want := "out Voltage 210 V and Frequency 56.5 Hz are out of band"
	if folded != all-len(list) || !strings.HasPrefix(texts(list), want) {
		t.Errorf("%d folded, %q expected first in\n%s", folded, want, texts(list))
	}
	if texts(n.Attention) == texts(list) || len(n.Attention) != all {
		t.Errorf("the facts themselves were folded:\n%s", texts(n.Attention))
	}
}

func TestBriefOfOneKindOfTask(t *testing.T) {
	n := busy(t)
	tasks := slices.DeleteFunc(slices.Clone(n.Attention), func(a Attention) bool { return a.Topic != TopicUpkeep })
	for _, c := range []struct {
		list []Attention
		want string
	}{
		{tasks[:2], "2 upkeep tasks are overdue, the first: grease the bearing"},
		{tasks[1:], "1 upkeep task is overdue and 1 due, the first: check the crest"},
		{[]Attention{{Text: "One"}, {Text: "Two"}, {Text: "Three"}}, "One; and 2 more of this kind"},
	} {
		if got := n.fold(c.list); got != c.want {
			t.Errorf("%q, expected %q", got, c.want)
		}
	}
}

func TestTopicsAreNamedOnceByUrgency(t *testing.T) {
	list := []Attention{{Urgency: UrgentNear, Topic: TopicWater}, {Urgency: UrgentDue, Topic: TopicUpkeep}, {Urgency: UrgentDue, Topic: TopicUpkeep}, {Urgency: UrgentDue, Topic: TopicScreen}, {Urgency: UrgentNote}}
	if got, want := Topics(list), "near: water; due: upkeep, clearing the screen"; got != want {
		t.Errorf("%q, expected %q", got, want)
	}
}

// Whatever the room: every urgency and topic keeps a sentence, in the same order, and the count of the rest is right.
func TestBriefHidesNoKind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := Of(anyHistory(t, planttest.Random(t))).Now()
		list, folded := n.Brief(atMost(rapid.IntRange(0, 12).Draw(t, "room")))
		if folded != len(n.Attention)-len(list) {
			t.Fatalf("%d folded of %d, %d are told", folded, len(n.Attention), len(list))
		}
		if got, want := kinds(list), kinds(n.Attention); !slices.Equal(got, want) {
			t.Fatalf("%v of %v", got, want)
		}
	})
}

// kinds lists urgencies with their topics in order, each once.
func kinds(list []Attention) []string {
	var out []string
	for _, a := range list {
		if k := string(a.Urgency) + " " + string(a.Topic); !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}
