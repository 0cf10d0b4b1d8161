package text_test

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

func TestJSONIsHarmlessAndSaysTheSame(t *testing.T) {
	for in, want := range map[string]string{
		"plain é 漢 👩\u200d👧":      "\"plain é 漢 👩\u200d👧\"",
		"\x7f\u009b31m":           `"\u007f\u009b31m"`,
		"\u202elevel\U000e0041":   `"\u202elevel\udb40\udc41"`,
		"\x1b[2J\n":               `"\u001b[2J\n"`,
		"\ufffd":                  "\"\ufffd\"",
		"\\u202e written by hand": `"\\u202e written by hand"`,
	} {
		encoded, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		if got := string(text.JSON(encoded)); got != want {
			t.Errorf("%q: %s, want %s", in, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		in := map[string]string{rapid.String().Draw(t, "key"): rapid.String().Draw(t, "value")}
		encoded, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		got := text.JSON(encoded)
		if err := uitest.Harmless(string(got), false); err != nil {
			t.Fatal(err)
		}
		var back, plain map[string]string
		if err := json.Unmarshal(got, &back); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(encoded, &plain); err != nil {
			t.Fatal(err)
		}
		for k, v := range plain {
			if back[k] != v {
				t.Fatalf("%q became %q", v, back[k])
			}
		}
	})
}
