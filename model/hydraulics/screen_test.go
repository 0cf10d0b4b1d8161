package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// By hand for φ = 0.5: (0.707·0.70711 + 0.5)² / 0.25 = (0.99993)² / 0.25 = 3.9994.
func TestScreenKByHand(t *testing.T) {
	near(t, "K at 0.5", ScreenK(0.5), 3.9994, 0.0001)
	near(t, "K wide open", ScreenK(1), 0, 0)
	near(t, "K beyond open", ScreenK(1.2), 0, 0)
	for _, shut := range []float64{0, -0.1, math.NaN()} {
		if !math.IsInf(ScreenK(shut), 1) {
			t.Errorf("K(%g) is %g; expected +Inf", shut, ScreenK(shut))
		}
	}
}

func TestScreenShareIsTheInverseOfK(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		open := math.Exp(rapid.Float64Range(math.Log(1e-9), 0).Draw(t, "ln φ"))
		back := ScreenOpenShare(ScreenK(open))
		if math.Abs(back-open) > 1e-7*open {
			t.Fatalf("φ %g comes back as %g", open, back)
		}
	})
	near(t, "no loss", ScreenOpenShare(0), 1, 0)
	near(t, "all loss", ScreenOpenShare(math.Inf(1)), 0, 0)
}

func TestScreenKFallsAsTheScreenOpens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0.001, 0.998).Draw(t, "less open")
		b := rapid.Float64Range(a+0.001, 1).Draw(t, "more open")
		if !(ScreenK(b) < ScreenK(a)) {
			t.Fatalf("K(%g) = %g, K(%g) = %g", a, ScreenK(a), b, ScreenK(b))
		}
	})
}

func TestScreenLossAndShareAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(0.001, 1).Draw(t, "flow")
		area := rapid.Float64Range(0.1, 10).Draw(t, "area")
		open := rapid.Float64Range(0.005, 0.99).Draw(t, "open")
		back, ok := ScreenShareFromLoss(ScreenLoss(q, area, open), q, area)
		if !ok || math.Abs(back-open) > 1e-7 {
			t.Fatalf("open share %g comes back as %g (%v)", open, back, ok)
		}
	})
}

func TestScreenTellsNothingWithoutFlow(t *testing.T) {
	if _, ok := ScreenShareFromLoss(0.1, 0, 1); ok {
		t.Error("a share was told without flow")
	}
	if _, ok := ScreenShareFromLoss(math.NaN(), 0.1, 1); ok {
		t.Error("a share was told from no number")
	}
	near(t, "loss of a blocked screen without flow", ScreenLoss(0, 1, 0), 0, 0)
	if share, ok := ScreenShareFromLoss(-0.01, 0.1, 1); !ok || share != 1 {
		t.Errorf("a loss below nothing gives %g, %v; expected a clear screen", share, ok)
	}
}
