package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/headpond/model/quantity"
	"example.org/headpond/tui"
	"example.org/headpond/tui/firstuse"
	"example.org/headpond/tui/ui"
)

// firstUse is shown while there is no book, or no plant in it: it makes the book, opens the demo, or leaves.
func (c *command) firstUse(ctx context.Context) error {
	common := ui.Common{Theme: c.theme(), Now: c.clock, Location: c.local, Units: quantity.Metric}.Sized(c.columns(), usualRows)
	r, err := tui.FirstUse(ctx, firstuse.Options{
		Common: common, Book: c.bookPath(),
		ReadFile: func(path string) ([]byte, error) { return readPlantFile(c.expand(path)) },
		InFolder: func(path string) string { return inFolder(c.expand(path)) },
		WriteNew: func(path string, data []byte) error { return writeNew(c.expand(path), data) },
	}, c.in, c.screen, c.screenTrace)
	if err != nil {
		return screenError(err)
	}
	switch r.Choice {
	case firstuse.Load:
		book, _, err := c.openOrCreate(ctx, r.Plant.Location)
		if err != nil {
			return err
		}
		if _, err := book.AddPlant(ctx, string(r.Text), c.clock().In(r.Plant.Location), ""); err != nil {
			return err
		}
		return c.runScreens(ctx, "")
	case firstuse.Demo:
		c.book = ""
		return c.demo(ctx)
	case firstuse.Leave:
	}
	return nil
}

// expand gives ~ at the start of a path its meaning, as the shell does for the command line.
func (c *command) expand(path string) string {
	rest, ok := strings.CutPrefix(path, "~/")
	if home := c.Getenv("HOME"); ok && home != "" {
		return filepath.Join(home, rest)
	}
	return path
}

// readPlantFile reads a file that may hold a plant's description.
func readPlantFile(path string) ([]byte, error) {
	data, err := readFile(path, maxPlantFile)
	switch {
	case err != nil:
		return nil, bare(err)
	case len(data) > maxPlantFile:
		return nil, fmt.Errorf("it is larger than a plant file can be (%d MiB)", maxPlantFile>>20)
	}
	return data, nil
}

// writeNew writes a file that is not there yet, whole or not at all. Where one is, the error is fs.ErrExist.
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return bare(err)
	}
	_, err = f.Write(data)
	if serr := f.Sync(); err == nil {
		err = serr
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		_ = os.Remove(path)
		return fmt.Errorf("%w; no file was left", bare(err))
	}
	return nil
}
