package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"example.org/headpond/model/plant"
)

// plantCommand gathers what concerns the plant's description.
func plantCommand(c *command) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "plant",
		Short: "The plant's description: write one, check it, load it into the book, print it, fit it to the log",
		Args:  usageArgs(cobra.NoArgs, "one of new, check, load, show, fit"),
		RunE: func(*cobra.Command, []string) error {
			return usagef("headpond plant takes one of new, check, load, show, fit; try headpond plant --help")
		},
	}
	cmd.AddCommand(plantNewCommand(c), plantCheckCommand(c), plantLoadCommand(c), plantShowCommand(c), plantFitCommand(c))
	return cmd
}

// maxPlantFile is far above any plant's description; it keeps a picture named by mistake out of memory.
const maxPlantFile = 4 << 20

// readPlant reads and checks a plant file; "-" is standard input.
func (c *command) readPlant(path string) (text []byte, p *plant.Plant, err error) {
	name := path
	if path == "-" {
		name = "standard input"
		text, err = io.ReadAll(io.LimitReader(c.in, maxPlantFile+1))
	} else {
		text, err = readFile(path, maxPlantFile)
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil, fmt.Errorf("%s: there is no such file; a new one is written by: headpond plant new %s", path, path)
	case err != nil:
		return nil, nil, fmt.Errorf("%s: it cannot be read: %w; %s", name, bare(err), nothingChanged)
	case len(text) > maxPlantFile:
		return nil, nil, fmt.Errorf("%s: it is larger than a plant file can be (%d MiB); %s", name, maxPlantFile>>20, nothingChanged)
	}
	p, err = plant.Parse(name, text)
	return text, p, err
}

// readFile reads at most one byte more than most.
func readFile(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most+1))
}

// bare strips the path that the system puts in front, since the message names it already.
func bare(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}
