package plant_test

import (
	"math"
	"testing"

	"example.org/headpond/model/plant"
)

// velocityFlow returns the flow in L/s that gives a velocity in a round mouth.
func velocityFlow(velocityMS, diameterM float64) float64 {
	return velocityMS * math.Pi * diameterM * diameterM / 4 * 1000
}

func TestSubmergence(t *testing.T) {
	// Gordon 1970 (from memory), S over the crown. The references' arithmetic: V 1.5 m/s, D 0.30 m gives 0.595 m for lateral
	// approach; in feet the same rule is 0.4 V sqrt(D): V 5 ft/s, D 1 ft gives 2.0 ft.
	for _, c := range []struct {
		name                           string
		velocityMS, diameterM, S, tolM float64
	}{
		{"references 3.1", 1.5, 0.30, 0.595, 0.0005},
		{"in feet", 5 * 0.3048, 1 * 0.3048, 2.0 * 0.3048, 0.0005},
		{"no flow needs none", 0, 0.5, 0, 1e-12},
	} {
		t.Run(c.name, func(t *testing.T) {
			total := velocityFlow(c.velocityMS, c.diameterM)
			p := &plant.Plant{
				Intake: plant.Intake{CentrelineM: at(-2), DiameterM: at(c.diameterM)},
				Units:  []plant.Unit{{ID: "A", BestFlowLps: total * 0.6}, {ID: "B", BestFlowLps: total * 0.4, Bus: "own"}},
			}
			got, from, ok := p.StopLevel()
			if want := -2 + c.diameterM/2 + c.S; !ok || math.Abs(got-want) > c.tolM {
				t.Errorf("stop level %v (%v), want %v", got, ok, want)
			}
			if from != "submergence" {
				t.Errorf("from %q", from)
			}
		})
	}
}

func TestTernHollowsSubmergence(t *testing.T) {
	// By hand for the contract's plant: V = 0.076/(π 0.35²/4) = 0.78993 m/s; S = 0.7245 · 0.78993 · √0.35 = 0.33858 m;
	// level = -1.55 + 0.175 + 0.33858 = -1.03642 m, below its stop_level_m.
	p := &plant.Plant{
		Intake: plant.Intake{CentrelineM: at(-1.55), DiameterM: at(0.35)},
		Units:  []plant.Unit{{ID: "A", BestFlowLps: 76}},
	}
	if got, ok := p.SubmergenceLevel(); !ok || math.Abs(got - -1.03642) > 1e-5 {
		t.Errorf("%v, %v", got, ok)
	}
}

func TestTheFilesStopLevelComesFirst(t *testing.T) {
	p := mustParse(t, soundFile)
	if _, _, ok := p.StopLevel(); ok {
		t.Error("a stop level without an intake or a key")
	}
	p.Intake.CentrelineM = at(-1.55)
	if _, _, ok := p.StopLevel(); ok {
		t.Error("a stop level without the intake's diameter")
	}
	p.Pond.StopLevelM = at(-0.85)
	if got, from, ok := p.StopLevel(); got != -0.85 || from != "plant" || !ok {
		t.Errorf("%v from %q, %v", got, from, ok)
	}
}
