package main

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/pond"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
)

type waterOptions struct {
	*command
	run     []string
	hours   string
	until   string
	horizon float64
	bypass  string
	rain    string
}

func waterCommand(c *command) *cobra.Command {
	o := &waterOptions{command: c}
	cmd := c.reporting(&cobra.Command{
		Use:   "water",
		Short: "How long the water lasts, for each way of running",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return o.answer(cmd.Context()) },
	})
	f := cmd.Flags()
	f.StringArrayVar(&o.run, "run", nil, "one way of running: `units` joined by +, or none; may be repeated (default: none, each unit, all)")
	f.StringVar(&o.hours, "hours", "", "with --run of one unit: the part of each day it runs, such as 06:00-22:00")
	f.StringVar(&o.until, "until", "", "the `date` until which the water must last: what can be run")
	f.Float64Var(&o.horizon, "horizon", 365, "how many `days` to look ahead")
	f.StringVar(&o.bypass, "bypass", "", "what if this `flow` (L/s) passed beside the plant")
	f.StringVar(&o.rain, "rain", "", "what if this much `rain` (mm) fell within a day")
	return cmd
}

// maxHorizonDays bounds --horizon: beyond some years nothing in the log says anything.
const maxHorizonDays = 3660

func (o *waterOptions) validate() error {
	switch {
	case !(o.horizon > 0 && o.horizon <= maxHorizonDays):
		return usagef("--horizon: %g is not a number of days; expected above 0, at most %d", o.horizon, maxHorizonDays)
	case o.hours != "" && len(o.run) != 1:
		return usagef("--hours tells when one unit runs; expected one --run with it, such as --run A")
	}
	return nil
}

func (o *waterOptions) answer(ctx context.Context) error {
	if err := o.validate(); err != nil {
		return err
	}
	s, h, err := o.readPlanted(ctx)
	if err != nil {
		return err
	}
	w, err := o.options(s, h)
	if err != nil {
		return err
	}
	f, err := assess.Of(h).Water(ctx, w)
	if err != nil {
		o.cautions(h.Cautions) // they may be the reason: levels that a clock which fell back leaves in the future
		return err
	}
	f.Cautions = append(f.Cautions, h.Cautions...)
	if o.json {
		return o.printJSON(f)
	}
	o.waterText(s, h, f, w)
	return nil
}

// options turns the flags into the question for the forecast.
func (o *waterOptions) options(s *session, h *record.History) (water.Options, error) {
	w := water.Options{Horizon: time.Duration(o.horizon * 24 * float64(time.Hour)), Fan: !o.json}
	units := h.Plant.UnitIDs()
	for _, text := range o.run {
		choice, err := o.choice(text, units)
		if err != nil {
			return w, err
		}
		w.Ways = append(w.Ways, choice)
	}
	if o.until != "" {
		until, err := localtime.End(o.until, h.At, s.loc)
		if err != nil {
			return w, usagef("--until: %w", err)
		}
		if !until.After(h.At) {
			return w, usagef("--until: %s is not after %s, the time that is asked about", jsonTime(until, s.loc), jsonTime(h.At, s.loc))
		}
		w.Until = until.In(s.loc)
	}
	if o.bypass != "" {
		v, err := number(pair{"--bypass", o.bypass}, quantity.BypassLps)
		if err != nil {
			return w, err
		}
		if *v < 0 {
			return w, usagef("--bypass: %g L/s cannot be; expected 0 or more", *v)
		}
		w.WhatIf.BypassLps = v
	}
	if o.rain != "" {
		v, err := number(pair{"--rain", o.rain}, quantity.RainMM)
		if err != nil {
			return w, err
		}
		if *v < 0 {
			return w, usagef("--rain: %g mm cannot be; expected 0 or more", *v)
		}
		w.WhatIf.RainMM = *v
	}
	return w, nil
}

// choice reads one way of running; the units come in the plant's order.
func (o *waterOptions) choice(text string, units []string) (water.Choice, error) {
	ids, err := record.ParseRunning(text, units)
	if err != nil {
		return water.Choice{}, usagef("--run: %w", err)
	}
	if ids == nil {
		return water.Choice{}, usagef("--run: nothing is given; expected none, or unit ids joined by +")
	}
	run := []string{}
	for _, u := range units {
		if slices.Contains(*ids, u) {
			run = append(run, u)
		}
	}
	if o.hours == "" {
		return water.Choice{Run: run}, nil
	}
	from, to, ok := strings.Cut(o.hours, "-")
	if !ok || len(run) != 1 {
		return water.Choice{}, usagef("--hours: %q with --run %q is no plan; expected one unit and two times, such as --run A --hours 06:00-22:00", o.hours, text)
	}
	plan := water.Plan{Unit: run[0], From: strings.TrimSpace(from), To: strings.TrimSpace(to)}
	if _, err := pond.ParsePartDay(plan.From, plan.To); err != nil {
		return water.Choice{}, usagef("--hours: %w", err)
	}
	return water.Choice{Run: []string{}, Plan: &plan}, nil
}
