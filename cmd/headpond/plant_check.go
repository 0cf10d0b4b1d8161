package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/safety"
	"example.org/headpond/model/steady"
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
	facts, err := c.plantCheckFacts(path)
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
	c.section("Worth a second look:", facts.adviceLines())
	c.section("Numbers of safe operation:", facts.numberLines())
	return nil
}

// plantCheckFacts returns nil facts where the file could not be read at all, and the problems as the error as well.
func (c *command) plantCheckFacts(path string) (*plantCheckFacts, error) {
	facts := &plantCheckFacts{Problems: []plantProblem{}, Advice: []plantAdvice{}}
	_, p, err := c.readPlant(path)
	var problems *plant.Problems
	switch {
	case errors.As(err, &problems):
		for _, x := range problems.List {
			facts.Problems = append(facts.Problems, plantProblem(x))
		}
		return facts, err
	case err != nil:
		return nil, err
	}
	facts.OK, facts.Plant = true, p.Site.Name
	for _, a := range plant.Advice(p) {
		facts.Advice = append(facts.Advice, plantAdvice(a))
	}
	if m, err := steady.New(p); err == nil {
		facts.Numbers = safety.Numbers(m)
	} else {
		facts.Advice = append(facts.Advice, plantAdvice{Key: "unit", What: "the plant cannot be solved: " + err.Error()})
	}
	return facts, nil
}

func (f *plantCheckFacts) adviceLines() []string {
	var lines []string
	for _, a := range f.Advice {
		lines = append(lines, text.Show(plant.Advisory(a).String()))
	}
	return lines
}

// numberLines says each number with a sign before those that are beyond their limit.
func (f *plantCheckFacts) numberLines() []string {
	var lines []string
	for _, n := range f.Numbers {
		sign := ""
		if n.OK != nil && !*n.OK {
			sign = "! "
		}
		of := ""
		if n.Of != "" {
			of = " (" + n.Of + ")"
		}
		lines = append(lines, text.Show(fmt.Sprintf("%s%s%s: %s", sign, n.Name, of, n.Says)))
	}
	return lines
}
