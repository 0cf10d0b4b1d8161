package tui

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"example.org/headpond/tui/firstuse"
	"example.org/headpond/tui/ui/uitest"
)

func TestFirstUseReturnsWhatWasChosen(t *testing.T) {
	for keys, want := range map[string]firstuse.Choice{"3": firstuse.Demo, "q": firstuse.Leave, "\x03": firstuse.Leave} {
		var out bytes.Buffer
		o := firstuse.Options{Common: uitest.Common(uitest.Look{}, 80, 24, time.Date(2026, 8, 14, 8, 0, 0, 0, time.UTC)), Book: "headpond.book",
			ReadFile: func(string) ([]byte, error) { return nil, errors.New("not asked for") },
			WriteNew: func(string, []byte) error { return errors.New("not asked for") }}
		got, err := FirstUse(context.Background(), o, strings.NewReader(keys), &out, nil)
		if err != nil || got.Choice != want {
			t.Errorf("%q chooses %v (%v), want %v", keys, got.Choice, err, want)
		}
	}
}
