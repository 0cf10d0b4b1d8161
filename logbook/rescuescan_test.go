package logbook

import (
	"bytes"
	"context"
	"errors"
	"io"
	"runtime"
	"testing"

	"github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"
)

// sealedEntry is a key and the value behind it, as they stand in a page.
func sealedEntry(t testing.TB, b *body, key id) []byte {
	t.Helper()
	value, err := seal(key, b)
	if err != nil {
		t.Fatal(err)
	}
	return append(key[:], value...)
}

// all collects what a scan finds.
func all(t testing.TB, src io.ReaderAt, size int64) (list [][]byte, notes scanned) {
	t.Helper()
	notes, err := scanEntries(context.Background(), src, size, func(key id, value []byte) error {
		list = append(list, append(bytes.Clone(key[:]), value...))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list, notes
}

// Entries of any content, among any bytes, are found, each exactly once and in the order of their places.
func TestScanFindsEveryEntryAmongNoise(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var file []byte
		var want [][]byte
		for range rapid.IntRange(1, 5).Draw(rt, "entries") {
			file = append(file, rapid.SliceOfN(rapid.SampledFrom([]byte{0, 1, 0xa1, 0xaa, 0xff, 0x58, 0x1b}), 0, 60).Draw(rt, "noise")...)
			key := genID(rt, "key")
			e := sealedEntry(t, genBody(rt), key)
			if rapid.Bool().Draw(rt, "another version") { // which stands behind its hash
				hash := hashOf(key, e[idLen:])
				file = append(append(append(file, key[:]...), hash[:]...), e[idLen:]...)
			} else {
				file = append(file, e...)
			}
			want = append(want, e)
		}
		got, notes := all(t, bytes.NewReader(file), int64(len(file)))
		if notes.String() != "" {
			rt.Errorf("noticed: %s", notes)
		}
		if len(got) != len(want) {
			rt.Fatalf("%d found of %d", len(got), len(want))
		}
		for i := range got {
			if !bytes.Equal(got[i], want[i]) {
				rt.Errorf("entry %d: got %x, want %x", i, got[i], want[i])
			}
		}
	})
}

// An entry that lies across the places where the window moves on is found as any other, also the longest.
func TestScanFindsEntriesAcrossTheWindow(t *testing.T) {
	rev := &body{Kind: KindPlant, Writer: make([]byte, writerLen), Prev: make([]byte, hashLen), Seq: 1, PlantText: bytes.Repeat([]byte("x"), scanStep+100)}
	long := sealedEntry(t, rev, id{1})
	rev.PlantText = []byte("short")
	short := sealedEntry(t, rev, id{2})
	for _, at := range []int{0, 1, scanStep - len(short), scanStep - idLen, scanStep - 1, scanStep, scanStep + 1, 2*scanStep - 40} {
		for name, e := range map[string][]byte{"short": short, "long": long} {
			file := append(append(make([]byte, at), e...), make([]byte, 100)...)
			if got, _ := all(t, bytes.NewReader(file), int64(len(file))); len(got) != 1 || !bytes.Equal(got[0], e) {
				t.Errorf("the %s entry at %d: %d found", name, at, len(got))
			}
		}
	}
}

// sparse is a file of any size that holds zeroes, and bytes that cannot be read.
type sparse struct {
	size    int64
	bad     func(at int64) bool
	content map[int64][]byte
}

var errSector = errors.New("input/output error")

func (s sparse) ReadAt(p []byte, at int64) (int, error) {
	clear(p)
	for where, data := range s.content {
		if where < at+int64(len(p)) && at < where+int64(len(data)) {
			copy(p[max(0, where-at):], data[max(0, at-where):])
		}
	}
	if s.bad != nil {
		for i := int64(0); i < int64(len(p)); i += 512 {
			if s.bad(at + i) {
				return int(i), errSector
			}
		}
	}
	if at+int64(len(p)) > s.size {
		return int(s.size - at), io.EOF
	}
	return len(p), nil
}

func TestScanTakesBoundedMemoryOfAFileOfAnySize(t *testing.T) {
	e := sealedEntry(t, &body{Kind: KindRound, Writer: make([]byte, writerLen), Prev: make([]byte, hashLen), Seq: 1}, id{7})
	const size = 256 << 20
	src := sparse{size: size, content: map[int64][]byte{size - 1000: e, 100: e}}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	got, _ := all(t, src, size)
	runtime.ReadMemStats(&after)
	if len(got) != 2 {
		t.Errorf("%d found", len(got))
	}
	const window = scanStep + scanTail
	if took := after.TotalAlloc - before.TotalAlloc; took > 3*window {
		t.Errorf("took %d MiB for a file of %d MiB", took>>20, size>>20)
	}
}

// A medium that fails in some places gives what it can of the others.
func TestScanGoesAroundWhatCannotBeRead(t *testing.T) {
	e := sealedEntry(t, &body{Kind: KindRound, Writer: make([]byte, writerLen), Prev: make([]byte, hashLen), Seq: 1}, id{7})
	src := sparse{size: 1 << 20, content: map[int64][]byte{8192: e, 40000: e, 900000: e},
		bad: func(at int64) bool { return at >= 20480 && at < 24576 || at >= 500000 && at < 501000 }}
	got, notes := all(t, src, src.size)
	if len(got) != 3 || notes.unreadable < 4096 || notes.unreadable > 4*scanPiece || notes.String() == "" {
		t.Errorf("%d found, %+v", len(got), notes)
	}
}

// Files that were made to look like entries everywhere end the scan early or cheaply; none takes for ever.
func TestScanEndsOnFilesMadeToHoldItUp(t *testing.T) {
	const size = 1 << 20
	for name, c := range map[string]struct {
		pattern []byte
		tooMuch bool
	}{
		"maps within maps":      {[]byte{1, 0xa1}, false},
		"maps of many items":    {[]byte{1, 0xbb, 0, 0, 0, 0, 0, 1, 0, 0}, false},
		"lists of every length": {[]byte{1, 0xa1, 1, 0x99, 0xff, 0xff}, false},
		"long texts":            {[]byte{1, 0xa1, 1, 0x7a, 0, 8, 0, 0}, true},
		"lengths beyond all":    {[]byte{1, 0xbb, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}, false},
		"indefinite":            {[]byte{1, 0xbf, 1}, false},
	} {
		file := bytes.Repeat(c.pattern, size/len(c.pattern))
		s := &scanner{src: bytes.NewReader(file), size: int64(len(file)), left: scanEffort * int64(len(file)), ctx: t.Context(),
			found: func(id, []byte) error { t.Errorf("%s: an entry was found", name); return nil }}
		s.read(0)
		if err := s.pass(0); err != nil {
			t.Fatal(err)
		}
		if spent := scanEffort*int64(len(file)) - s.left; spent > (scanEffort+1)*int64(len(file))+maxValueLen || s.notes.tooMuch != c.tooMuch {
			t.Errorf("%s: %d looked at for a byte, ended early: %v", name, spent/int64(len(file)), s.notes.tooMuch)
		}
	}
}

func TestScanCanBeGivenUpAndPassesErrorsOn(t *testing.T) {
	e := sealedEntry(t, &body{Kind: KindRound, Writer: make([]byte, writerLen), Prev: make([]byte, hashLen), Seq: 1}, id{7})
	if _, err := scanEntries(t.Context(), bytes.NewReader(e), int64(len(e)), func(id, []byte) error { return errSector }); !errors.Is(err, errSector) {
		t.Errorf("got %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := scanEntries(ctx, bytes.NewReader(e), int64(len(e)), func(id, []byte) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// FuzzCBORLen holds the measuring of data items against the cbor library's own reader.
func FuzzCBORLen(f *testing.F) {
	for _, s := range []string{"\xa1\x01\x01", "\xa1\x01\x82\x1b\x00\x00\x01\x9c\x23\x44\x3a\xc0\x39\x38\x3f", "\x7f", "\xbf\xff", "\xc1\x1a\x00\x00\x00\x00", "\xf9\x53\x80", "\xf8\x18",
		"\x9b\xff\xff\xff\xff\xff\xff\xff\xff", "\x58\x05hello", "\x58\x06hello", "\xf8\x01", "\x5b\xff\xff\xff\xff\xff\xff\xff\xff"} {
		f.Add([]byte(s))
	}
	reference, err := cbor.DecOptions{IndefLength: cbor.IndefLengthForbidden, UTF8: cbor.UTF8DecodeInvalid, MaxNestedLevels: 16}.DecMode()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		n, items := cborLen(data, 1<<20)
		if n < 0 || n > len(data) || items > len(data)+1 {
			t.Fatalf("%d bytes, %d items of %d bytes", n, items, len(data))
		}
		var raw cbor.RawMessage
		rest, err := reference.UnmarshalFirst(data, &raw)
		if err != nil {
			return // the library refuses more, such as simple values in two forms; the checksum decides then
		}
		if want := len(data) - len(rest); n != want {
			t.Errorf("%x: %d bytes, the library takes %d", data, n, want)
		}
	})
}
