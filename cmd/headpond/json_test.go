package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// Every key below is written from the contract's section on machine-readable output ("### `rounds --json`" and so on, "Precise
// meanings", "Other JSON"): a dot goes into an object, [] into each element of a list, and the word is the type of what
// stands there. Each must be found in the demo's book at least once; more keys may stand beside them.
var contractKeys = []struct {
	command []string
	keys    string
}{
	{[]string{"rounds"}, `id:string time:string by:string running[]:string running_read[]:string readings:object readings.volts:number readings.screen:string
		judged[].quantity:string judged[].value:number judged[].state:string judged[].in[]:number judged[].near[]:number judged[].in_max:number
		judged[].near_max:number judged[].source:string judged[].expected:number note:string`},
	{[]string{"ballast"}, `at:string volts:number generation_kw:number load_kw:number dumped_kw:number rated_kw:number capacity_kw:number limited_by:string
		remaining_kw:number load_room_kw:number rejection.margin_kw:number rejection.margin_pct:number rejection.hertz:number rejection.volts:number
		rejection.within_trip:bool element_out[].element:string element_out[].capacity_kw:number element_out[].margin_kw:number element_out[].hertz:number
		element_out[].volts:number element_out[].within_trip:bool elements[].name:string elements[].rated_kw:number elements[].working:bool
		loads_that_fit[].name:string loads_that_fit[].kw:number loads_that_fit[].fits:bool loads_that_fit[].why:string
		generation_from:string dumped_from:string load_from:string`},
	{[]string{"expect"}, `pond_level_m:number running[]:string gross_head_m:number screen_loss_m:number friction_loss_m:number minor_loss_m:number
		net_head_m:number flow_lps:number pressure_kpa:number generation_kw:number units[].id:string units[].flow_lps:number units[].net_head_m:number
		units[].kw:number units[].efficiency:number units[].penstock:string units[].gross_head_m:number units[].friction_loss_m:number
		units[].minor_loss_m:number units[].pressure_kpa:number static_pressure_kpa:number water_to_wire:number`},
	{[]string{"water", "--until", "2025-12-01"}, `at:string level_m:number stop_level_m:number stop_level_from:string usable_m3:number inflow_lps.p10:number
		inflow_lps.p50:number inflow_lps.p90:number last_level.time:string last_level.value:number ways[].run[]:string ways[].draw_lps:number
		ways[].kw:number ways[].outcome:string ways[].hours.p10:number ways[].hours.p50:number ways[].hours.p90:number ways[].energy_kwh.p10:number
		ways[].energy_kwh.p50:number ways[].energy_kwh.p90:number until.date:string until.run:list until.holds:number until.energy_kwh:number
		permit.low_hours:object rests_on.levels:number rests_on.from:string rests_on.to:string cautions:list`},
	{[]string{"upkeep"}, `tasks[].task:string tasks[].unit:string tasks[].due_time:string tasks[].due_hours:number tasks[].state:string tasks[].last:string`},
	{[]string{"check"}, `entries:number damaged:list chain_ok:bool`},
	// Ours, beside the contract.
	{[]string{"now"}, `at:string plant:string round.id:string round.time:string round.age_hours:number running[]:string readings[].quantity:string
		readings[].value:number readings[].time:string attention[].urgency:string attention[].text:string upkeep[].task:string water.level_m:number
		ballast.capacity_kw:number power.generation_kw:number screen.state:string screen.loss.seen.loss_m:number
		screen.loss.now.lost_kw.p50:number screen.loss.growth.per_day.p50:number screen.loss.next.due:bool screen.loss.next.p50:string
		screen.loss.readings[].from:string screen.loss.approach[].velocity_ms:number screen.loss.gauge.offset_kpa:number`},
	{[]string{"plant", "show"}, `id:string from:string name:string timezone:string units[]:string text:string revisions[].id:string`},
}

// demoBook is a person whose book is the demo's, ending on an autumn evening.
func demoBook(t testing.TB) *person {
	t.Helper()
	p := newPerson(t)
	if err := os.Remove(p.defaultBook()); err != nil {
		t.Fatal(err)
	}
	end := time.Date(2025, 11, 18, 20, 15, 0, 0, time.FixedZone("AST", -4*3600))
	p.now = func() time.Time { return end }
	p.run(0, "demo", "--book", p.defaultBook())
	return p
}

func TestJSONHasTheContractsKeys(t *testing.T) {
	p := demoBook(t)
	for _, c := range contractKeys {
		t.Run(strings.Join(c.command, " "), func(t *testing.T) {
			p.t = t
			args := append(slices.Clone(c.command), "--json")
			found := keysIn(t, p.run(0, args...))
			for want := range strings.FieldsSeq(c.keys) {
				if !found[want] {
					t.Errorf("%s is not there", want)
				}
			}
		})
	}
}

func TestJSONOfWhatWritesHasTheContractsKeys(t *testing.T) {
	p := newPerson(t)
	csv := filepath.Join(t.TempDir(), "rounds.csv")
	if err := os.WriteFile(csv, []byte("time,volts\n2025-06-03 07:30,high\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		code exitCode
		args []string
		keys string
	}{
		{0, []string{"record", "volts=240", "pond_level_m=-0.1", "running=A"}, "id:string time:string judged[].quantity:string judged[].value:number judged[].state:string"},
		{1, []string{"import", csv}, "added:number already:number bad[].line:number bad[].column:string bad[].expected:string"},
	} {
		found := keysIn(t, p.run(c.code, append(c.args, "--json")...))
		for want := range strings.FieldsSeq(c.keys) {
			if !found[want] {
				t.Errorf("%v: %s is not there", c.args, want)
			}
		}
	}
}

// keysIn lists every path with its type in lines of one object each. It fails where a line is no object, a value is null, or a
// time is not on the plant's clock with its seconds.
func keysIn(t *testing.T, out string) map[string]bool {
	t.Helper()
	if !strings.HasSuffix(out, "}\n") {
		t.Errorf("the output ends with %q", out[max(0, len(out)-20):])
	}
	found := map[string]bool{}
	for line := range strings.Lines(out) {
		dec := json.NewDecoder(bytes.NewReader([]byte(line)))
		var object map[string]any
		if err := dec.Decode(&object); err != nil {
			t.Fatalf("%v in %s", err, line)
		}
		if dec.More() {
			t.Fatalf("more than an object stands in %s", line)
		}
		walk(t, "", object, found)
	}
	return found
}

func walk(t *testing.T, path string, v any, found map[string]bool) {
	t.Helper()
	switch v := v.(type) {
	case map[string]any:
		found[path+":object"] = true
		for k, x := range v {
			walk(t, strings.TrimPrefix(path+"."+k, "."), x, found)
		}
	case []any:
		found[path+":list"] = true
		for _, x := range v {
			walk(t, path+"[]", x, found)
		}
	case string:
		found[path+":string"] = true
		checkTime(t, path, v)
	case float64:
		found[path+":number"] = true
	case bool:
		found[path+":bool"] = true
	case nil:
		t.Errorf("%s is null: what is missing must be absent", path)
	default:
		t.Errorf("%s is a %T", path, v)
	}
}

var looksLikeTime = regexp.MustCompile(`^\d{4}-\d{2}-\d{2}T`)

// checkTime demands seconds and Halifax's offset. Changes keep times as the CSV has them, in whatever offset was typed.
func checkTime(t *testing.T, path, s string) {
	t.Helper()
	if !looksLikeTime.MatchString(s) || strings.HasPrefix(path, "changes[]") && !strings.HasSuffix(path, ".at") {
		return
	}
	at, err := time.Parse("2006-01-02T15:04:05Z07:00", s)
	if err != nil {
		t.Errorf("%s: %v", path, err)
		return
	}
	zone, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	if want := at.In(zone).Format(time.RFC3339); want != s {
		t.Errorf("%s is %s, on the plant's clock it is %s", path, s, want)
	}
}

func TestJSONNumbersAreNotRounded(t *testing.T) {
	p := newPerson(t)
	p.run(0, "record", "time=2025-06-04 07:30", "pressure_kpa=19 psi", "volts=240.123456789")
	p.wants(p.run(0, "rounds", "--json"), "131.00038857", "240.123456789")
	var e struct {
		NetHeadM float64 `json:"net_head_m"`
	}
	if err := json.Unmarshal([]byte(p.run(0, "expect", "--json", "pond_level_m=-0.1", "running=A")), &e); err != nil {
		t.Fatal(err)
	}
	if rounded := fmt.Sprintf("%.4f", e.NetHeadM); fmt.Sprint(e.NetHeadM) == strings.TrimRight(rounded, "0") {
		t.Errorf("net head is %v: rounded", e.NetHeadM)
	}
}
