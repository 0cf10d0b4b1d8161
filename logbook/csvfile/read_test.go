package csvfile

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the tests must not depend on the machine's zone files

	"github.com/charmbracelet/x/exp/golden"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// ternHollow has what reading needs of the contract's example plant.
func ternHollow(t testing.TB) *plant.Plant {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	return &plant.Plant{
		Site: plant.Site{Name: "Tern Hollow", Units: "metric"}, Location: loc,
		Supply: plant.Supply{Volts: 240, Hertz: 60},
		Pond:   plant.Pond{Stage: []plant.StageRow{{LevelM: -1.6, AreaM2: 8000}, {LevelM: 0.4, AreaM2: 81000}}},
		Units:  []plant.Unit{{ID: "A", RatedKW: 6, AxisM: -14.6}, {ID: "B", RatedKW: 3, AxisM: -14.6}},
	}
}

func read(t testing.TB, text string, o Options) *Result {
	t.Helper()
	res, err := Read(context.Background(), strings.NewReader(text), ternHollow(t), o)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return res
}

// sameRounds compares times as they are written, offset included, and an emptied map with none.
func sameRounds() cmp.Option {
	return cmp.Options{cmpopts.EquateEmpty(), cmp.Comparer(func(a, b time.Time) bool { return record.TimeText(a) == record.TimeText(b) })}
}

func TestRead(t *testing.T) {
	utc4 := time.FixedZone("", -4*3600)
	at := time.Date(2026, 1, 5, 7, 0, 0, 0, utc4)
	for _, c := range []struct {
		name, text string
		want       record.Round // without its id
	}{
		{"time alone is required", "time\n2026-01-05T07:00:00-04:00\n", record.Round{Time: at}},
		{"a local time of the plant", "time\n2026-01-05 07:00\n", record.Round{Time: at}},
		{"a local time as RFC 3339 has it", "time\n2026-01-05T07:00:00\n", record.Round{Time: at}},
		{"another zone keeps its offset", "time\n2026-01-05T12:00:00+01:00\n", record.Round{Time: at.In(time.FixedZone("", 3600))}},
		{"fractions of a second are cut", "time\n2026-01-05T11:00:00.999Z\n", record.Round{Time: at.UTC()}},
		{"CRLF, a byte-order mark, quotes, no last line end", "\xef\xbb\xbf\"time\",\"note\"\r\n\"2026-01-05 07:00\",\"belt \"\"A\"\",\r\nloud\"", record.Round{Time: at, Note: "belt \"A\",\nloud"}},
		{"any order, any letter case, spaces", " Volts , TIME,a.kw\n241.2,2026-01-05 07:00,5.7\n", record.Round{Time: at, Values: map[quantity.Key]float64{"volts": 241.2, "A.kw": 5.7}}},
		{"blank is not zero", "time,volts,hertz\n2026-01-05 07:00,0,\n", record.Round{Time: at, Values: map[quantity.Key]float64{"volts": 0}}},
		{"a cell may carry its unit", "time,pressure_kpa,pond_level_m\n2026-01-05 07:00,26 psi,\"-0,42 m\"\n", record.Round{Time: at,
			Values: map[quantity.Key]float64{"pressure_kpa": 179.263689622, "pond_level_m": -0.42}, Typed: map[quantity.Key]string{"pressure_kpa": "26 psi"}}},
		{"words and running", "time,screen,screen_cleared,running,ice\n2026-01-05 07:00,partly,yes,A+B,none\n", record.Round{Time: at, Running: &[]string{"A", "B"},
			Words: map[quantity.Key]string{"screen": "partly", "screen_cleared": "yes", "ice": "none"}}},
		{"none runs", "time,running\n2026-01-05 07:00,none\n", record.Round{Time: at, Running: &[]string{}}},
		{"unknown columns are kept with the row", "time,weather,,volts,C.volts\n2026-01-05 07:00, fog ,x,240,99\n", record.Round{Time: at,
			Values: map[quantity.Key]float64{"volts": 240}, Extra: map[string]string{"weather": " fog ", "column 3": "x", "C.volts": "99"}}},
		{"written_at, confirmed and typed", "time,written_at,confirmed,typed,volts,pressure_kpa\n2026-01-05 07:00,2026-01-05T19:30:00-04:00,yes,pressure_kpa=19 psi,2411,131.00038857\n", record.Round{Time: at,
			WrittenAt: at.Add(12*time.Hour + 30*time.Minute), Confirmed: true, Values: map[quantity.Key]float64{"volts": 2411, "pressure_kpa": 131.00038857}, Typed: map[quantity.Key]string{"pressure_kpa": "19 psi"}}},
		{"a harmless formula reads as it was", "time,by,note\n2026-01-05 07:00,'@Ro,'=1+1\n", record.Round{Time: at, By: "@Ro", Note: "=1+1"}},
		{"too many blank cells", "time,volts\n2026-01-05 07:00,240,,\n", record.Round{Time: at, Values: map[quantity.Key]float64{"volts": 240}}},
		{"blank rows", "time,volts\n\n,\n  ,\n2026-01-05 07:00,240\n\n", record.Round{Time: at, Values: map[quantity.Key]float64{"volts": 240}}},
		{"reasons of an earlier try", "reason,time,volts\n\"line 2: …\",2026-01-05 07:00,240\n", record.Round{Time: at, Values: map[quantity.Key]float64{"volts": 240}}},
	} {
		res := read(t, c.text, Options{})
		if !res.Good() || len(res.Rounds) != 1 || res.Rows != 1 {
			t.Errorf("%s: %d rounds, %d rows, bad %v", c.name, len(res.Rounds), res.Rows, res.Problems())
			continue
		}
		got := res.Rounds[0]
		if id, ok := idTime(got.ID); !ok || !id.Equal(got.Time) {
			t.Errorf("%s: the id %s is of %s", c.name, got.ID, id)
		}
		got.ID = ""
		if diff := cmp.Diff(c.want, got, sameRounds()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestUnknownColumnsAreReportedOnce(t *testing.T) {
	res := read(t, "time,vlots,weather,tiem\n2026-01-05 07:00,240,fog,1\n2026-01-05 08:00,241,rain,2\n", Options{})
	want := []UnknownColumn{{"vlots", "volts"}, {"weather", ""}, {"tiem", "time"}}
	if diff := cmp.Diff(want, res.Unknown); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := want[0].String(); got != "column vlots is not known here; its text is kept with the rows; did you mean volts?" {
		t.Error(got)
	}
	res = read(t, "time,C.volts\n2026-01-05 07:00,240\n", Options{Units: []string{"C"}})
	if len(res.Unknown) != 0 || res.Rounds[0].Values["C.volts"] != 240 {
		t.Errorf("a unit of an earlier revision: %+v", res)
	}
}

// A bad row is reported with its line, column and what was expected.
func TestBadRows(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"no number", "time,volts\n2026-01-05 07:00,abc\n", []string{`line 2, column volts: read "abc", expected a number in V (or with its unit, such as kV)`}},
		{"two separators", "time,volts\n2026-01-05 07:00,\"1,234.5\"\n", []string{`line 2, column volts: read "1,234.5", expected a number in V (or with its unit, such as kV)`}},
		{"all that is wrong with a row", "time,volts,screen,running\n07:00,x,mud,C\n", []string{
			`line 2, column time: read "07:00", expected ` + expectedTime,
			`line 2, column volts: read "x", expected a number in V (or with its unit, such as kV)`,
			`line 2, column screen: read "mud", expected one of clear, partly, blocked, iced`,
			`line 2, column running: read "C", expected none, or unit ids joined by + (this plant has A, B)`}},
		{"lines are counted within cells too", "time,note,volts\n2026-01-05 07:00,\"a\nb\",y\n\n2026-01-05 08:00,,x\n", []string{
			`line 2, column volts: read "y", expected a number in V (or with its unit, such as kV)`,
			`line 5, column volts: read "x", expected a number in V (or with its unit, such as kV)`}},
		{"no time", "time,volts\n,240\n", []string{`line 2, column time: read nothing, expected ` + expectedTime}},
		{"a day", "time\n2026-01-05\n", []string{`line 2, column time: read "2026-01-05", expected ` + expectedTime}},
		{"words that move", "time\nnow\nyesterday 07:00\n-2h\n", []string{
			`line 2, column time: read "now", expected ` + expectedTime,
			`line 3, column time: read "yesterday 07:00", expected ` + expectedTime,
			`line 4, column time: read "-2h", expected ` + expectedTime}},
		{"a date in another order", "time\n05/01/2026 07:00\n", []string{`line 2, column time: read "05/01/2026 07:00", expected ` + expectedTime}},
		{"before 1970", "time\n1969-12-31T23:59:59Z\n", []string{`line 2, column time: read "1969-12-31T23:59:59Z", expected a time from 1970 on`}},
		// Halifax sets its clocks forward on 8 March 2026 and back on 1 November (IANA tz database).
		{"twice", "time\n2026-11-01 01:30\n", []string{`line 2, column time: read "2026-11-01 01:30", expected 2026-11-01T01:30:00-03:00 or 2026-11-01T01:30:00-04:00, because the clocks are set back and it happens twice`}},
		{"never", "time\n2026-03-08 02:30\n", []string{`line 2, column time: read "2026-03-08 02:30", expected a time that exists: the clocks are set forward from 02:00 -04:00 to 03:00 -03:00`}},
		{"too few cells", "time,volts,hertz\n2026-01-05 07:00,240\n", []string{`line 2, column hertz: read "a row of 2 cells", expected 3, as in the header`}},
		{"too many cells", "time,volts\n2026-01-05 07:00,240,5\n", []string{`line 2, column 3: read "a row of 3 cells", expected 2, as in the header`}},
		{"a stray quote", "time,note\n2026-01-05 07:00,the 3\" pipe\n2026-01-05 08:00,\"the\" pipe\n", []string{
			`line 2, column note: read "2026-01-05 07:00,the 3\" pipe", expected that a cell with a quote in it stands in quotes, and the quote is doubled`,
			`line 3, column note: read "2026-01-05 08:00,\"the\" pipe", expected that a comma or the end of the row follows a closing quote`}},
		{"Latin-1", "time,note\n2026-01-05 07:00,caf\xe9\n", []string{`line 2, column note: read "caf\xe9", expected text in UTF-8`}},
		{"not plausible", "time,volts,A.bearing_c\n2026-01-05 07:00,2411,950\n", []string{
			`line 2, column A.bearing_c: read "950", expected what is plausible here, -50 to 200 °C; --yes takes it as confirmed`,
			`line 2, column volts: read "2411", expected what is plausible here, 0 to 360 V; --yes takes it as confirmed`}},
		{"an id that is none", "id,time\nxyz,2026-01-05 07:00\n8ZZZZZZZZZZZZZZZZZZZZZZZZZ,2026-01-05 07:00\n", []string{
			`line 2, column id: read "xyz", expected the 26 letters and digits of an entry's id, or nothing`,
			`line 3, column id: read "8ZZZZZZZZZZZZZZZZZZZZZZZZZ", expected the 26 letters and digits of an entry's id, or nothing`}},
		// The ULID specification's own example, for 1469918176385 ms (from memory).
		{"an id of another time", "id,time\n01ARYZ6S41TSV4RRFFQ69G5FAV,2026-01-05 07:00\n", []string{
			`line 2, column id: read "01ARYZ6S41TSV4RRFFQ69G5FAV", expected an id of the row's time; this one is of 2016-07-30T22:36:16Z. Leave it blank for a new round, or correct the time of the old one with headpond amend`}},
		{"confirmed is a word", "time,confirmed\n2026-01-05 07:00,maybe\n", []string{`line 2, column confirmed: read "maybe", expected yes, no or nothing`}},
		{"typed that does not agree", "time,pressure_kpa,typed\n2026-01-05 07:00,130,pressure_kpa=19 psi\n2026-01-05 08:00,,pressure_kpa=19 psi\n2026-01-05 09:00,130,19 psi\n", []string{
			`line 2, column typed: read "pressure_kpa=19 psi", expected nothing, or 130, which is what stands in pressure_kpa`,
			`line 3, column typed: read "pressure_kpa=19 psi", expected columns that have a reading; pressure_kpa has none`,
			`line 4, column typed: read "19 psi", expected column=value pairs between semicolons, such as pressure_kpa=19 psi; air_c=40 °F`}},
		{"a misspelt column alone", "time,voltz,note\n2026-01-05 07:00,241,\n2026-01-05 08:00,x,\n", []string{
			`line 2, column voltz: read "241", expected a column that is known: the row has no other reading, and no note, so that nothing of it would be seen`,
			`line 3, column voltz: read "x", expected a column that is known: the row has no other reading, and no note, so that nothing of it would be seen`}},
		{"a long note", "time,note\n2026-01-05 07:00," + strings.Repeat("x", 4001) + "\n", []string{`line 2, column note: read "` + strings.Repeat("x", 60) + `"…, expected a text of at most 4000 characters`}},
	} {
		res := read(t, c.text, Options{})
		var got []string
		for _, p := range res.Problems() {
			got = append(got, p.Error())
		}
		if diff := cmp.Diff(c.want, got); diff != "" || len(res.Rounds) != 0 || res.Good() {
			t.Errorf("%s: %d rounds (-want +got):\n%s", c.name, len(res.Rounds), diff)
		}
	}
}

func TestYesTakesImplausibleValuesAsConfirmed(t *testing.T) {
	res := read(t, "time,volts\n2026-01-05 07:00,2411\n2026-01-05 08:00,241\n", Options{Yes: true})
	if !res.Good() || !res.Rounds[0].Confirmed || res.Rounds[1].Confirmed {
		t.Errorf("%+v, bad %v", res.Rounds, res.Problems())
	}
}

func TestALocalTimeNeedsAZone(t *testing.T) {
	p := ternHollow(t)
	p.Location = nil
	res, err := Read(context.Background(), strings.NewReader("time\n2026-01-05 07:00\n2026-01-05T07:00:00Z\n2026-01-05T07:00:00+00:00\n2026-01-05T07:00:00-04:00\n"), p, Options{})
	if err != nil || len(res.Rounds) != 2 || res.Already != 1 || len(res.Bad) != 1 || res.Bad[0].Line != 2 {
		t.Errorf("%+v, %v", res, err)
	}
}

func TestFilesThatAreNone(t *testing.T) {
	endless := io.MultiReader(strings.NewReader("time,note\n2026-01-05 07:00,"), &forever{'x'})
	endlessQuote := io.MultiReader(strings.NewReader("time,note\n2026-01-05 07:00,\""), &forever{'\n'})
	endlessHeader := &forever{','}
	for _, c := range []struct {
		name string
		in   io.Reader
		want string
	}{
		{"empty", strings.NewReader(""), "the file is empty; expected a header row that names the columns, one of them time; nothing was imported"},
		{"only a mark", strings.NewReader("\xef\xbb\xbf"), "the file is empty; expected a header row that names the columns, one of them time; nothing was imported"},
		{"no header", strings.NewReader("2026-01-05 07:00,240\n"), "line 1: there is no column time; expected a header row that names the columns, one of them time; nothing was imported"},
		{"semicolons", strings.NewReader("time;volts\n2026-01-05 07:00;240\n"), "line 1: the columns are separated by semicolons; expected commas, as in RFC 4180; nothing was imported"},
		{"tabs", strings.NewReader("time\tvolts\n"), "line 1: the columns are separated by tabs; expected commas, as in RFC 4180; nothing was imported"},
		{"twice", strings.NewReader("time,volts,Volts\n"), "line 1, column volts: the column stands twice, as number 2 and 3; expected each column once; nothing was imported"},
		{"unknown twice", strings.NewReader("time,fog,fog\n"), "line 1, column fog: the column stands twice, as number 2 and 3; expected each column once; nothing was imported"},
		{"UTF-16", strings.NewReader("\xff\xfet\x00i\x00"), `the file is written in UTF-16; expected UTF-8: save it as "CSV UTF-8"; nothing was imported`},
		{"a spreadsheet", strings.NewReader("PK\x03\x04…"), "the file is a zip archive, such as a spreadsheet or an export package; expected CSV: save the sheet as CSV, or open the package as one; nothing was imported"},
		{"a million columns", strings.NewReader("time" + strings.Repeat(",x", 100000)), "line 1: the header has 100001 columns; expected at most 1000; nothing was imported"},
		{"a header without end", endlessHeader, "line 1: the row is longer than 262144 bytes; expected one row a round; a quote may be missing its partner; nothing was imported"},
		{"a row without end", endless, "line 2: the row is longer than 262144 bytes; expected one row a round; a quote may be missing its partner; nothing was imported"},
		{"a cell without end", endlessQuote, "line 2, column note: the row is longer than 262144 bytes; expected one row a round; a quote may be missing its partner; nothing was imported"},
		{"an open quote", strings.NewReader("time,note\n2026-01-05 07:00,\"so\nit\ngoes\n"), "line 2, column note: a quote is opened and never closed; expected a closing quote, and quotes within a cell doubled; nothing was imported"},
		{"a header with a stray quote", strings.NewReader("time,no\"te\n"), "line 1: the header's quotes are wrong; expected a cell with a quote in it stands in quotes, and the quote is doubled; nothing was imported"},
		{"a long name", strings.NewReader("time," + strings.Repeat("n", 201) + "\n"), `line 1, column 2: the column's name is "` + strings.Repeat("n", 60) + `"…; expected a name in UTF-8 of at most 200 bytes; nothing was imported`},
		{"a broken disk", io.MultiReader(strings.NewReader("time\n2026-01-05 07:00\n"), brokenDisk{}), "line 3: the file cannot be read on: input/output error; nothing was imported"},
	} {
		res, err := Read(context.Background(), c.in, ternHollow(t), Options{})
		var bad *FileError
		if res != nil || !errors.As(err, &bad) || err.Error() != c.want {
			t.Errorf("%s:\n got %v\nwant %s", c.name, err, c.want)
		}
	}
}

// forever is a file without end.
type forever struct{ c byte }

func (f *forever) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = f.c
	}
	return len(b), nil
}

var errDisk = errors.New("input/output error")

type brokenDisk struct{}

func (brokenDisk) Read([]byte) (int, error) { return 0, errDisk }

func TestAnInputErrorKeepsItsCause(t *testing.T) {
	for _, in := range []io.Reader{brokenDisk{}, io.MultiReader(strings.NewReader("time\n\"2026"), brokenDisk{})} {
		if _, err := Read(context.Background(), in, ternHollow(t), Options{}); !errors.Is(err, errDisk) {
			t.Errorf("error is %v", err)
		}
	}
}

func TestReadingCanBeCancelledAndShowsProgress(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	in := io.MultiReader(strings.NewReader("time\n"), &repeat{text: "x\n"})
	_, err := Read(ctx, in, ternHollow(t), Options{Progress: func(bytes int64, rows int) {
		if calls++; rows != (calls-1)*checkEvery || bytes < int64(2*rows) {
			t.Errorf("call %d: %d rows, %d bytes", calls, rows, bytes)
		}
		if calls == 3 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "nothing was imported") || calls != 3 {
		t.Errorf("after %d calls: %v", calls, err)
	}
}

type repeat struct{ text, rest string }

func (r *repeat) Read(b []byte) (int, error) {
	if r.rest == "" {
		r.rest = r.text
	}
	n := copy(b, r.rest)
	r.rest = r.rest[n:]
	return n, nil
}

const badFile = `time,by,volts,note,weather
2026-01-05 07:00,Ro,241.2,quiet,fog
2026-01-05 18:00,Imke,abc,=HYPERLINK("x"),rain
2026-11-01 01:30,Ro,240,"two
lines",
2026-01-06 07:00,Ro,2411
2026-01-06 18:00,Imke,2411,'=1+1,-3
2026-01-07 07:00,Ro,240,the 3" pipe,
2026-01-05 07:00,Ro,239,,
`

func TestBadRowsAreWrittenWithTheirReasons(t *testing.T) {
	res := read(t, strings.Replace(badFile, `=HYPERLINK("x")`, `"=HYPERLINK(""x"")"`, 1), Options{})
	var out bytes.Buffer
	if err := res.WriteBad(&out); err != nil {
		t.Fatal(err)
	}
	golden.RequireEqual(t, out.Bytes())

	// Read again, the same rows are bad for the same reasons, apart from their place, and the one good row is not needed.
	again := read(t, out.String(), Options{})
	if len(again.Bad) != len(res.Bad)-1 || len(again.Rounds) != 1 || again.Rounds[0].Values["volts"] != 239 {
		t.Errorf("again: %d rounds, %v", len(again.Rounds), again.Problems())
	}
	var twice bytes.Buffer
	if err := again.WriteBad(&twice); err != nil {
		t.Fatal(err)
	}
	if h, _, _ := strings.Cut(twice.String(), "\r\n"); h != "reason,time,by,volts,note,weather" {
		t.Errorf("the header of the second try is %s", h)
	}
	if strings.Contains(twice.String(), "''") || !strings.Contains(twice.String(), "'=1+1") {
		t.Errorf("a note changed:\n%s", twice.String())
	}
	if err := res.WriteBad(fullDisk{}); !errors.Is(err, errDisk) {
		t.Errorf("on a full disk: %v", err)
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errDisk }

func TestFacts(t *testing.T) {
	res := read(t, "time,volts,vlots\n2026-01-05 07:00,240,1\n2026-01-05 07:00,240,1\n2026-01-05 08:00,abc,1\n", Options{})
	got, err := json.Marshal(res.Facts(1, 2))
	if err != nil {
		t.Fatal(err)
	}
	want := `{"added":1,"already":3,"bad":[{"line":4,"column":"volts","text":"abc","expected":"a number in V (or with its unit, such as kV)"}],"unknown_columns":["vlots"]}`
	if string(got) != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got, _ := json.Marshal(read(t, "time\n", Options{}).Facts(0, 0)); string(got) != `{"added":0,"already":0,"bad":[]}` {
		t.Errorf("nothing: %s", got)
	}
}
