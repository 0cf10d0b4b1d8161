package checklist

import (
	"fmt"

	"example.org/headpond/model/plant"
)

// Cautions that several lists share.
const (
	lineVoltage = "Line voltage kills. The set, the panel and the ballast are live while anything turns, also with the house switched off, and a set can start again as long as water can reach it."
	hotBallast  = "Ballast heaters and their housing burn the hand that touches them, and stay hot long after a stop. Nothing lies on them or leans against them."
	beltsCatch  = "Belts and shafts catch sleeves, scarves and hair. Guards stay on; never brake or touch a set that still turns."
	beyond      = "Opening a panel, a guard or a casing is more than operating: stop, isolate, lock out, and prove dead with a tester tried before and after on a source that is live. Electrical work is for a licensed electrician."
	openIntake  = "Water pulls hands, tools and clothes to an open intake and can hold a person under water, also at a small opening. Never reach into a screen that draws."
	thinIce     = "Ice over moving water, near an intake or a spillway, is not to be trusted at any thickness."
	papersFirst = "This list is a beginning. The papers of the installer and the makers, the local electrical code and the water permit come first."
)

// builtIn is the list for an occasion with the plant's own numbers.
func (f *facts) builtIn(occasion plant.ListFor) List {
	l := List{For: occasion, BuiltIn: true}
	switch occasion {
	case plant.ForStart:
		l.Name = "Starting"
		l.Cautions = []string{lineVoltage, hotBallast, beltsCatch, f.slowValve(), beyond, papersFirst}
		l.Steps = f.start()
	case plant.ForStop:
		l.Name = "Stopping"
		l.Cautions = []string{f.slowValve(), lineVoltage, hotBallast, beltsCatch, beyond, papersFirst}
		l.Steps = f.stopping()
	case plant.ForAfterTrip:
		l.Name = "After a trip"
		l.Cautions = []string{lineVoltage, beltsCatch, hotBallast,
			"A trip is a message. Protection is never bridged, and its settings are never changed, to keep the plant running.",
			f.slowValve(), beyond, papersFirst}
		l.Steps = f.afterTrip()
	case plant.ForClearing:
		l.Name = "Clearing the screen"
		l.Cautions = []string{openIntake, thinIce,
			"Wet stones and planks are slippery: clear with a long rake from firm ground, in daylight or good light, and never alone where you could fall in.",
			"A stop to clear the screen is a stop like any other: walk the stopping list first.", papersFirst}
		l.Steps = f.clearing()
	}
	return l
}

// slowValve is the caution about the main valve, with the closing time where the pipe's description gives it.
func (f *facts) slowValve() string {
	return with("Shutting the main valve fast can burst the pipe.", "Take %s from open to shut, an estimate by Michaud's rule, and go slowest in the last quarter.", f.closing)
}

// steps gathers steps; those that do not concern the plant are left out.
type steps []string

func (s *steps) add(text string) { *s = append(*s, text) }

func (s *steps) when(concerns bool, text string) {
	if concerns {
		s.add(text)
	}
}

func (f *facts) settle() string {
	return with("Wait until voltage and frequency stand still.", "Good is %s.", f.band)
}

func (f *facts) start() []string {
	screen, ballast, several := f.has()
	var s steps
	s.add(with("Read the pond level on the staff gauge and write it down.", "It must stand well above the stop level of %s.", f.stop))
	s.when(screen, "Look at the screen from firm ground: clear, no ice, water standing alike over all of it.")
	s.when(f.bypass != "", fmt.Sprintf("See that the bypass runs: %s must always pass beside the plant.", f.bypass))
	s.add("Look round the machines: guards on, no tools or rags about, belts whole, no leak, oil and grease where they belong.")
	s.add("See that nobody works on the machines, the panel or the line, and that no lock or tag hangs anywhere. A lock is taken off only by the person who put it on.")
	s.add("Tell the house that power is coming. Open the main switch to the house, so that the set starts with no consumers.")
	s.when(ballast, fmt.Sprintf("Look at the ballast: cover on, vents free, breakers of all %s closed, the controller ready as its papers say. A set without its ballast runs away.", elements(f.p)))
	s.add(with("If the pipe was drained, fill it slowly and let the air out until the pressure gauge stands still.", "Full and at rest it shows %s.", f.static))
	s.add("Open the main valve slowly, standing aside from belt and shaft, and listen. Shut it again, slowly, if anything knocks, scrapes or shakes.")
	s.add(f.settle() + " If they do not settle within a minute or two, shut the valve slowly and look for the cause.")
	s.when(several, "If a second set joins: only as your electrician has set down, with the same voltage, the same frequency, and in step.")
	s.add("Close the main switch to the house. Switch consumers on one after the other, those with motors first, and wait after each until the frequency stands still again.")
	s.add("Stay ten minutes: bearings warm but not hot, no new noise, no smell, the pressure steady. Then walk a round and write it down.")
	return s
}

func elements(p *plant.Plant) string {
	if n := len(p.Ballast.Elements); n > 1 {
		return fmt.Sprintf("%d elements", n)
	}
	return "elements"
}

func (f *facts) stopping() []string {
	screen, ballast, _ := f.has()
	var s steps
	s.add("Tell the house that power is going: freezers, pumps, computers, whoever stands on a ladder with a drill.")
	s.add("Read voltage, frequency, load and pressure, and write them down: the last readings before a stop tell the most.")
	s.when(ballast, "Look at Ballast: can it take everything? If not, leave some consumers on until the valve is nearly shut.")
	s.add("Switch the consumers off one after the other, the largest first, and wait after each until the frequency stands still.")
	s.add(with("Shut the main valve slowly.", "Take %s, and go slowest in the last quarter.", f.closing))
	s.add("Wait until the set stands. Do not touch it, and do not brake it by hand.")
	s.add("Open the main switch to the house. Switch the controller off as its papers say.")
	s.add("Read the hour and energy meters and write them down.")
	s.when(f.bypass != "", fmt.Sprintf("See that the bypass still runs: %s must always pass beside the plant.", f.bypass))
	s.add(with("Think of the pond: it rises now.", "The permit allows it up to %s.", f.high))
	s.when(screen, "If frost is coming: drain what can freeze, as the makers' papers say, and look at the screen for ice.")
	s.add("If someone is going to work on the machines, the panel or the line: lock the valve shut and the main switch open, hang a tag with a name on each, wait for what still turns or holds a charge, and prove dead before a hand goes in.")
	return s
}

func (f *facts) afterTrip() []string {
	screen, ballast, _ := f.has()
	var s steps
	s.add("Stand at the door first: look, listen, smell. With smoke or fire stay out, get everybody out and call for help.")
	s.add(with("Does the set still turn? If it runs fast and free, shut the main valve slowly, from the side.", "Take %s.", f.closing))
	s.add("Write down the time and what the protection shows (lamps, flags, codes) before anything is reset.")
	s.add(with("Write down what can still be read: voltage, frequency, pressure, pond level.", "The protection is set to %s.", f.trips))
	s.add("Ask the house what was switched on or off just before, and what the lights did.")
	s.add(with("Look at the pond: is there water over the intake?", "The stop level is %s.", f.stop))
	s.when(screen, "Look at the screen from firm ground: blocked, iced, torn?")
	s.when(ballast, "Look at the ballast with its cover on: breakers, fuses, lamps and meters, a smell of burning. Look at Faults and Ballast for what the readings say.")
	s.add("With the set at a stand and guards on: look at belts and couplings, feel the outside of bearings and generator for heat with the back of the hand.")
	s.add("Look along the line from a distance: branches, broken insulators. A wire on the ground is live until an electrician has proved it dead.")
	s.add("Is the cause found and gone? If not, leave it stopped and call your electrician or contractor.")
	s.add("Reset the protection as its papers say. Change no setting.")
	s.add("Start by the starting list, and stay for half an hour. Walk a round before you leave, and write the trip with its cause into the log.")
	return s
}

func (f *facts) clearing() []string {
	var s steps
	s.add("Tell someone where you go and when you will be back. Take rake, gloves, good light; a life jacket where the water is deep.")
	s.add("Read the intake pressure before, and write it down.")
	s.add("Look from firm ground: footing, ice, the water's level, what is drifting down. If it is not safe now, it waits.")
	s.add("If a rake from outside will not do, stop the plant by the stopping list, and wait until the water stands alike on both sides of the screen. No hand goes to it before.")
	s.add("Rake from the bottom up, a strip at a time, and lift what comes out of the water.")
	s.add("Put what you took out where the next high water does not bring it back.")
	s.add(with("Look at the screen itself: holes, bent or missing bars, gaps at the edges.", "Nothing wider than %s should pass.", f.hole))
	s.when(f.bypass != "", fmt.Sprintf("See that the bypass is not buried: %s must always pass.", f.bypass))
	s.add("Back at the machine, wait two minutes until the gauge stands still. Read the pressure after, and write it down. If it hardly rose, look at Faults.")
	s.add("Walk a round: screen cleared, and both pressures.")
	return s
}
