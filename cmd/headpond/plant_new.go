package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui/text"
)

func plantNewCommand(c *command) *cobra.Command {
	return &cobra.Command{
		Use:   "new [FILE]",
		Short: "Write a commented starting file to fill in; to standard output without FILE",
		Args:  usageArgs(cobra.MaximumNArgs(1), "one file name or none"),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				_, err := c.out.Write(plant.Template())
				return err
			}
			return c.plantNew(args[0])
		},
	}
}

func (c *command) plantNew(path string) error {
	err := writeNew(path, plant.Template())
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s: a file of that name is there already; name another one; %s", path, nothingChanged)
	case err != nil:
		return fmt.Errorf("%s: it cannot be written: %w; %s", path, err, nothingChanged)
	}
	c.say("%s is written%s. Fill it in, then: headpond plant check %s", text.Show(path), inFolder(path), text.Show(path))
	return nil
}

// inFolder says in which folder a file of a bare name stands: ", in the folder /home/ro"; "" where the path says it or nobody knows.
func inFolder(path string) string {
	whole, err := filepath.Abs(path)
	if err != nil || filepath.Dir(path) != "." {
		return ""
	}
	return ", in the folder " + text.Show(filepath.Dir(whole))
}
