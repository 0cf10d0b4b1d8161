package tui

import (
	"context"
	"io"

	"example.org/headpond/tui/firstuse"
	"example.org/headpond/tui/ui"
)

// FirstUse shows what there is to choose while there is no book, and returns what was chosen; the caller makes the book. It
// ends, and crashes, as Run does.
func FirstUse(ctx context.Context, o firstuse.Options, in io.Reader, out io.Writer, saveTrace func(ui.Crash) string) (firstuse.Result, error) {
	var r firstuse.Result
	err := run(ctx, &latest{model: firstuse.New(o, func(x firstuse.Result) { r = x })}, in, out, saveTrace)
	return r, err
}
