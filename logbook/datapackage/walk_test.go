package datapackage_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/model/record"
)

// aStop is a checklist that was walked and broken off.
func aStop() record.Done {
	at := end.Add(-30 * time.Minute)
	return record.Done{Time: at, Task: "Stopping", By: "Ro", Note: "belt tomorrow", Walk: &record.Walk{For: "stop", Units: []string{"A"}, Begun: at.Add(-10 * time.Minute),
		Ticks: []record.Tick{
			{Step: `Tell the house: "power, off"`, State: record.TickDone, At: at.Add(-9 * time.Minute)},
			{Step: "Look at the belt", State: record.TickNotOK, Note: "frayed; \x1b[31m", At: at.Add(-8 * time.Minute)},
			{Step: "Lock the valve"},
		}}}
}

func upkeepTable(t *testing.T, data []byte) string { return filesOf(t, data)["upkeep.csv"] }

func TestChecklistsComeBackWhole(t *testing.T) {
	b := smallBook(t)
	saved, err := b.AddDone(t.Context(), aStop(), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Amend(t.Context(), saved.Entry.ID, map[string]string{"step.3": "done: padlock 3"}, "forgotten", "Ro", ""); err != nil {
		t.Fatal(err)
	}
	data := export(t, b, datapackage.WriteOptions{})
	fresh := emptyBook(t, 2)
	p, err := datapackage.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := p.Into(t.Context(), fresh); err != nil {
		t.Fatal(err)
	}
	read := func(b *logbook.Book) []record.Done {
		h, err := b.History(t.Context(), logbook.HistoryOptions{All: true, At: end})
		if err != nil {
			t.Fatal(err)
		}
		return h.Done
	}
	if diff := cmp.Diff(read(b), read(fresh)); diff != "" {
		t.Error(diff)
	}
	if !bytes.Equal(data, export(t, fresh, datapackage.WriteOptions{})) {
		t.Error("the package of the new book differs")
	}
}

// The column is there only where a checklist is, so that packages without one are as they always were, and old ones open.
func TestTheColumnStandsOnlyWhereItIsNeeded(t *testing.T) {
	b := smallBook(t)
	head := func() string {
		line, _, _ := strings.Cut(upkeepTable(t, export(t, b, datapackage.WriteOptions{})), "\r\n")
		return line
	}
	const plain = "id,time,task,by,note,written_at,writer,seq,prev,hash,raw"
	if got := head(); got != plain {
		t.Errorf("without checklists: %s", got)
	}
	if _, err := b.AddDone(t.Context(), aStop(), ""); err != nil {
		t.Fatal(err)
	}
	if got, want := head(), "id,time,task,by,note,checklist,written_at,writer,seq,prev,hash,raw"; got != want {
		t.Errorf("with one: %s", got)
	}
	var d struct {
		Resources []struct {
			Name   string
			Schema *struct {
				Fields []struct{ Name, Type, Description string }
			}
		}
	}
	if err := json.Unmarshal([]byte(filesOf(t, export(t, b, datapackage.WriteOptions{}))["datapackage.json"]), &d); err != nil {
		t.Fatal(err)
	}
	for _, r := range d.Resources {
		if r.Name != "upkeep" {
			continue
		}
		if f := r.Schema.Fields[5]; f.Name != "checklist" || f.Type != "object" || f.Description == "" {
			t.Errorf("%+v", f)
		}
	}
}

// The cell can be read by a person and by any program that knows JSON.
func TestTheCellIsJSON(t *testing.T) {
	b := smallBook(t)
	d := aStop()
	d.Walk.Ticks[1].Note = "frayed"
	if _, err := b.AddDone(t.Context(), d, ""); err != nil {
		t.Fatal(err)
	}
	table := upkeepTable(t, export(t, b, datapackage.WriteOptions{}))
	for _, want := range []string{
		`""for"":""stop"",""units"":[""A""],""begun"":""`, `{""step"":""Tell the house: \""power, off\"""",""state"":""done"",""at"":""`,
		`""state"":""not-ok"",""note"":""frayed""`, `{""step"":""Lock the valve""}`,
	} {
		if !strings.Contains(table, want) {
			t.Errorf("%s is not in\n%s", want, table)
		}
	}
}

// A stranger's cell is refused where it is not what its hash says, whatever is wrong with it.
func TestAlteredChecklistsAreRefused(t *testing.T) {
	b := smallBook(t)
	d := aStop()
	d.Walk.Ticks[1].Note = "frayed"
	if _, err := b.AddDone(t.Context(), d, ""); err != nil {
		t.Fatal(err)
	}
	data := export(t, b, datapackage.WriteOptions{})
	for name, c := range map[string][2]string{
		"another note":        {"frayed", "sound"},
		"another state":       {`""state"":""not-ok""`, `""state"":""done""`},
		"a step taken out":    {`,{""step"":""Lock the valve""}`, ``},
		"no JSON":             {`""for"":`, `for:`},
		"an unknown key":      {`""for"":`, `""from"":`},
		"text after it":       {`{""step"":""Lock the valve""}]}`, `{""step"":""Lock the valve""}]} []`},
		"no time of begin":    {`""begun"":""2`, `""begun"":""x2`},
		"no time of a step":   {`""at"":""2`, `""at"":""x2`},
		"an escape character": {"frayed", `fr\u001bayed`},
		"emptied":             {"Lock the valve", ""},
	} {
		r := &remade{files: filesOf(t, data)}
		if !strings.Contains(r.files["upkeep.csv"], c[0]) {
			t.Fatalf("%s: %q is not in\n%s", name, c[0], r.files["upkeep.csv"])
		}
		r.files["upkeep.csv"] = strings.Replace(r.files["upkeep.csv"], c[0], c[1], 1)
		altered := r.zip(t)
		fresh := emptyBook(t, 3)
		p, err := datapackage.Read(t.Context(), bytes.NewReader(altered), int64(len(altered)))
		if err == nil {
			_, _, err = p.Into(t.Context(), fresh)
		}
		if err == nil || !strings.Contains(err.Error(), "upkeep.csv") {
			t.Errorf("%s: %v", name, err)
		}
		if n, _ := fresh.Mark(t.Context()); n != 0 {
			t.Errorf("%s: %d entries went in", name, n)
		}
	}
}
