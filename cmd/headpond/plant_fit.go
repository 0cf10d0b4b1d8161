package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/calibrate"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

type plantFit struct {
	*command
	from, to, out string
}

func plantFitCommand(c *command) *cobra.Command {
	o := &plantFit{command: c}
	cmd := c.reporting(&cobra.Command{
		Use:   "fit",
		Short: "Fit what name plates do not tell to the rounds with a clean screen, and offer a revised plant file",
		Long: "Fit each machine's efficiency and best flow, the minor losses, and the pressure gauge's offset to the rounds that were walked with a clean\n" +
			"screen, and print what they come to, with ranges. With --out the plant file in force is written to FILE with the changed numbers in place.\n" +
			"Nothing is put into the book: look the file over, then load it with headpond plant load FILE.",
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return o.run(cmd.Context()) },
	})
	cmd.Flags().StringVar(&o.from, "from", "", "only rounds from this `time` on (default: a year before the last round)")
	cmd.Flags().StringVar(&o.to, "to", "", "only rounds before this `time`; a date alone is the end of that day")
	cmd.Flags().StringVar(&o.out, "out", "", "write the revised plant file to a new `FILE`")
	return cmd
}

// plantFitFacts is the object of `plant fit --json`.
type plantFitFacts struct {
	*calibrate.Facts
	Revision string `json:"revision"`          // that was fitted
	Written  string `json:"written,omitempty"` // the revised file
}

func (o *plantFit) run(ctx context.Context) error {
	s, err := o.read(ctx)
	if err != nil {
		return err
	}
	options, err := o.options(s)
	if err != nil {
		return err
	}
	h, err := s.history(ctx, logbook.HistoryOptions{All: true})
	if err != nil {
		return err
	}
	if h.Plant == nil {
		return s.errNoPlant()
	}
	f, err := calibrate.Fit(assess.Of(h), options)
	var refusal *calibrate.Refusal
	switch {
	case errors.As(err, &refusal):
		return fmt.Errorf("%w; %s", err, nothingChanged)
	case err != nil:
		return err
	}
	facts := plantFitFacts{Facts: f, Revision: inForce(h).ID}
	if o.out != "" && f.Changed {
		if err := o.write(f, inForce(h)); err != nil {
			return err
		}
		facts.Written = o.out
	}
	if o.json {
		return o.printJSON(facts)
	}
	o.fitText(s, &facts)
	return nil
}

func (o *plantFit) options(s *session) (calibrate.Options, error) {
	var c calibrate.Options
	var err error
	if c.From, err = s.bound("from", o.from, localtime.Start); err != nil {
		return c, err
	}
	if c.To, err = s.bound("to", o.to, localtime.End); err != nil {
		return c, err
	}
	if !c.From.IsZero() && !c.To.IsZero() && !c.From.Before(c.To) {
		return c, usagef("--from %s is not before --to %s", jsonTime(c.From, s.loc), jsonTime(c.To, s.loc))
	}
	return c, nil
}

// write writes the revised description, never over a file.
func (o *plantFit) write(f *calibrate.Facts, r record.Revision) error {
	revised, err := f.Revised("the description in force", []byte(r.Text))
	if err != nil {
		return err
	}
	err = writeNew(o.out, revised)
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s: a file of that name is there already; name another one; %s", o.out, nothingChanged)
	case err != nil:
		return fmt.Errorf("%s: it cannot be written: %w; %s", o.out, bare(err), nothingChanged)
	}
	return nil
}

func (o *plantFit) fitText(s *session, f *plantFitFacts) {
	o.say("Fitted to %d rounds with a clean screen, %s to %s.", f.Rounds, f.From.In(s.loc).Format(time.DateOnly), f.To.In(s.loc).Format(time.DateOnly))
	o.say("")
	o.say("  %-30s %10s %10s   %s", "", "file", "fitted", "range")
	for _, n := range f.Numbers {
		if n.Held == "" {
			o.say("  %-30s %10s %10s   %s", text.Show(n.Name), fileWord(n), fitted(n), fitRange(n))
		}
	}
	o.section("Held at the file's values:", heldLines(f.Numbers))
	o.section("How well the readings are met:", metLines(f.Readings))
	o.cautions(f.Cautions)
	o.say("")
	shown := text.Show(o.out)
	switch {
	case !f.Changed:
		o.say("The plant file agrees with the rounds: there is nothing to change%s.", unlessWritten(o.out))
	case f.Written != "":
		o.say("%s is written: the plant file in force with %s changed. Look it over, then: headpond plant load %s", shown, changedKeys(f.Numbers), shown)
	default:
		o.say("A revised plant file is written with: headpond plant fit --out FILE. Nothing was changed.")
	}
}

func unlessWritten(out string) string {
	if out == "" {
		return ""
	}
	return ", and no file was written"
}

func fileWord(n calibrate.Number) string {
	if n.Key == "" {
		return ""
	}
	return withUnit(fmt.Sprintf("%g", n.File), n)
}

// fitted is the fitted value with the digits that it deserves.
func fitted(n calibrate.Number) string { return withUnit(fmt.Sprintf("%g", deserved(n, n.Fitted)), n) }

// deserved is a value with no more digits than the fit's error deserves.
func deserved(n calibrate.Number, v float64) float64 {
	if n.LowGiven == nil {
		return calibrate.Rounded(v, (n.High-n.Low)/4)
	}
	return calibrate.Rounded(v, (*n.HighGiven-*n.LowGiven)/4)
}

func withUnit(s string, n calibrate.Number) string {
	if n.Unit == "" {
		return s
	}
	return s + " " + n.Unit
}

// fitRange is the range if what is held is as in the file, and the whole one where that is wider.
func fitRange(n calibrate.Number) string {
	whole := fmt.Sprintf("%g to %g", deserved(n, n.Low), deserved(n, n.High))
	if n.LowGiven == nil {
		return whole
	}
	given := fmt.Sprintf("%g to %g", deserved(n, *n.LowGiven), deserved(n, *n.HighGiven))
	if n.High-n.Low < 1.1*(*n.HighGiven-*n.LowGiven) {
		return whole
	}
	return given + "; " + whole + " with what is held"
}

func heldLines(list []calibrate.Number) []string {
	var lines []string
	for _, n := range list {
		if n.Held != "" {
			at := ""
			if n.Key != "" {
				at = ", " + fileWord(n)
			}
			lines = append(lines, text.Show(n.Name+at+": "+n.Held))
		}
	}
	return lines
}

func metLines(list []calibrate.Readings) []string {
	var lines []string
	for _, r := range list {
		lines = append(lines, fmt.Sprintf("%s, %d readings: off by %.2g by the file, %.2g after the fit", r.Quantity, r.Count, r.Before, r.After))
	}
	return lines
}

func changedKeys(list []calibrate.Number) string {
	var keys []string
	for _, n := range list {
		if n.Changes {
			keys = append(keys, n.Key)
		}
	}
	return strings.Join(keys, ", ")
}
