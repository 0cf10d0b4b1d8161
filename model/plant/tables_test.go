package plant

import (
	"bytes"
	"strings"
	"testing"
)

// The starting file, the messages and the decoder share the key tables; what is in the tables is therefore in the file.
func TestEveryKeyOfTheTablesIsInTheStartingFile(t *testing.T) {
	tables := strings.Split(string(Template()), "\n\n")
	for _, s := range sections() {
		found := ""
		for _, text := range tables {
			if strings.Contains(text, "\n"+s.heading()+"\n") || strings.Contains(text, "\n#"+s.heading()+"\n") {
				found = text
			}
		}
		if found == "" {
			t.Errorf("%s is not in it", s.heading())
		}
		for _, k := range s.specs {
			if !strings.Contains(found, "\n"+k.key+" = ") && !strings.Contains(found, "\n#"+k.key+" = ") {
				t.Errorf("%s of %s is not in it", k.key, s.heading())
			}
		}
	}
}

func TestTheTablesAreWhole(t *testing.T) {
	for _, s := range sections() {
		seen := map[string]bool{}
		if s.intro == "" || len(s.specs) == 0 {
			t.Errorf("%s has no introduction or no keys", s.name)
		}
		for _, k := range s.specs {
			name := s.name + "." + k.key
			if seen[k.key] {
				t.Errorf("%s stands twice", name)
			}
			seen[k.key] = true
			if k.what == "" || k.find == "" || k.example == "" {
				t.Errorf("%s lacks what it is, where to find it or an example", name)
			}
			if k.required == (k.standard != "") {
				t.Errorf("%s: required %v, but without it %q holds", name, k.required, k.standard)
			}
			if k.required && k.off {
				t.Errorf("%s is required, yet off", name)
			}
			if k.form == formNumber && !(k.span.lo < k.span.hi) {
				t.Errorf("%s has no range", name)
			}
			if k.form == formWord && len(k.words) < 2 {
				t.Errorf("%s has no words", name)
			}
			if (k.form == formRows2 && len(k.columns) != 2) || (k.form == formRows3 && len(k.columns) != 3) {
				t.Errorf("%s: %d columns", name, len(k.columns))
			}
		}
	}
}

// The end points of a range are judged as its text says.
func TestSpans(t *testing.T) {
	for _, c := range []struct {
		span span
		text string
		in   []float64
		out  []float64
	}{
		{share(), "above 0 and at most 1", []float64{1e-9, 1}, []float64{0, 1.0000001, -1}},
		{from0(5), "from 0 to 5", []float64{0, 5}, []float64{-1e-12, 5.1}},
		{above0(40000), "above 0 and at most 40000", []float64{240, 40000}, []float64{0, 40001}},
	} {
		if c.span.String() != c.text {
			t.Errorf("%v reads %q, want %q", c.span, c.span.String(), c.text)
		}
		for _, v := range c.in {
			if !c.span.holds(v) {
				t.Errorf("%s does not hold %v", c.text, v)
			}
		}
		for _, v := range c.out {
			if c.span.holds(v) {
				t.Errorf("%s holds %v", c.text, v)
			}
		}
	}
}

func TestPositionsInAText(t *testing.T) {
	s := newSource([]byte("\ufeffab\r\né=1\n\nx"))
	for _, c := range []struct{ off, line, column int }{
		{0, 1, 1}, {1, 1, 2}, {2, 1, 3}, {4, 2, 1}, {6, 2, 2}, {9, 3, 1}, {10, 4, 1}, {11, 4, 2}, {99, 4, 2}, {-1, 1, 1},
	} {
		if line, column := s.position(c.off); line != c.line || column != c.column {
			t.Errorf("offset %d is at %d:%d, want %d:%d", c.off, line, column, c.line, c.column)
		}
	}
	for i, want := range []string{"ab", "é=1", "", "x", ""} {
		if got := s.line(i); got != want {
			t.Errorf("line %d is %q, want %q", i, got, want)
		}
	}
	if !bytes.HasPrefix(s.data, []byte("ab")) {
		t.Error("the byte-order mark is still there")
	}
}

func TestNumbersInMessages(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -1.6: "-1.6", 1e10: "10000000000", 0.00001: "0.00001", 1e-9: "1e-09", 1e20: "1e+20", 13.1: "13.1"} {
		if got := number(v); got != want {
			t.Errorf("%v reads %q, want %q", v, got, want)
		}
	}
}

func TestLongTextIsCutInMessages(t *testing.T) {
	got := quote(strings.Repeat("é", 100))
	if want := `"` + strings.Repeat("é", 39) + `…"`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
