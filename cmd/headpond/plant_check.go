package main

import (
	"errors"

	"github.com/spf13/cobra"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/safety"
	"example.org/headpond/tui/plantview"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

func plantCheckCommand(c *command) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Check a plant file and say everything that is wrong with it, and what is worth a second look",
		Args:  usageArgs(cobra.ExactArgs(1), "one plant file"),
		RunE:  func(_ *cobra.Command, args []string) error { return c.plantCheck(args[0]) },
	}
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// plantCheckFacts is the object of `plant check --json`, our addition to the contract.
type plantCheckFacts struct {
	OK       bool            `json:"ok"`
	Plant    string          `json:"plant,omitempty"`
	Problems []plantProblem  `json:"problems"`
	Advice   []plantAdvice   `json:"advice"`
	Numbers  []safety.Number `json:"numbers,omitempty"` // of safe operation
}

type plantProblem struct {
	Line     int    `json:"line"`
	Column   int    `json:"column"`
	Key      string `json:"key,omitempty"`
	What     string `json:"what"`
	Expected string `json:"expected,omitempty"`
}

type plantAdvice struct {
	Key    string `json:"key"`
	What   string `json:"what"`
	Source string `json:"source,omitempty"`
}

func (c *command) plantCheck(path string) error {
	facts, p, check, err := c.plantCheckFacts(path)
	switch {
	case facts == nil:
		return err
	case c.json:
		if jerr := c.printJSON(facts); jerr != nil || err == nil {
			return jerr
		}
		return quietError{}
	case err != nil:
		return err
	}
	c.say("%s: nothing is wrong with the description of %s.", text.Show(path), text.Show(facts.Plant))
	common := ui.Common{Theme: c.theme(), Now: c.clock, Location: p.Location, Units: quantity.System(p.Site.Units)}
	c.block(plantview.CheckText(check, common.Sized(c.columns(), usualRows), c.columns()))
	return nil
}

// plantCheckFacts returns nil facts where the file could not be read at all, and the problems as the error as well. A plant that
// was read without an error comes with its check.
func (c *command) plantCheckFacts(path string) (*plantCheckFacts, *plant.Plant, plantview.Check, error) {
	facts := &plantCheckFacts{Problems: []plantProblem{}, Advice: []plantAdvice{}}
	_, p, err := c.readPlant(path)
	var problems *plant.Problems
	switch {
	case errors.As(err, &problems):
		for _, x := range problems.List {
			facts.Problems = append(facts.Problems, plantProblem(x))
		}
		return facts, nil, plantview.Check{}, err
	case err != nil:
		return nil, nil, plantview.Check{}, err
	}
	check := plantview.CheckOf(p)
	facts.OK, facts.Plant, facts.Numbers = true, p.Site.Name, check.Numbers
	for _, a := range check.Advice {
		facts.Advice = append(facts.Advice, plantAdvice(a))
	}
	if check.Err != nil {
		facts.Advice = append(facts.Advice, plantAdvice{Key: "unit", What: "the plant cannot be solved: " + check.Err.Error()})
	}
	return facts, p, check, nil
}
