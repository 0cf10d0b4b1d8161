package logbook

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// sameBody compares what is kept, taking an empty list or map for a missing one except where that has a meaning.
func sameBody(a, b *body) string {
	return cmp.Diff(a, b, cmp.AllowUnexported(body{}, stamp{}), cmpopts.IgnoreFields(body{}, "unknown"),
		cmp.FilterPath(func(p cmp.Path) bool { return !strings.Contains(p.GoString(), "Running") }, cmpopts.EquateEmpty()))
}

func TestChecksumIsCRC32CWithThePublishedValue(t *testing.T) {
	// RFC 3720, appendix B.4: 32 bytes of zeroes give aa 36 91 8a in the order of transmission; all ones give 43 ab a8 62.
	if got := checksum(id{}, make([]byte, 16)); got != 0x8a9136aa {
		t.Errorf("32 zeroes: %08x, want 8a9136aa", got)
	}
	ones := id(bytes.Repeat([]byte{0xff}, 16))
	if got := checksum(ones, ones[:]); got != 0x62a8ab43 {
		t.Errorf("32 ones: %08x, want 62a8ab43", got)
	}
}

func TestEntriesComeBackAsTheyWereSealed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		key, b := genID(t, "key"), genBody(t)
		value, err := seal(key, b)
		if err != nil {
			t.Fatal(err)
		}
		got, err := open(key, value)
		if err != nil {
			t.Fatal(err)
		}
		if d := sameBody(b, got); d != "" || len(got.unknown) > 0 {
			t.Fatalf("unknown %q, -sealed +opened:\n%s", got.unknown, d)
		}
		again, err := seal(key, got)
		if err != nil || !bytes.Equal(value, again) {
			t.Fatalf("sealed again: %x, want %x (%v)", again, value, err)
		}
	})
}

func TestExportedEntriesGiveTheSameBytesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		key, b := genID(t, "key"), genBody(t)
		key[0] &= 0x1f // a time that the 26 characters can hold
		value, err := seal(key, b)
		if err != nil {
			t.Fatal(err)
		}
		e := b.entry(key, value, time.UTC)
		e.Raw = nil
		// Through text, as a CSV carries times: to the second, with the offset.
		for _, at := range []*time.Time{&e.Time, &e.WrittenAt} {
			if *at, err = time.Parse(time.RFC3339, at.Format(time.RFC3339)); err != nil {
				t.Fatal(err)
			}
		}
		got, err := e.seal()
		if err != nil || !bytes.Equal(got.value, value) {
			t.Fatalf("%x, want %x (%v)", got.value, value, err)
		}
	})
}

func TestFormatDocumentDrawsTheBytesThatAreWritten(t *testing.T) {
	doc, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	_, block, ok := strings.Cut(string(doc), "```entry\n")
	block, _, closed := strings.Cut(block, "```")
	if !ok || !closed {
		t.Fatal("FORMAT.md has no block of kind entry")
	}
	var drawn []byte
	for _, line := range strings.Split(block, "\n") {
		digits := regexp.MustCompile(`^( *[0-9a-f]{2})+`).FindString(line)
		part, err := hex.DecodeString(strings.ReplaceAll(digits, " ", ""))
		if err != nil {
			t.Fatal(err)
		}
		drawn = append(drawn, part...)
	}
	key, value := documented(t)
	if !strings.Contains(string(doc), "`"+key.String()+"`") {
		t.Errorf("FORMAT.md does not name the id %s", key)
	}
	if !bytes.Equal(drawn, append(key[:], value...)) {
		t.Errorf("FORMAT.md draws\n%x\nbut written is\n%x%x", drawn, key, value)
	}
}

// documented is the entry that FORMAT.md draws.
func documented(t *testing.T) (id, []byte) {
	t.Helper()
	at := time.Date(2026, 2, 3, 7, 30, 0, 0, time.FixedZone("", -4*3600))
	b, err := roundBody(record.Round{Time: at, By: "Ro", Running: &[]string{"A"}, Values: map[quantity.Key]float64{"volts": 241.2, "hertz": 60},
		Words: map[quantity.Key]string{"screen": "partly"}})
	if err != nil {
		t.Fatal(err)
	}
	b.Written, err = stampOf(at.Add(90 * time.Second))
	if err != nil {
		t.Fatal(err)
	}
	b.Writer, b.Seq, b.Prev = []byte("alder...\x00\x00\x00\x00\x00\x00\x00\x07"), 1, make([]byte, hashLen)
	key := id{10: 0xAB}
	if err := key.SetTime(uint64(at.UnixMilli())); err != nil {
		t.Fatal(err)
	}
	value, err := seal(key, b)
	if err != nil {
		t.Fatal(err)
	}
	return key, value
}

// reseal wraps a CBOR map of a test's own making with a right checksum.
func reseal(key id, version byte, payload []byte) []byte {
	v := append([]byte{version}, payload...)
	return binary.BigEndian.AppendUint32(v, checksum(key, v))
}

func TestPartsOfANewerVersionAreListedAndTheRestIsRead(t *testing.T) {
	key, value := documented(t)
	var m map[int]any
	if err := lenient.Unmarshal(value[1:len(value)-crcLen], &m); err != nil {
		t.Fatal(err)
	}
	m[61] = "leaf count"
	for _, c := range []struct {
		version byte
		kind    int
		unknown []string
	}{
		{1, 1, []string{"key 61"}},
		{2, 9, []string{"key 61", "wrapping version 2", "unknown kind 9"}},
	} {
		m[1] = c.kind
		payload, err := encoder.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		b, err := open(key, reseal(key, c.version, payload))
		if err != nil {
			t.Fatalf("version %d: %v", c.version, err)
		}
		if d := cmp.Diff(c.unknown, b.unknown); d != "" || b.By != "Ro" || b.Values["volts"] != 241.2 {
			t.Errorf("version %d: by %q, volts %v, unknown:\n%s", c.version, b.By, b.Values["volts"], d)
		}
	}
}

func TestSpoiltValuesAreRefused(t *testing.T) {
	key, value := documented(t)
	for i := range value {
		for bit := range 8 {
			bad := bytes.Clone(value)
			bad[i] ^= 1 << bit
			if _, err := open(key, bad); !errors.Is(err, ErrDamaged) {
				t.Fatalf("bit %d of byte %d: %v", bit, i, err)
			}
		}
		if _, err := open(key, value[:i]); !errors.Is(err, ErrDamaged) {
			t.Fatalf("cut to %d bytes: %v", i, err)
		}
	}
	other := key
	other[15]++
	if _, err := open(other, value); !errors.Is(err, ErrDamaged) {
		t.Errorf("under another key: %v", err)
	}
	payload := value[1 : len(value)-crcLen]
	for name, p := range map[string][]byte{
		"trailing byte":   append(bytes.Clone(payload), 0),
		"key twice":       append([]byte{payload[0] + 1, 1, 1}, payload[1:]...),
		"not a map":       {0x01},
		"short writer":    bytes.Replace(payload, []byte{0x04, 0x50}, []byte{0x04, 0x4f}, 1),
		"endless map":     append([]byte{0xbf}, append(bytes.Clone(payload[1:]), 0xff)...),
		"huge array":      {0xa1, 0x0a, 0x9a, 0xff, 0xff, 0xff, 0xff},
		"float for kind":  bytes.Replace(payload, []byte{0x01, 0x01}, []byte{0x01, 0xf9}, 1),
		"nothing in it":   {0xa0},
		"negative number": {0xa1, 0x01, 0x20},
	} {
		if _, err := open(key, reseal(key, 1, p)); !errors.Is(err, ErrDamaged) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzOpenEntry(f *testing.F) {
	at := time.Date(2026, 2, 3, 7, 30, 0, 0, time.UTC)
	for _, b := range []func() (*body, error){
		func() (*body, error) { return roundBody(record.Round{Time: at, Note: "leaves"}) },
		func() (*body, error) {
			return eventBody(record.Event{Time: at, Kind: record.Trip, Units: []string{"A"}})
		},
		func() (*body, error) { return doneBody(record.Done{Time: at, Task: "grease"}) },
		func() (*body, error) { return plantBody(record.Revision{From: at, Text: "[site]"}) },
	} {
		kept, err := b()
		if err != nil {
			f.Fatal(err)
		}
		kept.Writer, kept.Prev = make([]byte, writerLen), make([]byte, hashLen)
		value, err := seal(id{}, kept)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(value[1 : len(value)-crcLen])
	}
	f.Add([]byte{0xa1, 0x18, 0x63, 0x01})
	f.Fuzz(func(t *testing.T, payload []byte) {
		// The right checksum is put on, since what lies behind it is to be tried.
		b, err := open(id{}, reseal(id{}, 1, payload))
		if err != nil {
			if !errors.Is(err, ErrDamaged) {
				t.Fatalf("%v is not ErrDamaged", err)
			}
			return
		}
		_ = b.entry(id{}, payload, time.UTC)
		value, err := seal(id{}, b)
		if err != nil {
			t.Fatal(err)
		}
		again, err := open(id{}, value)
		if err != nil {
			t.Fatalf("sealed again it does not open: %v", err)
		}
		if d := cmp.Diff(b, again, cmp.AllowUnexported(body{}, stamp{}), cmpopts.IgnoreFields(body{}, "unknown"), cmpopts.EquateEmpty(), cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("-opened +again:\n%s", d)
		}
		if _, err := open(id{}, payload); err == nil && len(payload) < minValueLen {
			t.Fatal("a value without room for its checksum was accepted")
		}
	})
}

func TestCoreDeterministicEncoding(t *testing.T) {
	// RFC 8949, section 4.2.1 and appendix A: shortest integers and floats, map keys in bytewise order of their encoding.
	for want, v := range map[string]any{
		"f93c00":             1.0,
		"fb3ff199999999999a": 1.1,
		"f97bff":             65504.0,
		"fa47c35000":         100000.0,
		"1903e8":             1000,
		"a201020304":         map[int]int{3: 4, 1: 2},
		"a26161016162820203": map[string]any{"b": []int{2, 3}, "a": 1},
	} {
		got, err := encoder.Marshal(v)
		if err != nil || hex.EncodeToString(got) != want {
			t.Errorf("%v: %x, want %s (%v)", v, got, want, err)
		}
	}
}
