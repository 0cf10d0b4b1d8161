package demo

import (
	_ "embed" // the plant file
	"fmt"

	"example.org/headpond/model/plant"
)

//go:embed ternhollow.toml
var ternHollow string

// PlantName is the name under which the plant file is told of in messages.
const PlantName = "ternhollow.toml"

// PlantText returns Tern Hollow's plant file.
func PlantText() string { return ternHollow }

// Plant returns Tern Hollow, parsed anew. The error would be a *plant.Problems: a flaw of this program.
func Plant() (*plant.Plant, error) {
	p, err := plant.Parse(PlantName, []byte(ternHollow))
	if err != nil {
		return nil, fmt.Errorf("the demo's plant file: %w", err)
	}
	return p, nil
}
