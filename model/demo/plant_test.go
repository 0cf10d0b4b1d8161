package demo

import (
	"testing"
)

func TestPlantFileIsSound(t *testing.T) {
	p, err := Plant()
	if err != nil {
		t.Fatal(err)
	}
	if p.Site.Name != "Tern Hollow" || len(p.Units) != 2 || len(p.Ballast.Elements) != 4 || p.Money == nil {
		t.Errorf("read %q with %d units, %d elements, money %v", p.Site.Name, len(p.Units), len(p.Ballast.Elements), p.Money)
	}
}
