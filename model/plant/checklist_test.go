package plant_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

// stopList is a list of the plant's own, as a person writes one over several lines.
const stopList = `
[[checklist]]
name = "Stopping for the night"
for = "stop"
unit = "A"
caution = ["The belt keeps running on for a minute."]
step = [
  "Tell the house.",      # they may be baking
  "Shut the main valve slowly.",
  'Hang the sign "stopped".',
]
`

func TestAChecklistIsRead(t *testing.T) {
	p := mustParse(t, soundFile+stopList+"[[checklist]]\nname = \"Frost\"\nstep = [\"Drain the gauge.\"]\n")
	want := []plant.Checklist{
		{Name: "Stopping for the night", For: plant.ForStop, Unit: "A", Cautions: []string{"The belt keeps running on for a minute."},
			Steps: []string{"Tell the house.", "Shut the main valve slowly.", `Hang the sign "stopped".`}},
		{Name: "Frost", Steps: []string{"Drain the gauge."}},
	}
	if diff := cmp.Diff(want, p.Checklists); diff != "" {
		t.Error(diff)
	}
	if list := mustParse(t, soundFile).Checklists; list != nil {
		t.Errorf("a file without lists has %v", list)
	}
}

func TestProblemsOfChecklists(t *testing.T) {
	end := "every_hours = 500\n"
	list := func(lines string) string { return end + "[[checklist]]\n" + lines }
	long := func(n int) string { return strings.Repeat("é", n) }
	check(t, []oneProblem{
		{"no name", end, end + "»[[checklist]]\nstep = [\"a\"]\n", "checklist[1].name", "missing", "the list's name"},
		{"no steps", end, end + "»[[checklist]]\nname = \"x\"\n", "checklist[1].step", "missing", "a list of texts"},
		{"empty steps", end, list("name = \"x\"\nstep = »[]\n"), "checklist[1].step", "is empty", "a list of texts such as"},
		{"one text for steps", end, list("name = \"x\"\nstep = »\"Shut the valve\"\n"), "checklist[1].step", "is one text", `["…"]`},
		{"number for steps", end, list("name = \"x\"\nstep = »3\n"), "checklist[1].step", "is a number", "a list of texts"},
		{"number among steps", end, list("name = \"x\"\nstep = [\"a\", »3]\n"), "checklist[1].step", "text 2 is a number", "quotation marks"},
		{"blank step", end, list("name = \"x\"\nstep = [\"a\", »\" \"]\n"), "checklist[1].step", "text 2 is empty", "a sentence"},
		{"escape code in a step", end, list("name = \"x\"\nstep = [»\"a\\u001b[2J\"]\n"), "checklist[1].step", "text 1 holds a control character", "a sentence"},
		{"very long step", end, list("name = \"x\"\nstep = [»\"" + long(301) + "\"]\n"), "checklist[1].step", "text 1 is 301 characters long", "at most 300"},
		{"too many steps", end, list("name = \"x\"\nstep = »[" + strings.Repeat(`"a",`, 41) + "]\n"), "checklist[1].step", "has 41 texts", "at most 40"},
		{"unknown occasion", end, list("name = \"x\"\nfor = »\"night\"\nstep = [\"a\"]\n"), "checklist[1].for", `"night" is not one of its words`, `"start", "stop", "after-trip" or "clearing"`},
		{"unknown unit", end, list("name = \"x\"\nunit = »\"C\"\nstep = [\"a\"]\n"), "checklist[1].unit", `no unit has the id "C"`, `"A" or "B"`},
		{"name twice", end, list("name = \"x\"\nstep = [\"a\"]\n[[checklist]]\nname = »\"X\"\nstep = [\"a\"]\n"), "checklist[2].name", "given twice", "a different name"},
		{"unknown key", end, list("name = \"x\"\nstep = [\"a\"]\n»cautions = [\"b\"]\n"), "checklist[1].cautions", "unknown key", "caution"},
		{"steps for step", end, list("name = \"x\"\n»steps = [\"b\"]\n"), "checklist[1].steps", "unknown key", "step"},
		{"table of another name", end, end + "»[[check_list]]\nname = \"x\"\nstep = [\"a\"]\n", "check_list", "unknown table", "checklist"},
		{"single brackets", end, end + "»[checklist]\nname = \"x\"\nstep = [\"a\"]\n", "checklist", "stands once", "[[checklist]]"},
	})
}

func TestLongestStepsAndListsAreRead(t *testing.T) {
	steps := strings.Repeat(strconv.Quote(strings.Repeat("é", 300))+",", 40)
	p := mustParse(t, soundFile+"[[checklist]]\nname = \"x\"\nstep = ["+steps+"]\n")
	if n := len(p.Checklists[0].Steps); n != 40 {
		t.Errorf("%d steps", n)
	}
}

// What is written as lists comes back as they were, whatever the words.
func TestAnyChecklistComesBackAsWritten(t *testing.T) {
	word := rapid.StringOfN(rapid.RuneFrom([]rune("abc äöü,.:;#[]{}'\"\\=-")), 1, 40, -1).Filter(func(s string) bool { return strings.TrimSpace(s) == s })
	rapid.Check(t, func(t *rapid.T) {
		var want []plant.Checklist
		var b strings.Builder
		b.WriteString(soundFile)
		for i := range rapid.IntRange(1, 4).Draw(t, "lists") {
			c := plant.Checklist{Name: fmt.Sprintf("list %d", i), Steps: rapid.SliceOfN(word, 1, 8).Draw(t, "steps")}
			fmt.Fprintf(&b, "\n[[checklist]]\nname = %q\nstep = [%s]\n", c.Name, quoted(c.Steps))
			if rapid.Bool().Draw(t, "cautions") {
				c.Cautions = rapid.SliceOfN(word, 1, 3).Draw(t, "caution")
				fmt.Fprintf(&b, "caution = [%s]\n", quoted(c.Cautions))
			}
			if rapid.Bool().Draw(t, "occasion") {
				c.For = rapid.SampledFrom(plant.ListFors()).Draw(t, "for")
				fmt.Fprintf(&b, "for = %q\n", c.For)
			}
			want = append(want, c)
		}
		p, err := plant.Parse("lists.toml", []byte(b.String()))
		if err != nil {
			t.Fatalf("%v\nin\n%s", err, b.String())
		}
		if diff := cmp.Diff(want, p.Checklists); diff != "" {
			t.Fatal(diff)
		}
	})
}

// quoted writes texts as TOML's basic strings, of which Go's quoting is a part for these letters.
func quoted(list []string) string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s)
		out[i] = `"` + out[i] + `"`
	}
	return strings.Join(out, ", ")
}
