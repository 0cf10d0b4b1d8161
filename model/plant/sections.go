package plant

import "strings"

// section is one table of the file as the starting file and the messages know it.
type section struct {
	name  string // full name, "ballast.element"
	list  bool   // written [[name]]
	off   bool   // commented out in the starting file
	intro string // what the table holds
	specs []spec
}

func specs[T any](fields []field[T]) []spec {
	out := make([]spec, len(fields))
	for i, f := range fields {
		out[i] = f.spec
	}
	return out
}

// sections lists the tables in the order of the starting file.
func sections() []section {
	return []section{
		{name: "site", intro: "The place.", specs: specs(siteFields())},
		{name: "supply", intro: "The common bus: what the consumers are fed with.", specs: specs(supplyFields())},
		{name: "band", list: true, off: true, specs: specs(bandFields()),
			intro: "Limits of your own for a reading, instead of the built-in ones; one [[band]] for each reading."},
		{name: "pond", intro: "The water behind the dam. Levels are metres on the staff gauge; below its zero they are negative.", specs: specs(pondFields())},
		{name: "intake", intro: "The mouth of the penstock and the screen before it.", specs: specs(intakeFields())},
		{name: "penstock", list: true, intro: "The pipe; one [[penstock]] for each.", specs: specs(penstockFields())},
		{name: "unit", list: true, intro: "A set: machine and generator; one [[unit]] for each.", specs: specs(unitFields())},
		{name: "ballast", intro: "The load controller, which diverts what the consumers do not take.", specs: specs(ballastFields())},
		{name: "ballast.element", list: true, intro: "A ballast heater; one [[ballast.element]] for each.", specs: specs(elementFields())},
		{name: "load", list: true, intro: "A consumer that is switched by hand; one [[load]] for each. Ballast says which of them still fit.", specs: specs(loadFields())},
		{name: "gauge", intro: "The smallest division that can be read on each gauge; half of it is taken as the reading error.\nAny numeric column of the log may stand here; with its id for one unit's own gauge, in quotes: \"A.volts\" = 2", specs: gaugeSpecs()},
		{name: "upkeep", list: true, intro: "A task that comes round; one [[upkeep]] for each.", specs: specs(taskFields())},
		{name: "checklist", list: true, off: true, specs: specs(checklistFields()),
			intro: "A list of steps that is walked in order, on the Upkeep screen or from paper; one [[checklist]] for each. Starting, stopping, after a trip and clearing the screen have built-in lists, which hold where the file gives none."},
		{name: "money", off: true, intro: "What the energy is worth.", specs: specs(moneyFields())},
		{name: "money.fuel", list: true, off: true, intro: "A fuel that the plant replaces; one [[money.fuel]] for each.", specs: specs(fuelFields())},
	}
}

// heading returns the section's heading as it is written.
func (s section) heading() string {
	if s.list {
		return "[[" + s.name + "]]"
	}
	return "[" + s.name + "]"
}

func isKnownTable(name string, known []string) bool {
	for _, k := range known {
		if top, _, _ := strings.Cut(k, "."); top == name {
			return true
		}
	}
	return false
}

// homeOf returns the one table that has a key of this name, "" where none or several have it.
func homeOf(key string) string {
	home := ""
	for _, s := range sections() {
		for _, k := range s.specs {
			if k.key != key {
				continue
			}
			if home != "" {
				return ""
			}
			home = s.name
		}
	}
	return home
}

// joinPlain lists names for a sentence without quotes.
func joinPlain(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
