package logbook

import (
	"encoding/hex"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
)

// likeTheLibrary reads a payload both ways and reports whether the quick one took it; where it did, both must be the same to the
// last bit, a missing list or map told from an empty one.
func likeTheLibrary(t interface {
	Helper()
	Fatalf(string, ...any)
}, payload []byte) bool {
	t.Helper()
	quick, want := new(body), new(body)
	if !quick.quick(payload) {
		return false
	}
	if err := strict.Unmarshal(payload, want); err != nil {
		t.Fatalf("quick took what the library refuses: %v\n%x", err, payload)
	}
	if d := cmp.Diff(want, quick, cmp.AllowUnexported(body{}, stamp{}), cmpopts.EquateNaNs()); d != "" {
		t.Fatalf("-library +quick:\n%s\n%x", d, payload)
	}
	for k, v := range want.Values {
		if math.Float64bits(v) != math.Float64bits(quick.Values[k]) {
			t.Fatalf("%s is %x by the library, %x quickly", k, math.Float64bits(v), math.Float64bits(quick.Values[k]))
		}
	}
	return true
}

// Every round that is sealed is read quickly, and as the library reads it; other kinds are left to the library.
func TestRoundsAreReadQuicklyAndLikeTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := genBody(t)
		if len(b.Values) > 0 {
			b.Values["volts"] = rapid.OneOf(rapid.Float64Range(-1e300, 1e300), rapid.Just(math.Inf(1)), rapid.Just(6e-8), rapid.Just(-65504.)).Draw(t, "volts")
		}
		payload, err := encoder.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		if took := likeTheLibrary(t, payload); took != (b.Kind == KindRound) {
			t.Fatalf("an entry of kind %s was taken: %v", b.Kind, took)
		}
		at := rapid.IntRange(0, len(payload)-1).Draw(t, "at")
		payload[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		likeTheLibrary(t, payload)
		likeTheLibrary(t, payload[:at])
		likeTheLibrary(t, append(payload, 0))
	})
}

// The examples of RFC 8949, appendix A, for numbers of 16 bits.
func TestHalfPrecision(t *testing.T) {
	for bits, want := range map[uint16]float64{0x0000: 0, 0x3c00: 1, 0x3e00: 1.5, 0x7bff: 65504, 0x0001: 5.960464477539063e-8,
		0x0400: 0.00006103515625, 0xc400: -4, 0x7c00: math.Inf(1), 0xfc00: math.Inf(-1)} {
		if got := half(bits); got != want {
			t.Errorf("%04x is %g, want %g", bits, got, want)
		}
	}
	if !math.IsNaN(half(0x7e00)) || !math.Signbit(half(0x8000)) {
		t.Error("7e00 is not a number, and 8000 is minus zero")
	}
}

// What the encoder never writes is the library's to judge.
func TestQuickLeavesTheUnusualToTheLibrary(t *testing.T) {
	for name, payload := range map[string]string{
		"nothing": "", "no map": "01", "no kind": "a10500", "kind 2": "a10102", "kind 257": "a101190101", "a key twice": "a201010101",
		"keys out of order": "a205000101", "an unknown key": "a20101186300", "a list without end": "a201010a9f6141ff", "a whole number for a reading": "a201010ba165766f6c747301",
		"not a number": "a201010ba165766f6c7473f97e00", "a reading twice": "a201010ba265766f6c7473f93c0065766f6c7473f94000", "no running at all": "a201010af6",
		"text cut short": "a20101076561", "more pairs than bytes": "bb00000000ffffffff0101", "an offset beyond 32 bits": "a2010102820 01b0000000100000000", "one byte too many": "a1010100",
		"reserved length": "a201011c", "neither yes nor no": "a201010f01",
	} {
		raw, err := hex.DecodeString(removeSpaces(payload))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if new(body).quick(raw) {
			t.Errorf("%s is taken", name)
		}
	}
}

func removeSpaces(s string) string {
	out := make([]byte, 0, len(s))
	for i := range len(s) {
		if s[i] != ' ' {
			out = append(out, s[i])
		}
	}
	return string(out)
}

func FuzzQuick(f *testing.F) {
	for _, b := range []*body{
		{Kind: KindRound, Writer: make([]byte, writerLen), Prev: make([]byte, hashLen), Running: &[]string{"A", "B"}, Values: map[quantity.Key]float64{"volts": 240, "pond_level_m": -0.31}, Confirmed: true},
		{Kind: KindRound, Time: stamp{MS: -1, OffsetS: -12600}, Words: map[quantity.Key]string{"screen": "clear"}, Typed: map[quantity.Key]string{"volts": "240 V"}, Extra: map[string]string{"a": "b"}, By: "Ro", Note: "é\xff"},
	} {
		payload, err := encoder.Marshal(b)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(payload)
	}
	f.Fuzz(func(t *testing.T, payload []byte) { likeTheLibrary(t, payload) })
}

func BenchmarkOpenRound(b *testing.B) {
	payload, err := encoder.Marshal(&body{Kind: KindRound, Time: stamp{MS: 1_770_000_000_000}, Written: stamp{MS: 1_770_000_000_000}, Writer: make([]byte, writerLen), Seq: 900, Prev: make([]byte, hashLen),
		By: "Ro", Running: &[]string{"A"}, Words: map[quantity.Key]string{"screen": "clear"},
		Values: map[quantity.Key]float64{"pond_level_m": -0.31, "pressure_kpa": 131, "volts": 240, "hertz": 60.1, "load_kw": 3.1, "dump_share_pct": 47, "bearing_c": 44, "water_c": 9}})
	if err != nil {
		b.Fatal(err)
	}
	b.Run("quick", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if !new(body).quick(payload) {
				b.Fatal("not taken")
			}
		}
	})
	b.Run("library", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if err := strict.Unmarshal(payload, new(body)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
