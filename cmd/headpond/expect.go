package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// keyScreenOpen is the share of the screen's openings that is clear, 0 blocked to 1 clean; no reading has that name.
const keyScreenOpen = "screen_open"

func expectCommand(c *command) *cobra.Command {
	return c.reporting(&cobra.Command{
		Use:   "expect [key=value ...]",
		Short: "What each reading should be, for the pond level and the running units",
		Long: prose("What each reading should be, by the plant's description: at the last pond level, for the units that run, with a clean screen. What is given instead overrides it.",
			"  headpond expect pond_level_m=-0.35 running=A screen_open=0.5 water_c=4"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.expect(cmd.Context(), args) },
	})
}

func (c *command) expect(ctx context.Context, args []string) error {
	pairs, err := parsePairs(args)
	if err != nil {
		return err
	}
	_, h, err := c.readPlanted(ctx)
	if err != nil {
		return err
	}
	o, err := expectOptions(pairs, h.Plant.UnitIDs())
	if err != nil {
		return err
	}
	e, err := assess.Of(h).Expect(o)
	if err != nil {
		return err
	}
	e.Cautions = append(e.Cautions, h.Cautions...)
	if c.json {
		return c.printJSON(e)
	}
	return c.expectText(h, e)
}

// expectOptions reads what is given in place of what the book says.
func expectOptions(pairs []pair, units []string) (assess.ExpectOptions, error) {
	var o assess.ExpectOptions
	for _, p := range pairs {
		var err error
		switch strings.ToLower(p.key) {
		case string(quantity.PondLevelM):
			o.PondLevelM, err = number(p, quantity.PondLevelM)
		case string(quantity.WaterC):
			o.WaterC, err = number(p, quantity.WaterC)
		case keyScreenOpen:
			o.ScreenOpen, err = share(p)
		case record.ColRunning:
			o.Running, err = record.ParseRunning(p.value, units)
			if err == nil && o.Running == nil {
				err = usagef("running: nothing is given; expected none, or unit ids joined by +")
			}
		default:
			err = unknownKey(p.key, "headpond expect", []string{string(quantity.PondLevelM), record.ColRunning, keyScreenOpen, string(quantity.WaterC)})
		}
		if err != nil {
			return o, fieldUsage(err)
		}
	}
	return o, nil
}

// number reads a value of the catalogue, with or without its unit.
func number(p pair, name quantity.Name) (*float64, error) {
	info, _ := quantity.Lookup(name)
	v, err := quantity.ParseValue(info, p.value, quantity.Metric)
	if err != nil {
		return nil, usagef("%s: %w", p.key, err)
	}
	return &v.Kept, nil
}

// share reads a number from 0 to 1, or a percentage with its sign.
func share(p pair) (*float64, error) {
	info, _ := quantity.Lookup(quantity.DumpSharePct)
	v, err := quantity.ParseValue(info, p.value, quantity.Metric)
	scale := 1.0
	if strings.HasSuffix(strings.TrimSpace(p.value), string(info.Unit)) {
		scale = 100
	}
	if x := v.Kept / scale; err == nil && x >= 0 && x <= 1 {
		return &x, nil
	}
	return nil, usagef("%s: %q is not a share; expected 0 (blocked) to 1 (clean)", p.key, p.value)
}
