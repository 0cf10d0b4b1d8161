package datapackage_test

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
)

// rescued is a book from which entries were lost, given by their places among its entries, saved into a new book.
func rescued(t interface {
	Helper()
	Context() context.Context
	Fatalf(string, ...any)
}, b *logbook.Book, dir string, lost ...int,
) *logbook.Book {
	t.Helper()
	ctx := t.Context()
	data, err := os.ReadFile(b.Path())
	if err != nil {
		t.Fatalf("%v", err)
	}
	i := 0
	err = b.Entries(ctx, func(e logbook.Entry) error {
		if slices.Contains(lost, i) {
			for at := bytes.Index(data, e.Raw); at >= 0; at = bytes.Index(data, e.Raw) { // all copies of it
				data[at+len(e.Raw)/2] ^= 4
			}
		}
		i++
		return nil
	})
	if err != nil {
		t.Fatalf("%v", err)
	}
	spoilt, saved := filepath.Join(dir, "spoilt.book"), filepath.Join(dir, "saved.book")
	_, _ = os.Remove(spoilt), os.Remove(saved)
	if err := os.WriteFile(spoilt, data, 0o600); err != nil {
		t.Fatalf("%v", err)
	}
	if _, err := logbook.Rescue(ctx, spoilt, saved, options(50)); err != nil {
		t.Fatalf("%v", err)
	}
	out, err := logbook.Open(saved, options(50))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return out
}

// The package of a rescued book opens, verifies, and says what is missing; so does a book that is made of it, whose package is the
// same to the byte. An older package brings the lost entries back.
func TestARescuedBooksPackageSaysWhatIsMissing(t *testing.T) {
	whole := demoBook(t)
	older := export(t, whole, datapackage.WriteOptions{})
	b := rescued(t, whole, t.TempDir(), 20, 21, 40)
	data := export(t, b, datapackage.WriteOptions{})
	p := open(t, data)
	if p.About.Lost != 3 || len(p.About.Gaps) != 2 || p.About.Chain != datapackage.Whole {
		t.Fatalf("it says %+v", p.About)
	}
	if err := p.Verify(t.Context(), nil); err != nil {
		t.Errorf("it does not verify: %v", err)
	}
	for name, content := range filesOf(t, data) {
		if (name == "README.txt" || name == "datapackage.json") && !strings.Contains(content, "3 entries were lost before this log was rescued from a damaged file.") {
			t.Errorf("%s does not say it", name)
		}
	}
	fresh := emptyBook(t, 3)
	into(t, fresh, data)
	known(t, fresh, 3)
	if !bytes.Equal(data, export(t, fresh, datapackage.WriteOptions{})) {
		t.Error("the package of the new book differs")
	}
	if added, _ := into(t, fresh, data); added != 0 {
		t.Errorf("again: %d added", added)
	}
	known(t, fresh, 3)
	if added, _ := into(t, fresh, older); added != 3 {
		t.Errorf("the older package brings back %d", added)
	}
	known(t, fresh, 0)
	if again := open(t, export(t, fresh, datapackage.WriteOptions{})); again.About.Lost != 0 || again.About.Gaps != nil {
		t.Errorf("once they are back it says %+v", again.About)
	}
	// Into a book that lost nothing: there the gaps are idle.
	into(t, whole, data)
	known(t, whole, 0)
	// Without its gaps the same package makes a book with a broken chain, which is what they are for.
	r := &remade{files: filesOf(t, data)}
	r.about(t, func(about map[string]any) { delete(about, "gaps"); delete(about, "known_lost") })
	broken := emptyBook(t, 4)
	into(t, broken, r.zip(t))
	if c, err := broken.Check(t.Context(), nil); err != nil || c.ChainOK {
		t.Errorf("a package without its gaps gives %+v, %v", c, err)
	}
}

// known demands that a book is sound but for so many entries that are known to be lost.
func known(t *testing.T, b *logbook.Book, lost int) {
	t.Helper()
	if r, err := b.Check(t.Context(), nil); err != nil || !r.Sound() || r.Lost != lost {
		t.Errorf("check: %+v, %v; want it sound but for %d lost entries", r, err, lost)
	}
	if _, n, err := b.Gaps(t.Context()); err != nil || n != lost {
		t.Errorf("%d entries are missing at its gaps, %v, want %d", n, err, lost)
	}
}

// about changes what the descriptor says of the package.
func (r *remade) about(t *testing.T, change func(map[string]any)) {
	t.Helper()
	var d map[string]any
	if err := json.Unmarshal([]byte(r.files["datapackage.json"]), &d); err != nil {
		t.Fatal(err)
	}
	change(d["headpond"].(map[string]any))
	data, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	r.files["datapackage.json"] = string(data)
}

// A part of a rescued log is a part like any other: where entries are missing, chains of their own begin.
func TestAPartOfARescuedLog(t *testing.T) {
	b := rescued(t, demoBook(t), t.TempDir(), 20, 21, 40)
	part := export(t, b, datapackage.WriteOptions{From: end.AddDate(0, 0, -200)})
	if p := open(t, part); p.About.Lost != 0 || p.About.Gaps != nil {
		t.Errorf("it says %+v", p.About)
	}
	fresh := emptyBook(t, 3)
	into(t, fresh, part)
	known(t, fresh, 0)
}

// What a stranger says of lost entries is believed only where the rows say it too.
func TestLostEntriesThatAreNotLostAreRefused(t *testing.T) {
	data := export(t, rescued(t, demoBook(t), t.TempDir(), 20, 40), datapackage.WriteOptions{})
	rows := strings.Split(filesOf(t, data)["events.csv"], "\r\n")
	cells := strings.Split(rows[1], ",")
	there := cells[len(cells)-2] // the hash of an entry that is there
	gap := func(about map[string]any, i int) map[string]any { return about["gaps"].([]any)[i].(map[string]any) }
	for says, change := range map[string]func(map[string]any){
		"number 1 is not named as an entry is":  func(a map[string]any) { gap(a, 0)["hash"] = "12" },
		"number 2 is not named as an entry is":  func(a map[string]any) { gap(a, 1)["writer"] = strings.Repeat("g", 32) },
		"number 1 is not named as an entry is ": func(a map[string]any) { gap(a, 0)["seq"] = 0 },
		"number 2 stands there twice":           func(a map[string]any) { a["gaps"].([]any)[1] = gap(a, 0) },
		"follows 1 of the entries":              func(a map[string]any) { gap(a, 0)["hash"] = strings.Repeat("5", 64) },
		"follows 1 of the entries ":             func(a map[string]any) { gap(a, 1)["seq"] = 7 },
		"which is there":                        func(a map[string]any) { gap(a, 0)["hash"] = there },
		"in a part of a log":                    func(a map[string]any) { a["chain"] = "partial" },
		"names 10001 lost entries":              func(a map[string]any) { a["gaps"], a["known_lost"] = slices.Repeat([]any{gap(a, 0)}, 10001), 20000 },
		"says that 1 are missing":               func(a map[string]any) { a["known_lost"] = 1 },
		"in 0 places and says that 2 are":       func(a map[string]any) { delete(a, "gaps") },
		"as a descriptor":                       func(a map[string]any) { a["gaps"] = "\x1b[31mnone" },
	} {
		r := &remade{files: filesOf(t, data)}
		r.about(t, change)
		changed := r.zip(t)
		p, err := datapackage.Read(t.Context(), bytes.NewReader(changed), int64(len(changed)))
		fresh := emptyBook(t, 3)
		before, rerr := os.ReadFile(fresh.Path())
		if err == nil {
			_, _, err = p.Into(t.Context(), fresh)
		}
		if err == nil || !strings.Contains(err.Error(), strings.TrimSpace(says)) || !strings.Contains(err.Error(), "nothing was changed") || strings.Contains(err.Error(), "\x1b") {
			t.Errorf("%s: got %v", says, err)
		}
		if after, err := os.ReadFile(fresh.Path()); err != nil || rerr != nil || !bytes.Equal(before, after) {
			t.Errorf("%s: the book was changed", says)
		}
	}
}

// Whatever a rescue loses, the package of what it saved makes a book that misses the same.
func TestWhateverIsLostIsKnownInThePackage(t *testing.T) {
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue { // each check writes to the disk some dozens of times
		if err := f.Value.Set("25"); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Value.Set(f.DefValue) }()
	}
	dir, plant, n := t.TempDir(), plantText(t), 0
	rapid.Check(t, func(t *rapid.T) {
		b := rapidBook(t, dir, &n)
		for _, log := range genLog(t, plant) {
			if _, _, err := b.PutEntries(t.Context(), log); err != nil {
				t.Fatal(err)
			}
		}
		count := len(rapidContents(t, b))
		lost := rapid.SliceOfN(rapid.IntRange(1, max(1, count-1)), 0, 5).Draw(t, "lost") // never the plant, which comes first
		saved := rescued(t, b, dir, lost...)
		var out bytes.Buffer
		if _, err := datapackage.Write(t.Context(), &out, saved, datapackage.WriteOptions{Created: end}); err != nil {
			t.Fatal(err)
		}
		fresh := rapidBook(t, dir, &n)
		rapidInto(t, fresh, out.Bytes())
		was, err := saved.Check(t.Context(), nil)
		if err != nil {
			t.Fatal(err)
		}
		is, err := fresh.Check(t.Context(), nil)
		if err != nil || !is.Sound() || !was.Sound() || is.Lost != was.Lost || is.Entries != was.Entries {
			t.Fatalf("saved %+v, of the package %+v, %v", was, is, err)
		}
		a, an, err := saved.Gaps(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		z, zn, err := fresh.Gaps(t.Context())
		if err != nil || an != zn || fmt.Sprint(a) != fmt.Sprint(z) {
			t.Fatalf("gaps %v (%d) and %v (%d), %v", a, an, z, zn, err)
		}
	})
}
