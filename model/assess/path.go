package assess

import (
	"fmt"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/steady"
)

// Path is the way from pond to plug as it is: the plant's model with the screen as the readings tell it, and what the readings
// say of consumers and ballast. The tags are those of `headpond now --json`.
type Path struct {
	steady.Expectation
	// Screen is the share of the screen's openings that is clear, as the readings tell it; absent where they do not, and then the
	// screen is taken as clean.
	Screen  *clearing.Range `json:"screen_clear,omitempty"`
	ShaftKW float64         `json:"shaft_kw"` // all running units

	// OldScreen is set where the screen's loss was read so long ago that the middle of what it may be now tells little.
	OldScreen *OldScreen `json:"-"`

	LoadKW *float64 `json:"load_kw,omitempty"`
	Dumped *float64 `json:"dumped_kw,omitempty"`
}

// OldScreen is how long ago the screen's loss was read, and between what it may lie now, m.
type OldScreen struct {
	Ago   time.Duration
	LossM clearing.Range
}

// path follows the water through the plant as it runs. It is nil where nothing flows, and where the model cannot tell.
func (a *Assessor) path(n *Now) *Path {
	if n.Expected == nil || n.Expected.Steps == nil {
		return nil
	}
	out := &Path{Expectation: *n.Expected}
	if s := n.Screen; s != nil && s.Loss != nil && s.Loss.Now != nil {
		r := s.Loss.Now.Clear
		e, err := a.Expect(ExpectOptions{ScreenOpen: &r.P50})
		if err != nil || e.Steps == nil {
			return nil
		}
		out.Expectation, out.Screen = *e, &r
		if last := lastRead(s.Loss, n.At); last != nil {
			out.OldScreen = &OldScreen{Ago: n.At.Sub(last.Time), LossM: s.Loss.Now.LossM}
		}
	}
	out.ShaftKW = out.Steps.AtPlug + out.Steps.Generator
	if n.Power != nil {
		out.LoadKW, out.Dumped = n.Power.LoadKW, n.Power.DumpedKW
	}
	return out
}

// seemsClean is the clear share from which a screen is called clean: no gauge tells it from all of it.
const seemsClean = 0.9

// ScreenClear says how much of the screen is clear: "5 % clear (4 to 6 %)", "more than 20 % clear", "clean", or "taken as
// clean" where no reading tells.
func (p *Path) ScreenClear() string {
	if p.Screen == nil {
		return "taken as clean"
	}
	lo, mid, hi := sharePct(p.Screen.P10), sharePct(p.Screen.P50), sharePct(p.Screen.P90)
	switch {
	case p.Screen.P10 >= seemsClean:
		return "clean"
	case p.Screen.P90 >= seemsClean:
		return "more than " + lo + " % clear"
	case lo == hi:
		return mid + " % clear"
	}
	return fmt.Sprintf("%s %% clear (%s to %s)", mid, lo, hi)
}

// sharePct writes a share in per cent, below 10 with the decimals that it takes to tell small ones apart.
func sharePct(share float64) string {
	switch pct := 100 * share; {
	case pct < 1:
		return fmt.Sprintf("%.2f", pct)
	case pct < 10:
		return fmt.Sprintf("%.1f", pct)
	default:
		return fmt.Sprintf("%.0f", pct)
	}
}
