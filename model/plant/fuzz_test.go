package plant

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
)

// seeds are the files of the tests and the kinds of text that readers of TOML have stumbled over.
func seeds(f *testing.F) {
	for _, name := range []string{"testdata/contract.toml", "testdata/ten_mistakes.toml"} {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add(Template())
	for _, s := range []string{
		"", "\ufeff", "[", "[[", "[]", "[[]]", "=", "a=", "a=[", "a=[[[[[1]]]]]", "a={b={c=[{d=1}]}}", "a.b.c=1\na.b=2", "[a]\n[a]", "[[a]]\n[a]",
		"[a]\n[[a]]", "a=[]\n[[a]]", "a={}\n[a.b]", "[a.b]\n[a]\nb.c=1", "\"a\".'b'=1", "a=\"\\u00e9\\U0001F600\"", "a='''\n'''", "a=\"\"\"\nx\\\n  y\"\"\"",
		"a=1__0", "a=0x_1", "a=+inf", "a=-nan", "a=1979-05-27T07:32:00Z", "a=07:32:00", "a=1e9999", "a=9223372036854775808", "\r", "a=1\rb=2",
		"#\x00", "#\x7f", "a=\"\xff\"", "[gauge]\nA.volts=1\n\"A.volts\"=1\nvolts=[1]", "[[unit]]\nid=\"A\"\ncurve=[[1,2,3],[]]\n[unit.x]",
		"[site]\nname=“x”", "[pond]\nstage=[\n[1,2]\n[3,4]]\ncrest_m=1", "unit=[1,{id=\"A\"},[]]", "load=[{name=\"a\",kw=1},{name=\"a\",kw=1}]",
		"[[ballast.element]]\nname=\"E\"\n[ballast]\nshare_of=\"ballast\"", "[money]\n[[money.fuel]]\n[money]", "[site\nname=1\n[[site]\n[site]]",
	} {
		f.Add([]byte(s))
	}
}

// FuzzParse: no panic; either a plant or problems, never both; every problem has a place in the text and says something that
// a terminal can show.
func FuzzParse(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse("fuzz.toml", data)
		if (p == nil) == (err == nil) {
			t.Fatalf("plant %v, error %v", p, err)
		}
		if err == nil {
			if p.Location == nil || len(p.Units) == 0 || len(p.Penstocks) == 0 {
				t.Fatalf("a plant without zone, unit or penstock: %+v", p)
			}
			Advice(p)
			p.StopLevel()
			return
		}
		var problems *Problems
		if !errors.As(err, &problems) || len(problems.List) == 0 || len(problems.List) > maxProblems+1 {
			t.Fatalf("problems %v", err)
		}
		lines := bytes.Split(data, []byte("\n"))
		for _, x := range problems.List {
			if x.Line < 1 || x.Line > len(lines) || x.Column < 1 || x.Column > len(lines[x.Line-1])+1 {
				t.Fatalf("%v is not in the text", x)
			}
			if x.What == "" || x.Expected == "" {
				t.Fatalf("%v says nothing", x)
			}
			if strings.ContainsFunc(x.String(), func(r rune) bool { return r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 }) {
				t.Fatalf("%q could act on a terminal", x.String())
			}
		}
	})
}

// FuzzTreeAgreesWithTheLibrary: our tree finds the same texts to be TOML as the library's own decoder does.
func FuzzTreeAgreesWithTheLibrary(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		src := newSource(data)
		if what, _ := src.unreadable(); what != "" {
			t.Skip()
		}
		c := &collector{src: src}
		readTree(c)
		var any map[string]any
		err := toml.Unmarshal(src.data, &any)
		if err != nil {
			for _, later := range []string{"too large", "date", "time", "hour", "minute", "second", "digit", "float", "expecting colon", "bytes"} {
				if strings.Contains(err.Error(), later) {
					t.Skip("values that no plant file can hold, which are told later")
				}
			}
		}
		if (err != nil) != (len(c.list) > 0) {
			t.Fatalf("the library says %v, the tree %v", err, c.list)
		}
	})
}
