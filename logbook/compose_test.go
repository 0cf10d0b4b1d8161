package logbook_test

import (
	"errors"
	"path/filepath"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// composed is a chain of two events, made outside of any book.
func composed(t *testing.T) []logbook.Entry {
	t.Helper()
	at := time.Date(2026, 3, 8, 6, 30, 0, 0, time.UTC)
	list := []logbook.Entry{
		{ID: "01KK69QQW00000000000000001", Time: at, WrittenAt: at.Add(time.Minute), Event: &record.Event{Time: at, Kind: record.Stop, By: "Ro"}},
		{ID: "01KK69QQW00000000000000002", Time: at, WrittenAt: at.Add(time.Hour), Event: &record.Event{Time: at, Kind: record.NoteEvent, Note: "ice", By: "Imke"}},
	}
	if err := logbook.Chain([16]byte{7}, list); err != nil {
		t.Fatal(err)
	}
	return list
}

func TestAComposedChainIsWhole(t *testing.T) {
	list := composed(t)
	if list[0].Seq != 1 || list[1].Seq != 2 || list[0].Prev != [32]byte{} || list[1].Prev != list[0].Hash || list[0].Hash == [32]byte{} {
		t.Errorf("the chain is %+v", list)
	}
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "b"), logbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if added, already, err := b.PutEntries(t.Context(), list); err != nil || added != 2 || already != 0 {
		t.Fatalf("added %d, already %d, %v", added, already, err)
	}
	report, err := b.Check(t.Context(), nil)
	if err != nil || !report.ChainOK || len(report.Damaged) > 0 {
		t.Errorf("%+v, %v", report, err)
	}
	e, err := b.Entry(t.Context(), list[1].ID)
	if err != nil {
		t.Fatal(err)
	}
	if e.Hash != list[1].Hash || !e.WrittenAt.Equal(list[1].WrittenAt) || e.Kind != logbook.KindEvent {
		t.Errorf("read back %+v", e)
	}
}

// Half a chain shows: its second entry alone names one that is not there.
func TestPartOfAComposedChainIsNoticed(t *testing.T) {
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "b"), logbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.PutEntries(t.Context(), composed(t)[1:]); err != nil {
		t.Fatal(err)
	}
	if report, err := b.Check(t.Context(), nil); err != nil || report.ChainOK {
		t.Errorf("%+v, %v", report, err)
	}
}

func TestChainRefusesWhatCannotBeKept(t *testing.T) {
	at := time.Date(2026, 3, 8, 6, 30, 0, 0, time.UTC)
	for name, e := range map[string]logbook.Entry{
		"no id":   {Time: at, WrittenAt: at, Event: &record.Event{Time: at, Kind: record.Stop}},
		"no kind": {ID: "01KK69QQW00000000000000001", Time: at, WrittenAt: at, Event: &record.Event{Time: at}},
		"nothing": {ID: "01KK69QQW00000000000000001", Time: at, WrittenAt: at},
	} {
		var known *logbook.Error
		if err := logbook.Chain([16]byte{7}, []logbook.Entry{e}); !errors.As(err, &known) {
			t.Errorf("%s: got %v", name, err)
		}
	}
}
