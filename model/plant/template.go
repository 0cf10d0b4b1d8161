package plant

import "strings"

// templateName is the name of the starting file's invented plant, by which Advice knows a file that was not filled in.
const templateName = "Example plant"

// templateHead tells how to fill the file in.
const templateHead = `# A plant's description for Headpond.
#
# EVERY VALUE BELOW IS THAT OF AN INVENTED PLANT AND MUST BE REPLACED by your own, with a tape
# measure, the name plates and the installer's papers. The comment above a key says what it is and
# where to find it. Keys marked (required) must stay; any other line may be deleted if you do not
# know its value, and the comment says what then holds. Check the file with:
#   headpond plant check FILE
#
# A line such as  #key = value  is a key that is not in force; take the # away to use it.
# Numbers are bare, with a decimal point, in the unit that the key's name ends with: _m metres,
# _mm millimetres, _lps litres a second, _kw kilowatts, _kva kilovolt-amperes, _kpa kilopascals.
# Text stands in straight quotation marks. Levels and elevations are metres on the pond's staff
# gauge; what lies below the gauge's zero is negative.
`

// templateWidth is how long a comment line of the starting file may be.
const templateWidth = 100

// Template returns the commented starting file: every key of every table, with what it is, where a caretaker finds it and
// what holds without it. It is a sound file of an invented small plant.
func Template() []byte {
	var b strings.Builder
	b.WriteString(templateHead)
	for _, s := range sections() {
		b.WriteString("\n")
		for line := range strings.SplitSeq(s.intro, "\n") {
			comment(&b, "#", "#", line)
		}
		if s.off {
			comment(&b, "#", "#", "The whole table may be left out.")
			b.WriteString("#")
		}
		b.WriteString(s.heading() + "\n")
		for _, k := range s.specs {
			templateKey(&b, k, s.off)
		}
	}
	return []byte(b.String())
}

// templateKey writes one key with its comment: what it is, where to find it, and what holds without it.
func templateKey(b *strings.Builder, k spec, off bool) {
	if k.required {
		comment(b, "#", "#  ", k.key+": "+k.what+" (required)")
		comment(b, "#  ", "#  ", k.find)
	} else {
		comment(b, "#", "#  ", k.key+": "+k.what)
		comment(b, "#  ", "#  ", k.find+" Without it: "+k.standard+".")
	}
	if len(k.words) > 0 {
		comment(b, "#  ", "#  ", "One of "+joinWords(k.words)+".")
	}
	if off || k.off {
		b.WriteString("#")
	}
	b.WriteString(k.key + " = " + k.example + "\n")
}

// comment writes text as comment lines that are not too wide; lines after the first begin with hang.
func comment(b *strings.Builder, first, hang, text string) {
	line := first
	for _, word := range strings.Fields(text) {
		if len(line) > len(hang) && len(line)+1+len(word) > templateWidth {
			b.WriteString(line + "\n")
			line = hang
		}
		line += " " + word
	}
	b.WriteString(line + "\n")
}
