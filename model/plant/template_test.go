package plant_test

import (
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

func templateLines(t *testing.T) []string {
	t.Helper()
	return strings.Split(strings.TrimSuffix(string(plant.Template()), "\n"), "\n")
}

// keyOf returns the key of a line "key = value" or "#key = value", and whether it is in force.
func keyOf(line string) (key string, inForce, ok bool) {
	bare := strings.TrimPrefix(line, "#")
	if bare == "" || bare[0] == ' ' {
		return "", false, false
	}
	key, _, ok = strings.Cut(bare, " = ")
	return key, bare == line, ok
}

func TestTheStartingFileHasNoProblems(t *testing.T) {
	p := mustParse(t, string(plant.Template()))
	if len(p.Units) != 1 || len(p.Ballast.Elements) != 1 || len(p.Pond.Stage) < 2 {
		t.Errorf("not a whole plant: %+v", p)
	}
}

func TestTheStartingFileSaysThatItsValuesMustBeReplaced(t *testing.T) {
	text := string(plant.Template())
	for _, want := range []string{"MUST BE REPLACED", "INVENTED", "(required)", "headpond plant check FILE", "below the gauge's zero is negative"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in it", want)
		}
	}
	for _, a := range plant.Advice(mustParse(t, text)) {
		if a.Key == "site.name" && strings.Contains(a.What, "replace every value") {
			return
		}
	}
	t.Error("a starting file that was not filled in is not noticed")
}

func TestEveryKeyOfTheStartingFileHasAComment(t *testing.T) {
	lines := templateLines(t)
	for i, line := range lines {
		key, _, ok := keyOf(line)
		if !ok {
			continue
		}
		j := i - 1
		for j >= 0 && strings.HasPrefix(lines[j], "#  ") {
			j--
		}
		if j == i-1 || !strings.HasPrefix(lines[j], "# "+key+": ") {
			t.Errorf("line %d: %s has no comment of its own that says what it is and where to find it", i+1, key)
		}
	}
}

// Notepads and terminals of every age can show it.
func TestTheStartingFileIsPlainAndNarrow(t *testing.T) {
	for i, line := range templateLines(t) {
		if len(line) > 100 {
			t.Errorf("line %d is %d wide", i+1, len(line))
		}
		for _, r := range line {
			if r < ' ' || r > '~' {
				t.Errorf("line %d holds %q", i+1, r)
			}
		}
	}
}

// excludes names the keys that may not stand beside a key that is off in the starting file.
func excludes(key string) []string {
	switch key {
	case "in":
		return []string{"in_max"}
	case "near":
		return []string{"in_max", "near_max"}
	case "curve":
		return []string{"best_flow_lps", "best_head_m", "best_efficiency"}
	case "every_days":
		return []string{"every_hours"}
	}
	return nil
}

// Every key that is off can be put in force by taking its # away, in a table that is put in force with it.
func TestEveryKeyThatIsOffIsSoundWhenPutInForce(t *testing.T) {
	lines := templateLines(t)
	for i, line := range lines {
		key, inForce, ok := keyOf(line)
		if !ok || inForce {
			continue
		}
		with := append([]string(nil), lines...)
		with[i] = strings.TrimPrefix(line, "#")
		switch key {
		case "near_min":
			enable(with, i, "in_min")
		case "near":
			enable(with, i, "in")
		}
		enableTable(with, i, key)
		text := strings.Join(with, "\n")
		if _, err := plant.Parse("template", []byte(text)); err != nil {
			t.Errorf("line %d, %s: %v", i+1, key, err)
		}
	}
}

// enable puts a key near line i in force.
func enable(lines []string, i int, key string) {
	for j := max(0, i-12); j < min(len(lines), i+12); j++ {
		if k, inForce, ok := keyOf(lines[j]); ok && !inForce && k == key {
			lines[j] = lines[j][1:]
		}
	}
}

// enableTable puts the heading above line i in force, with the keys that it needs, and takes out what the key excludes.
func enableTable(lines []string, i int, key string) {
	top := i
	for !strings.HasPrefix(strings.TrimPrefix(lines[top], "#"), "[") {
		top--
	}
	needs := map[string][]string{"#[[band]]": {"quantity", "in_max", "near_max"}, "#[[checklist]]": {"name", "step"}, "#[money]": {"currency"}, "#[[money.fuel]]": {"name", "unit", "kwh_per_unit"}}[lines[top]]
	lines[top] = strings.TrimPrefix(lines[top], "#")
	if lines[top] == "[[money.fuel]]" { // it stands inside of [money]
		for j := range lines {
			if lines[j] == "#[money]" || strings.HasPrefix(lines[j], "#currency") {
				lines[j] = lines[j][1:]
			}
		}
	}
	for j := top + 1; j < len(lines) && !strings.HasPrefix(strings.TrimPrefix(lines[j], "#"), "["); j++ {
		k, inForce, ok := keyOf(lines[j])
		switch {
		case !ok:
		case slices.Contains(excludes(key), k):
			lines[j] = "# " + k
		case !inForce && slices.Contains(needs, k):
			lines[j] = lines[j][1:]
		}
	}
}
