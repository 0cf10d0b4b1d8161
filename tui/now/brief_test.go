package now

import (
	"fmt"
	"strings"
	"testing"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// troubled is a plant of which much wants attention: readings, ballast, screen, and overdue upkeep of three tasks.
func troubled(t testing.TB) *record.History {
	t.Helper()
	var tasks strings.Builder
	for i, task := range []string{"grease the bearing", "check the crest", "test the trips", "blow the panel out", "look at the belt", "wash the pond gauge"} {
		fmt.Fprintf(&tasks, "[[upkeep]]\ntask = %q\nevery_days = %d\n", task, 10+i)
	}
	p := house(t, "[ballast]\n", tasks.String()+"[[band]]\nquantity = \"bearing_c\"\nin_max = 60\nsource = \"the maker\"\n[ballast]\n", "rated_kw = 10\n", "rated_kw = 2\n")
	h := round(p, "A")
	h.Rounds[0].Values = map[quantity.Key]float64{"pond_level_m": -0.2, "volts": 210, "hertz": 55, "load_kw": 5.9, "dump_kw": 0.1, "A.bearing_c": 95}
	h.Rounds[0].Words = map[quantity.Key]string{"screen": "partly"}
	h.Revisions = []record.Revision{{From: clock.AddDate(0, 0, -90), Plant: p}}
	return h
}

func shown(t testing.TB, h *record.History, w, hgt int) ui.Screen {
	t.Helper()
	c := uitest.Common(uitest.Look{}, w, hgt, clock)
	var s ui.Screen = New(c, desk.Desk{}).SetSize(w, hgt)
	s, _ = s.Update(desk.Loaded{History: h, Facts: assess.NowFacts(h)})
	return s
}

// In the smallest ordinary window nothing that is urgent is hidden without its name, and the line names the key for the rest.
func TestASmallWindowNamesAllThatWantsAttention(t *testing.T) {
	h := troubled(t)
	for _, size := range [][2]int{{80, 20}, {60, 16}, {40, 20}, {116, 26}} {
		view := shown(t, h, size[0], size[1]).View()
		head, _, ok := strings.Cut(view, "What is left")
		if !ok {
			t.Errorf("%v: what is left is not on the first page:\n%s", size, view)
		}
		see(t, head, "Voltage 210 V", "95 °C", "press a")
		for _, topic := range []string{"allast", "screen", "upkeep"} {
			if !strings.Contains(head, topic) {
				t.Errorf("%v: nothing is said of %q:\n%s", size, topic, head)
			}
		}
	}
}

func TestTasksOfOneKindFoldIntoALine(t *testing.T) {
	see(t, shown(t, troubled(t), 116, 26).View(), "6 upkeep tasks are overdue, the first: grease the bearing", "press a for each of them")
}

func TestTheKeyTellsEachOfThemAndBack(t *testing.T) {
	s := shown(t, troubled(t), 80, 20)
	brief := s.View()
	s = uitest.Press(t, s, "a")
	whole := s.SetSize(80, 60).View()
	see(t, whole, "Grease the bearing: overdue by", "Check the crest: overdue by", "Test the trips: overdue by", "Voltage 210 V is out of band: below 220 V")
	if strings.Contains(whole, "press a") {
		t.Errorf("the key is still asked for:\n%s", whole)
	}
	if s = uitest.Press(t, s, "a"); s.View() != brief {
		t.Errorf("the second a does not lead back:\n%s", s.View())
	}
}

// A window with room for all offers no key for more, and one where something is folded does.
func TestTheKeyIsOfferedWhereItTellsMore(t *testing.T) {
	off := func(s ui.Screen) string {
		for _, b := range s.Bindings() {
			if b.Action == "now.all" {
				return b.Off
			}
		}
		return "no such key"
	}
	h := troubled(t)
	if why := off(shown(t, h, 80, 20)); why != "" {
		t.Errorf("the key is off in a small window: %s", why)
	}
	if why := off(shown(t, h, 80, 60)); why == "" {
		t.Error("the key is offered though all is told")
	}
	if why := off(shown(t, round(house(t), "A"), 80, 20)); why == "" {
		t.Error("the key is offered on a calm plant")
	}
}

func TestACommandFoldsNothing(t *testing.T) {
	page := command(troubled(t), 80)
	see(t, page, "Grease the bearing: overdue by", "Test the trips: overdue by", "Frequency 55.0 Hz is out of band")
	if strings.Contains(page, "press a") {
		t.Errorf("a command asks for a key:\n%s", page)
	}
}
