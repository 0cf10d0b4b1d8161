package chart_test

import (
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/tui/ui/uitest"
)

// FuzzChart drives the same generator as the property test by coverage: any values, times, limits and sizes.
func FuzzChart(f *testing.F) {
	th, ascii := uitest.Theme(uitest.Look{Color: true}), uitest.Theme(uitest.Look{ASCII: true})
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) {
		c := anyChart().Draw(t, "chart")
		w, h := rapid.IntRange(-1, 100).Draw(t, "w"), rapid.IntRange(-1, 30).Draw(t, "h")
		if w < 1 || h < 1 {
			if v := c.View(th, w, h); v != "" {
				t.Fatalf("without room it draws %q", v)
			}
			return
		}
		for _, view := range []string{c.View(th, w, h), c.View(ascii, w, h)} {
			if err := uitest.Fits(view, w, h); err != nil {
				t.Fatal(err)
			}
		}
	}))
}
