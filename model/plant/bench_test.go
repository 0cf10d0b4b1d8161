package plant

import (
	"os"
	"strings"
	"testing"
)

func BenchmarkParse(b *testing.B) {
	data, err := os.ReadFile("testdata/contract.toml")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Parse("contract.toml", data); err != nil {
			b.Fatal(err)
		}
	}
}

// hopeless are files of nearly the largest size that is read, made to keep a careless reader busy.
func hopeless() map[string]string {
	fill := func(s string) string { return strings.Repeat(s, (maxSource-100)/len(s)) }
	return map[string]string{
		"open lists":       fill("a=[\n"),
		"deep list":        "a=" + fill("["),
		"same table":       fill("[a]\n"),
		"same key":         fill("a=1\n"),
		"empty units":      fill("[[unit]]\n"),
		"no values":        fill("x=\n"),
		"one long line":    "a = [" + fill("1,"),
		"gauges":           "[gauge]\n" + fill("\"q.volts\"=1\n"),
		"long key":         "[gauge]\n" + fill("v") + "=1",
		"open long texts":  fill("a='''\n"),
		"dotted keys":      fill("a.b.c.d.e.f=1\n"),
		"stage rows":       "[pond]\nstage=[" + fill("[1,2],") + "]",
		"prose":            fill("all work and no play\n"),
		"comments in list": "a=[\n" + fill("#\n"),
	}
}

func TestHopelessFilesAreRefused(t *testing.T) {
	for name, text := range hopeless() {
		if _, err := Parse("hopeless.toml", []byte(text)); err == nil {
			t.Errorf("%s: no problems", name)
		}
	}
}

func BenchmarkHopelessFiles(b *testing.B) {
	for name, text := range hopeless() {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, _ = Parse("hopeless.toml", []byte(text))
			}
		})
	}
}
