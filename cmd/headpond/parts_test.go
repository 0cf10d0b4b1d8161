package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/plant"
)

func TestProgressShowsOnlyWhatTakesLongAndOnlyToAPerson(t *testing.T) {
	for _, person := range []bool{true, false} {
		var said bytes.Buffer
		now := noon
		c := &command{world: world{errTTY: person, err: &said, now: func() time.Time { return now }}}
		p := c.progress("checking")
		for i := range 100 {
			now = noon.Add(time.Duration(i) * 10 * time.Millisecond)
			p.step(i, 100)
		}
		p.end()
		want := "\rchecking: 50 of 100 (Ctrl-C stops it)\rchecking: 75 of 100 (Ctrl-C stops it)\r\x1b[K"
		if !person {
			want = ""
		}
		if said.String() != want {
			t.Errorf("to a person %v: %q, want %q", person, &said, want)
		}
	}
}

func TestShareReadsFractionsAndPercentages(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64 // -1: refused
	}{{"0", 0}, {"1", 1}, {"0.5", 0.5}, {"0,25", 0.25}, {"50 %", 0.5}, {"100%", 1}, {"2", -1}, {"-0.1", -1}, {"101 %", -1}, {"half", -1}, {"", -1}, {"NaN", -1}} {
		got, err := share(pair{keyScreenOpen, c.text})
		if (err != nil) != (c.want < 0) || err == nil && *got != c.want {
			t.Errorf("%q gives %v, %v, want %g", c.text, got, err, c.want)
		}
	}
}

func TestParsePairs(t *testing.T) {
	list, err := parsePairs([]string{"volts=241", "note=a=b c", " by =Ro", "x="})
	want := []pair{{"volts", "241"}, {"note", "a=b c"}, {"by", "Ro"}, {"x", ""}}
	if err != nil || len(list) != len(want) {
		t.Fatalf("%v, %v", list, err)
	}
	for i := range want {
		if list[i] != want[i] {
			t.Errorf("%v, want %v", list[i], want[i])
		}
	}
	for _, bad := range [][]string{{"volts"}, {"=241"}, {" =241"}, {""}, {"a=1", "A=2"}} {
		if _, err := parsePairs(bad); codeOf(err) != exitUsage {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

func TestFindTask(t *testing.T) {
	p := &plant.Plant{Upkeep: []plant.Task{{Task: "Grease bearing, unit A"}, {Task: "Grease bearing, unit AB"}, {Task: "Walk the penstock"}}}
	for typed, want := range map[string]string{
		"walk": "Walk the penstock", "  WALK   the ": "Walk the penstock", "grease bearing, unit a": "Grease bearing, unit A", "unit ab": "Grease bearing, unit AB",
		"grease": "", "polish": "", "": "", " ": "",
	} {
		if got, err := findTask(p, typed); got != want || (err == nil) != (want != "") {
			t.Errorf("%q is %q, %v; want %q", typed, got, err, want)
		}
	}
	if _, err := findTask(&plant.Plant{}, "walk"); err == nil || !strings.Contains(err.Error(), "lists no upkeep tasks") {
		t.Errorf("a plant without tasks: %v", err)
	}
}

func TestBytesWords(t *testing.T) {
	for n, want := range map[int64]string{0: "0 KiB", 32 << 10: "32 KiB", 3 << 19: "1.5 MiB", 17 << 20: "17 MiB"} {
		if got := bytesWords(n); got != want {
			t.Errorf("%d bytes are %s, want %s", n, got, want)
		}
	}
}

func TestExpandGivesTheTildeItsMeaning(t *testing.T) {
	c := &command{world: world{environ: []string{"HOME=/home/ro"}}}
	for path, want := range map[string]string{"~/p.toml": "/home/ro/p.toml", "p.toml": "p.toml", "~imke/p.toml": "~imke/p.toml", "a/~/b": "a/~/b"} {
		if got := c.expand(path); filepath.ToSlash(got) != want {
			t.Errorf("%s is %s, want %s", path, got, want)
		}
	}
	if got := (&command{}).expand("~/p.toml"); got != "~/p.toml" {
		t.Errorf("without a home it is %s", got)
	}
}

func TestWriteNewNeverWritesOver(t *testing.T) {
	path := filepath.Join(t.TempDir(), "p.toml")
	if err := writeNew(path, []byte("first")); err != nil {
		t.Fatal(err)
	}
	if err := writeNew(path, []byte("second")); !os.IsExist(err) {
		t.Errorf("a second file of the name: %v", err)
	}
	if data, err := os.ReadFile(path); string(data) != "first" || err != nil {
		t.Errorf("the file holds %q, %v", data, err)
	}
}

func TestReadPlantFileRefusesWhatIsFarTooLarge(t *testing.T) {
	path := filepath.Join(t.TempDir(), "p.toml")
	if err := os.WriteFile(path, make([]byte, maxPlantFile+2), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := readPlantFile(path); err == nil || !strings.Contains(err.Error(), "larger than a plant file can be") {
		t.Errorf("%v", err)
	}
	p := newPerson(t)
	p.run(1, "plant", "check", path)
	p.wants(p.err.String(), "larger than a plant file can be (4 MiB)")
}

// A plant shown in US units is still typed in the unit of each key: contract, "Plant file".
func TestUSUnitsAreForShowingNotForKeys(t *testing.T) {
	p := newPerson(t)
	file, err := os.ReadFile(filepath.Join("testdata", "plant.toml"))
	if err != nil {
		t.Fatal(err)
	}
	us := filepath.Join(t.TempDir(), "us.toml")
	if err := os.WriteFile(us, bytes.Replace(file, []byte(`units = "metric"`), []byte(`units = "us"`), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	p.run(0, "plant", "load", us, "--from", "2025-06-02")
	p.wants(p.run(0, "record", "time=2025-06-04 07:30", "pressure_kpa=131", "pond_level_m=-0.3048", "running=A"), "-1.00 ft", "19.0 psi")
	p.wants(p.run(0, "rounds", "--json"), `"pond_level_m":-0.3048,"pressure_kpa":131`)
	p.wants(p.run(0, "expect"), "pond level of -1.00 ft", "psi")

	// Asked line by line a bare number is in the unit that the question names, as on a screen.
	p.answers("", map[string]string{"Pond level, ft": "-2"})
	p.run(0, "record")
	p.wants(p.run(0, "rounds", "--json", "--last", "1"), `"pond_level_m":-0.6096`)
}

func TestTheLastRoundsAreTheSameHoweverFarBackIsRead(t *testing.T) {
	p := newPerson(t)
	var csv strings.Builder
	csv.WriteString("time,volts,running\n")
	for day := range 400 {
		at := noon.AddDate(0, 0, -400+day)
		csv.WriteString(at.Format(time.RFC3339) + ",24" + string(rune('0'+day%10)) + "," + []string{"", "A"}[day%2] + "\n")
	}
	p.in = strings.NewReader(csv.String())
	p.run(0, "import", "-")
	all := strings.SplitAfter(p.run(0, "rounds", "--json"), "\n")
	for _, n := range []string{"1", "29", "30", "31", "119", "121", "399", "400", "1000"} {
		got := p.run(0, "rounds", "--json", "--last", n)
		count := strings.Count(got, "\n")
		if want := strings.Join(all[len(all)-1-count:], ""); got != want {
			t.Errorf("the last %s differ from the end of all", n)
		}
		if wantN := map[string]int{"1": 1, "29": 29, "30": 30, "31": 31, "119": 119, "121": 121, "399": 399, "400": 400, "1000": 400}[n]; count != wantN {
			t.Errorf("--last %s gives %d rounds, want %d", n, count, wantN)
		}
	}
}

// A message breaks between words on a terminal, and stays one line where a program reads it.
func TestMessagesBreakBetweenWords(t *testing.T) {
	const message = "plant.toml: there is no such file; a new one is written by: headpond plant new plant.toml"
	for _, person := range []bool{true, false} {
		var err strings.Builder
		c := &command{world: world{err: &err, errTTY: person, width: 40, utf8: true}}
		c.tell("%s", message)
		lines := strings.Split(strings.TrimSuffix(err.String(), "\n"), "\n")
		if person == (len(lines) == 1) {
			t.Errorf("person %v: %q", person, lines)
		}
		if got := strings.Join(lines, " "); got != message {
			t.Errorf("person %v: %q", person, got)
		}
		for _, l := range lines {
			if person && len(l) > 40 {
				t.Errorf("%q is %d cells wide", l, len(l))
			}
		}
	}
}
