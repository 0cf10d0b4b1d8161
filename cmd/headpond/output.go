package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// answer is standard output. It gathers what is written into few calls, and remembers a failure, such as a full disk, until
// the end of the program.
type answer struct {
	w   io.Writer
	buf *bufio.Writer
	err error
}

// Write gathers bytes.
func (a *answer) Write(p []byte) (int, error) {
	if a.buf == nil {
		a.buf = bufio.NewWriterSize(a.w, 32<<10)
	}
	n, err := a.buf.Write(p)
	if err != nil && a.err == nil {
		a.err = err
	}
	return n, err
}

// Flush writes what was gathered and returns the first failure.
func (a *answer) Flush() error {
	if a.buf != nil {
		if err := a.buf.Flush(); err != nil && a.err == nil {
			a.err = err
		}
	}
	return a.err
}

// say prints one line of the answer. What comes from outside the program must have passed text.Show.
func (c *command) say(format string, args ...any) {
	line := fmt.Sprintf(format, args...)
	if c.plainASCII() {
		line = text.ASCII(line)
	}
	fmt.Fprintln(c.out, line)
}

// tell prints a message beside the answer, on standard error. Its lines are made harmless here, and on a terminal they break between
// words; what goes into a file or another program stays whole.
func (c *command) tell(format string, args ...any) {
	for _, line := range text.ShowLines(fmt.Sprintf(format, args...)) {
		if c.plainASCII() {
			line = text.ASCII(line)
		}
		for _, part := range c.broken(line) {
			fmt.Fprintln(c.err, part)
		}
	}
}

// broken is a line as a terminal has room for it.
func (c *command) broken(line string) []string {
	if !c.errTTY || c.width < 1 || text.Width(line) <= c.width {
		return []string{line}
	}
	return text.Wrap(line, c.width)
}

// cautions prints what a person should know beside the answer.
func (c *command) cautions(list []string) {
	for _, s := range list {
		c.tell("caution: %s", s)
	}
}

// printJSON prints one object and a final newline. It is as harmless on a terminal as text is.
func (c *command) printJSON(v any) error {
	var object bytes.Buffer
	enc := json.NewEncoder(&object)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("the answer cannot be written as JSON: %w; %s", err, nothingChanged)
	}
	_, err := c.out.Write(text.JSON(object.Bytes()))
	return err
}

// plainASCII reports whether nothing beyond ASCII may be printed.
func (c *command) plainASCII() bool { return c.ascii || !c.utf8 }

// theme is the look of the answer: colours only where --color, NO_COLOR and the terminal allow them.
func (c *command) theme() ui.Theme {
	mode := map[string]ui.ColorMode{"always": ui.ColorAlways, "never": ui.ColorNever}[c.color]
	if mode == ui.ColorAuto && !c.outTTY {
		mode = ui.ColorNever
	}
	// The renderer is made for the terminal itself, not for the buffer in front of it, since it looks whether it is one.
	return ui.NewTheme(ui.NewRenderer(c.screen, mode, c.world), c.plainASCII(), background(c.Getenv("COLORFGBG")))
}

// background reads what many terminals say of their colours: "foreground;background" by number, of which 7 and 15 are light.
// The terminal itself is never asked, since one that does not answer would hold everything up.
func background(colorFGBG string) ui.Background {
	i := strings.LastIndexByte(colorFGBG, ';')
	if i < 0 {
		return ui.AnyBackground
	}
	n, err := strconv.Atoi(colorFGBG[i+1:])
	switch {
	case err != nil || n < 0 || n > 15:
		return ui.AnyBackground
	case n == 7 || n == 15:
		return ui.LightBackground
	}
	return ui.DarkBackground
}

// columns is the width that text is laid out for.
func (c *command) columns() int {
	const usual = 80
	if c.width > 0 {
		return c.width
	}
	return usual
}

// jsonTime writes an instant as every time in JSON is written.
func jsonTime(t time.Time, loc *time.Location) string { return record.TimeText(t.In(loc)) }

// shortTime writes an instant for people, on the plant's clock; with its offset where the clock shows it twice.
func shortTime(t time.Time, loc *time.Location) string { return localtime.Minute(t, loc) }

// block prints several lines that are laid out already.
func (c *command) block(lines string) {
	for line := range strings.SplitSeq(strings.TrimRight(lines, "\n"), "\n") {
		c.say("%s", line)
	}
}

// section prints a heading and lines under it, wrapped to the terminal; nothing where there are no lines.
func (c *command) section(heading string, lines []string) {
	if len(lines) == 0 {
		return
	}
	c.say("\n%s", heading)
	for _, line := range lines {
		for i, part := range text.Wrap(line, max(20, c.columns()-4)) {
			indent := "  "
			if i > 0 {
				indent = "    "
			}
			c.say("%s%s", indent, part)
		}
	}
}
