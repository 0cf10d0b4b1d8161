package csvfile

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func write(t testing.TB, rounds []record.Round, o WriteOptions) string {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, rounds, ternHollow(t), o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestWrite(t *testing.T) {
	one := someRound()
	one.ID, one.WrittenAt = ownID, one.Time.Add(time.Hour)
	two := record.Round{ID: otherID, Time: one.Time, By: "@Imke", Note: "=1+1", Confirmed: true,
		Values: map[quantity.Key]float64{"volts": 2411, "pressure_kpa": 131.00038857, "C.volts": -1}, Typed: map[quantity.Key]string{"pressure_kpa": "19 psi"},
		Extra: map[string]string{"weather": "-3", "B.volts": "-", "~": "tilde", "=cmd": "-2+3"}}
	got := write(t, []record.Round{one, two}, WriteOptions{More: []MoreColumn{{"mark", func(r record.Round) string { return "m" + r.ID[:2] }}}})
	if strings.Contains(strings.ReplaceAll(got, "\r\n", ""), "\n") {
		t.Error("RFC 4180 ends its lines with CRLF")
	}
	golden.RequireEqual(t, []byte(strings.ReplaceAll(got, "\r\n", "\n")))

	res := read(t, got, Options{Units: []string{"C"}, Aside: []string{"mark"}})
	if diff := cmp.Diff([]record.Round{one, two}, res.Rounds, sameRounds()); diff != "" || !res.Good() {
		t.Errorf("reads back as (-written +read), bad %v:\n%s", res.Problems(), diff)
	}
	if diff := cmp.Diff([]map[string]string{{"mark": "m01"}, {"mark": "m01"}}, res.Aside); diff != "" {
		t.Errorf("aside (-want +got):\n%s", diff)
	}
}

func TestWriteAllColumns(t *testing.T) {
	got := write(t, nil, WriteOptions{All: true})
	header, rest, _ := strings.Cut(got, "\r\n")
	cols := strings.Split(header, ",")
	if rest != "" || cols[0] != "id" || cols[1] != "written_at" || cols[2] != "time" {
		t.Errorf("written is %q", got)
	}
	have := map[string]bool{}
	for _, c := range cols {
		have[c] = true
	}
	for _, c := range append(record.Columns([]string{"A", "B"}), "confirmed", "typed") {
		if !have[c] {
			t.Errorf("there is no column %s", c)
		}
	}
	if few := write(t, nil, WriteOptions{}); few != "id,written_at,time\r\n" {
		t.Errorf("nothing is written as %q", few)
	}
}

func TestWriteRefusesWhatCannotBeReadBack(t *testing.T) {
	at := time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)
	for _, r := range []record.Round{
		{Time: at, Values: volts(math.NaN())}, {Time: at, Values: volts(math.Inf(1))}, {}, {Time: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)},
	} {
		var out bytes.Buffer
		if err := Write(&out, []record.Round{{Time: at}, r}, ternHollow(t), WriteOptions{}); err == nil || !strings.Contains(err.Error(), "number 2") {
			t.Errorf("%+v: %v", r, err)
		}
	}
	if err := Write(fullDisk{}, []record.Round{{Time: at}}, ternHollow(t), WriteOptions{}); !errors.Is(err, errDisk) {
		t.Errorf("on a full disk: %v", err)
	}
	big := make([]record.Round, 5000)
	for i := range big {
		big[i].Time = at
	}
	if err := Write(fullDisk{}, big, ternHollow(t), WriteOptions{}); !errors.Is(err, errDisk) {
		t.Errorf("on a disk that fills up: %v", err)
	}
}

// genRound draws any round that a book can hold: what Set takes, and what reading a file gives.
func genRound(t *rapid.T, loc *time.Location) record.Round {
	var r record.Round
	units := []string{"A", "B"}
	zone := rapid.SampledFrom([]*time.Location{loc, time.UTC, time.FixedZone("", 5*3600+1800)})
	r.Time = time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "time"), 0).In(zone.Draw(t, "zone"))
	text := rapid.Map(hostile(), func(s string) string { return strings.ToValidUTF8(s, "") })
	cells := map[string]string{"by": text.Draw(t, "by"), "note": text.Draw(t, "note"), "running": rapid.SampledFrom([]string{"", "none", "A", "B+A"}).Draw(t, "running")}
	for range rapid.IntRange(0, 5).Draw(t, "readings") {
		k := rapid.SampledFrom(quantity.Keys(units)).Draw(t, "key")
		info, _ := quantity.Lookup(k.Name())
		if !info.Number() {
			cells[string(k)] = rapid.SampledFrom(info.Words).Draw(t, "word")
			continue
		}
		v := rapid.Float64Range(1e-9, 1e6).Draw(t, "value")
		cells[string(k)] = quantity.Text(v)
		if u := info.ShowUnit(quantity.US); u != info.Unit && rapid.Bool().Draw(t, "typed") {
			cells[string(k)] = fmt.Sprintf("%.2f %s", v, u)
		}
	}
	for name, text := range cells {
		if err := r.Set(name, text, units, quantity.Metric); err != nil {
			t.Fatal(err)
		}
	}
	extra := rapid.MapOfN(rapid.SampledFrom([]string{"weather", "~", "~~volts", "volts", "id", "=x", "'=x", "C.kw", "reason", "column 3", "a,\"b\"", "é"}), text, 0, 3).Draw(t, "extra")
	for name, text := range extra {
		if text = lineEnds(text); strings.TrimSpace(text) != "" {
			if r.Extra == nil {
				r.Extra = map[string]string{}
			}
			r.Extra[name] = text
		}
	}
	r.Confirmed = true // its values are any
	return r
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	p := ternHollow(t)
	rapid.Check(t, func(t *rapid.T) {
		var rounds []record.Round
		seen := map[string]bool{}
		for range rapid.IntRange(0, 4).Draw(t, "rounds") {
			r := genRound(t, p.Location)
			id, err := DeriveID(r)
			if err != nil {
				t.Fatal(err)
			}
			if r.ID = id; seen[id] {
				continue
			}
			seen[id] = true
			if rapid.Bool().Draw(t, "written") {
				r.WrittenAt = r.Time.Add(time.Duration(rapid.IntRange(0, 1e6).Draw(t, "later")) * time.Second)
			}
			rounds = append(rounds, r)
		}
		var out bytes.Buffer
		if err := Write(&out, rounds, p, WriteOptions{All: rapid.Bool().Draw(t, "all")}); err != nil {
			t.Fatal(err)
		}
		file := out.String()
		res, err := Read(context.Background(), strings.NewReader(file), p, Options{})
		if err != nil {
			t.Fatalf("%v\n%s", err, file)
		}
		if diff := cmp.Diff(rounds, res.Rounds, sameRounds()); diff != "" || !res.Good() {
			t.Fatalf("bad %v (-written +read):\n%s\n%s", res.Problems(), diff, file)
		}
		if res, err = Read(context.Background(), strings.NewReader(file), p, book(rounds).options()); err != nil || len(res.Rounds) != 0 || res.Already != len(rounds) {
			t.Fatalf("read again it adds %d rounds: %v", len(res.Rounds), err)
		}
		cells, err := csv.NewReader(strings.NewReader(file)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range cells {
			for _, cell := range row {
				if guarded(cell, 0) && !guarded(cell, 1) && !plainNumber(cell) {
					t.Fatalf("a spreadsheet may calculate %q", cell)
				}
			}
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{
		badFile,
		"time,volts,A.kw,running\n2026-01-05 07:00,241.2,5.7,A+B\n",
		"id,written_at,time,confirmed,typed,pressure_kpa\r\n" + ownID + ",2026-01-05T19:30:00-04:00,2026-01-05T07:00:00-04:00,yes,pressure_kpa=19 psi,131.00038857\r\n",
		"\xef\xbb\xbftime,note\n2026-11-01 01:30,\"'=1\"\"\n,",
		"time,~volts,volts,\n2026-01-05 07:00,a,1,b\n2026-01-05 07:00,a,2,b\n",
		"reason,time\nx,2026-03-08 02:30\n",
		"time;volts\n", "PK\x03\x04", "\xff\xfe", "time\n\"", "time,time\n", "",
	} {
		f.Add(s)
	}
	p := ternHollow(f)
	f.Fuzz(func(t *testing.T, s string) {
		res, err := Read(context.Background(), strings.NewReader(s), p, Options{})
		if err != nil {
			var bad *FileError
			if res != nil || !errors.As(err, &bad) || !strings.Contains(err.Error(), "nothing was imported") {
				t.Fatalf("%q: %v, %v", s, res, err)
			}
			return
		}
		if len(res.Rounds)+res.Already+len(res.Bad) != res.Rows || len(res.Aside) != len(res.Rounds) {
			t.Fatalf("%q: %d rounds, %d already and %d bad of %d rows", s, len(res.Rounds), res.Already, len(res.Bad), res.Rows)
		}
		for _, b := range res.Bad {
			for _, pr := range b.Problems {
				if pr.Line != b.Line || pr.Line < 2 || pr.Column == "" || pr.Expected == "" {
					t.Fatalf("%q: %#v", s, pr)
				}
			}
		}
		var bad, out bytes.Buffer
		if err := res.WriteBad(&bad); err != nil {
			t.Fatal(err)
		}
		if err := Write(&out, res.Rounds, p, WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		again, err := Read(context.Background(), &out, p, Options{})
		if err != nil || !again.Good() {
			t.Fatalf("%q: what was read and written reads back with %v, %v", s, err, again.Problems())
		}
		if diff := cmp.Diff(res.Rounds, again.Rounds, sameRounds()); diff != "" {
			t.Fatalf("%q (-read +again):\n%s", s, diff)
		}
	})
}

func tenYears(t testing.TB) []record.Round {
	t.Helper()
	p := ternHollow(t)
	rounds := make([]record.Round, 3*3650)
	for i := range rounds {
		r := record.Round{Time: time.Date(2016, 1, 1, 7, 0, 0, 0, p.Location).Add(time.Duration(i) * 8 * time.Hour), By: "Ro", Running: &[]string{"A"}}
		for name, text := range map[string]string{"volts": "241.2", "hertz": "60.1", "load_kw": "3.4", "dump_share_pct": "38", "pressure_kpa": "131",
			"pond_level_m": "-0.42", "screen": "partly", "A.kw": "5.7", "A.bearing_c": "41", "water_c": "4", "note": "quiet"} {
			if err := r.Set(name, text, p.UnitIDs(), quantity.Metric); err != nil {
				t.Fatal(err)
			}
		}
		r.ID, _ = DeriveID(r)
		rounds[i] = r
	}
	return rounds
}

func BenchmarkTenYears(b *testing.B) {
	rounds := tenYears(b)
	p := ternHollow(b)
	text := write(b, rounds, WriteOptions{})
	plainText := text // the same without ids
	{
		rows, _ := csv.NewReader(strings.NewReader(text)).ReadAll()
		var out bytes.Buffer
		w := csv.NewWriter(&out)
		for _, r := range rows {
			_ = w.Write(r[2:])
		}
		w.Flush()
		plainText = out.String()
	}
	perSecond := func(b *testing.B) {
		b.ReportMetric(float64(len(rounds)*b.N)/b.Elapsed().Seconds(), "rows/s")
	}
	for name, text := range map[string]string{"read with ids": text, "read without": plainText} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read(context.Background(), strings.NewReader(text), p, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			perSecond(b)
		})
	}
	b.Run("write", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			write(b, rounds, WriteOptions{})
		}
		perSecond(b)
	})
}
