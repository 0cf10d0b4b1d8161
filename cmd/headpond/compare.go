package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/faults"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui/text"
)

// compareDays is how far back the share of readings out of band looks.
const compareDays = 30

// compareStaleHours is the age of the last round from which on nothing is said of the water and the screen now: how the pond
// stands after three days without a look is a guess (our choice, since rounds are walked daily).
const compareStaleHours = 72

const tooOld = "too old"

func compareCommand(c *command) *cobra.Command {
	cmd := c.reporting(&cobra.Command{
		Use:   "compare FILE…",
		Short: "Several books or packages side by side, for someone who looks after many plants",
		Long: prose("A line for each book or export package: how old the last round is, the share of readings out of band over the last 30 days, the screen, the ballast's margin if all consumers drop off, how many days the water lasts as the plant runs now, and the likeliest fault. Where the last round is more than three days old, the water and the screen are too old to tell.",
			"Files are read one after the other, and none is changed. One that cannot be read is told; the others are shown all the same, and the exit status is 1."),
		Args: usageArgs(cobra.MinimumNArgs(1), "books or packages"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.compare(cmd.Context(), args) },
	})
	cmd.Flags().Lookup("json").Usage = "print one JSON object instead of a table"
	return cmd
}

// comparison is one plant's line, and one of the plants that `compare --json` prints; our addition to the contract. What is not known is absent.
type comparison struct {
	File      string              `json:"file"`
	Plant     string              `json:"plant"`
	At        string              `json:"at"`
	LastRound string              `json:"last_round,omitempty"`
	AgeHours  *float64            `json:"age_hours,omitempty"`
	TooOld    bool                `json:"too_old,omitempty"`   // to tell of the water and the screen
	Rounds    int                 `json:"rounds"`              // of the last 30 days
	Judged    int                 `json:"judged"`              // readings of these that a band judges
	OutShare  *float64            `json:"out_share,omitempty"` // of Judged, 0–1
	NearShare *float64            `json:"near_share,omitempty"`
	Screen    *assess.ScreenFacts `json:"screen,omitempty"`
	Ballast   *compareBallast     `json:"ballast,omitempty"`
	Water     *compareWater       `json:"water,omitempty"`
	Fault     *compareFault       `json:"fault,omitempty"`
	Attention string              `json:"attention,omitempty"` // the most urgent, in words
	Cautions  []string            `json:"cautions,omitempty"`
}

// compareBallast is the ballast if all consumers drop off.
type compareBallast struct {
	MarginKW  float64  `json:"margin_kw"`
	MarginPct *float64 `json:"margin_pct,omitempty"`
}

// compareWater is how long the water lasts as the plant runs now.
type compareWater struct {
	LevelM  float64       `json:"level_m"`
	Run     []string      `json:"run"`
	Outcome water.Outcome `json:"outcome,omitempty"`
	Hours   *water.Hours  `json:"hours,omitempty"`

	FilledFirst *float64 `json:"filled_first,omitempty"`
}

// compareFault is the likeliest cause, where the readings of the last days tell of any.
type compareFault struct {
	Verdict     faults.Verdict `json:"verdict"`
	Fault       faults.Fault   `json:"fault"`
	Probability float64        `json:"probability"`
}

// compareFacts are all plants that could be read, in the order of the command line.
type compareFacts struct {
	Plants []*comparison `json:"plants"`
}

func (c *command) compare(ctx context.Context, files []string) error {
	failed, printed := 0, 0
	all := compareFacts{Plants: []*comparison{}}
	wide := c.width == 0 || c.width >= compareWide
	for _, path := range files {
		line, err := c.compareFile(ctx, path)
		var usage usageError
		switch {
		case errors.As(err, &usage), ctx.Err() != nil:
			return err
		case err != nil:
			failed++
			c.tell("headpond: %s", sentence(err))
			continue
		}
		if c.json {
			all.Plants = append(all.Plants, line)
			continue
		}
		if printed == 0 {
			c.block(compareHead(wide))
		}
		printed++
		c.block(line.text(wide))
	}
	if c.json {
		if err := c.printJSON(all); err != nil {
			return err
		}
	}
	if failed > 0 {
		return fmt.Errorf("%d of %d files could not be read; the others are shown", failed, len(files))
	}
	return nil
}

// compareFile reads one book or package and forgets it again, so that many files need no more memory than the largest.
func (c *command) compareFile(ctx context.Context, path string) (*comparison, error) {
	if err := mustExist(path); err != nil {
		return nil, err
	}
	book := path
	if isPackage(path) {
		v, err := c.packageBook(ctx, path)
		if err != nil {
			return nil, err
		}
		defer v.remove()
		book = v.book
	}
	s, err := c.visit(book).read(ctx)
	if err != nil {
		return nil, err
	}
	h, err := s.history(ctx, logbook.HistoryOptions{})
	if err != nil {
		return nil, err
	}
	if h.Plant == nil {
		return nil, fmt.Errorf("%s: it holds no plant description", path)
	}
	line := compared(ctx, h)
	line.File = path
	return line, ctx.Err()
}

// compared works out one line.
func compared(ctx context.Context, h *record.History) *comparison {
	a := assess.Of(h)
	n := a.Now()
	c := &comparison{Plant: n.Plant, At: record.TimeText(h.At), Screen: n.Screen, Cautions: h.Cautions}
	if n.Round != nil {
		c.LastRound, c.AgeHours = record.TimeText(n.Round.Time), &n.Round.AgeHours
	}
	c.bands(a, h)
	if b := n.Ballast; b != nil && b.Rejection != nil {
		c.Ballast = &compareBallast{b.Rejection.MarginKW, b.Rejection.MarginPct}
	}
	if c.TooOld = c.AgeHours != nil && *c.AgeHours > compareStaleHours; c.TooOld {
		c.Screen = nil
	} else if n.Running != nil {
		c.water(ctx, a, n)
	}
	c.fault(ctx, h)
	if len(n.Attention) > 0 {
		c.Attention = n.Attention[0].Text
	}
	return c
}

// bands counts the readings of the last days by their state.
func (c *comparison) bands(a *assess.Assessor, h *record.History) {
	from := h.At.Add(-compareDays * 24 * time.Hour)
	out, near := 0, 0
	for _, r := range h.Rounds {
		if r.Time.Before(from) {
			continue
		}
		c.Rounds++
		for _, j := range a.Judge(r) {
			switch j.State {
			case tolerance.Out:
				out++
			case tolerance.Near:
				near++
			case tolerance.In:
			default:
				continue
			}
			c.Judged++
		}
	}
	if c.Judged > 0 {
		o, n := float64(out)/float64(c.Judged), float64(near)/float64(c.Judged)
		c.OutShare, c.NearShare = &o, &n
	}
}

func (c *comparison) water(ctx context.Context, a *assess.Assessor, n *assess.Now) {
	f, err := a.Water(ctx, water.Options{Ways: []water.Choice{{Run: n.Running}}})
	if err != nil {
		c.Cautions = append(c.Cautions, "water: "+err.Error())
		return
	}
	c.Water = &compareWater{LevelM: f.LevelM, Run: n.Running}
	if len(f.Ways) > 0 {
		c.Water.Outcome, c.Water.Hours, c.Water.FilledFirst = f.Ways[0].Outcome, f.Ways[0].Hours, f.Ways[0].FilledFirst
	}
}

// fault asks which cause fits the last readings best; without a round there is none to ask about.
func (c *comparison) fault(ctx context.Context, h *record.History) {
	if len(h.Rounds) == 0 {
		return
	}
	f, err := faults.Report(ctx, h, faults.Options{})
	switch {
	case err != nil:
		c.Cautions = append(c.Cautions, "faults: "+err.Error())
	case len(f.Ranked) > 0 && f.ReadingsUsed > 0:
		c.Fault = &compareFault{f.Verdict, f.Ranked[0].Fault, f.Ranked[0].Probability}
	}
}

// text names the cause in words.
func (f *compareFault) text() string {
	switch {
	case f == nil:
		return "-"
	case f.Verdict == faults.CannotTell:
		return "cannot tell"
	case f.Verdict == faults.Sound:
		return "none"
	}
	return f.Fault.Label()
}

// The columns of the table. The file comes last, however long; on a terminal that is too narrow for it, below.
const (
	comparePlant  = 15
	compareAge    = 9
	compareOut    = 7
	compareScreen = 8
	compareMargin = 8
	compareDaysIn = 14
	compareCause  = 19
	compareWide   = 100 // cells from which the file stands in the line
)

func compareHead(wide bool) string {
	file := "File"
	if !wide {
		file = ""
	}
	return compareRow(wide, "Plant", "Last", "Out of", "Screen", "Ballast", "Water, days", "Likeliest fault", file) + "\n" +
		compareRow(true, "", "round", "band", "", "margin", "", "", "")
}

func compareRow(wide bool, plant, age, out, screen, margin, days, cause, file string) string {
	row := text.Fit(plant, comparePlant-1, "~") + " " + text.PadRight(age, compareAge) + text.PadRight(out, compareOut) + text.PadRight(screen, compareScreen) +
		text.PadRight(margin, compareMargin) + text.PadRight(days, compareDaysIn) + text.Fit(cause, compareCause-1, "~") + " "
	if wide || file == "" {
		return strings.TrimRight(row+file, " ")
	}
	return strings.TrimRight(row, " ") + "\n  " + file
}

// text is a plant's line of the table; what is not known is a dash.
func (c *comparison) text(wide bool) string {
	age, out, screen, margin := "-", "-", "-", "-"
	if c.AgeHours != nil {
		age = ageWords(*c.AgeHours)
	}
	if c.OutShare != nil {
		if out = fmt.Sprintf("%.0f %%", 100**c.OutShare); *c.OutShare > 0 && *c.OutShare < 0.01 {
			out = "<1 %"
		}
	}
	if c.Screen != nil && c.Screen.State != "" {
		screen = c.Screen.State
	}
	days := c.Water.text()
	if c.TooOld {
		screen, days = tooOld, tooOld
	}
	if c.Ballast != nil {
		margin = fmt.Sprintf("%.1f kW", c.Ballast.MarginKW)
	}
	return compareRow(wide, text.Show(c.Plant), age, out, screen, margin, days, c.Fault.text(), text.Show(c.File))
}

func ageWords(hours float64) string {
	switch {
	case hours < 48:
		return fmt.Sprintf("%.0f h", hours)
	}
	return fmt.Sprintf("%.0f days", hours/24)
}

// text says how long the water lasts: the middle and the range of days, or what comes instead.
func (w *compareWater) text() string {
	switch {
	case w == nil:
		return "-"
	case w.Outcome == water.RunsOut && w.Hours != nil && w.Hours.P50 != nil:
		s := fmt.Sprintf("%.0f", *w.Hours.P50/24)
		if w.Hours.P10 == nil {
			return s
		}
		to := "more"
		if w.Hours.P90 != nil {
			to = fmt.Sprintf("%.0f", *w.Hours.P90/24)
		}
		return fmt.Sprintf("%s (%.0f to %s)", s, *w.Hours.P10/24, to)
	case w.Outcome == water.RunsOut:
		return "runs out"
	case w.Outcome == water.Spills:
		return "spills"
	case w.Outcome == water.Lasts:
		return "lasts"
	}
	return "-"
}
