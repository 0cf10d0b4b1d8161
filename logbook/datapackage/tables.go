package datapackage

import (
	"errors"
	"fmt"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// The names of the tables, which are also those of their resources.
const (
	tableRounds     = "rounds"
	tableEvents     = "events"
	tableAmendments = "amendments"
	tableUpkeep     = "upkeep"
	tablePlants     = "plants"
	tableOthers     = "others"
)

// errOneKind is a row that names no content.
var errOneKind = errors.New("an entry of another table")

func eventsTable() *table {
	var kinds []string
	for _, k := range record.EventKinds() {
		kinds = append(kinds, string(k))
	}
	return &table{
		name: tableEvents, title: "Events", kind: logbook.KindEvent,
		about: "What happened between rounds, as it was first written down. Corrections stand in amendments.csv.",
		columns: &plainColumns{
			own: []Field{
				timeField(colTime, "Time", "When it happened"),
				{Name: record.ColKind, Title: "Kind", Description: fmt.Sprintf("What happened: one of %v", kinds), Type: "string", Constraints: &Constraints{Required: true}},
				textField(record.ColUnit, "Units", "Units that it concerns, joined by +; blank for all"),
				textField(record.ColElement, "Ballast element", "Name of the ballast element that failed or came back"),
				textField(record.ColCause, "Cause", "Why it happened, as far as known"),
				textField(record.ColBy, "By", "Who wrote it down"),
				textField(record.ColNote, "Note", "Free text"),
				writtenField(),
			},
			put: func(e *logbook.Entry, name string) string { return e.Event.Text(name) },
			set: func(e *logbook.Entry, cell map[string]string) error {
				e.Event = &record.Event{ID: e.ID, Time: e.Time, WrittenAt: e.WrittenAt, Kind: record.EventKind(cell[record.ColKind]),
					Units: splitUnits(cell[record.ColUnit]), Element: cell[record.ColElement], Cause: cell[record.ColCause],
					By: cell[record.ColBy], Note: cell[record.ColNote]}
				return nil
			},
		},
	}
}

// Columns of amendments.csv.
const (
	colEntry   = "entry"
	colChanges = "changes"
	colWhy     = "why"
)

func amendmentsTable() *table {
	return &table{
		name: tableAmendments, title: "Corrections", kind: logbook.KindAmendment,
		about: "Corrections of rounds, events and upkeep, in the order in which they apply. The old values stay in the other tables.",
		columns: &plainColumns{
			own: []Field{
				timeField(colTime, "Time", "When the correction was made"),
				{Name: colEntry, Title: "Corrected entry", Description: "Id of the round, event or upkeep that is corrected", Type: "string", Constraints: &Constraints{Required: true}},
				textField(colChanges, "Changes", "Columns with their new texts, such as \"volts=241; note=read again\"; - alone withdraws a reading; \\ stands before a ; or \\ within a text"),
				textField(colWhy, "Why", "Why it was corrected"),
				textField(record.ColBy, "By", "Who corrected it"),
				writtenField(),
			},
			put: func(e *logbook.Entry, name string) string {
				switch name {
				case colEntry:
					return e.Amendment.Target
				case colChanges:
					return csvfile.JoinPairs(e.Amendment.Changes)
				case colWhy:
					return e.Amendment.Why
				}
				return e.Amendment.By
			},
			set: func(e *logbook.Entry, cell map[string]string) error {
				changes, ok := csvfile.SplitPairs(cell[colChanges])
				if !ok {
					return errors.New("its changes are no pairs such as volts=241; note=read again")
				}
				e.Amendment = &logbook.Amendment{ID: e.ID, Target: cell[colEntry], Changes: changes, Why: cell[colWhy], By: cell[record.ColBy], WrittenAt: e.WrittenAt}
				return nil
			},
		},
	}
}

const colTask = "task"

// upkeepTable has a column for checklists where there are any.
func upkeepTable(walks bool) *table {
	own := []Field{
		timeField(colTime, "Time", "When it was done"),
		{Name: colTask, Title: "Task", Description: "The task as the plant's description names it", Type: "string", Constraints: &Constraints{Required: true}},
		textField(record.ColBy, "By", "Who did it"),
		textField(record.ColNote, "Note", "Free text"),
	}
	if walks {
		own = append(own, checklistField())
	}
	return &table{
		name: tableUpkeep, title: "Upkeep done", kind: logbook.KindDone,
		about: "Upkeep tasks that were done. Corrections stand in amendments.csv.",
		columns: &plainColumns{
			own: append(own, writtenField()),
			put: func(e *logbook.Entry, name string) string {
				switch name {
				case colTask:
					return e.Done.Task
				case record.ColNote:
					return e.Done.Note
				case colChecklist:
					return walkText(e.Done.Walk)
				}
				return e.Done.By
			},
			set: func(e *logbook.Entry, cell map[string]string) error {
				walk, err := readWalk(cell[colChecklist])
				e.Done = &record.Done{ID: e.ID, Time: e.Time, WrittenAt: e.WrittenAt, Task: cell[colTask], By: cell[record.ColBy], Note: cell[record.ColNote], Walk: walk}
				return err
			},
		},
	}
}

const colFile = "file"

// plantsTable lists the descriptions of the plant. files gives each revision's file by its id, text each file's content.
func plantsTable(files map[string]string, text func(file string) (string, bool)) *table {
	return &table{
		name: tablePlants, title: "Descriptions of the plant", kind: logbook.KindPlant,
		about: "From when each description of the plant holds; the first also for all earlier times.",
		columns: &plainColumns{
			own: []Field{
				timeField(colTime, "From", "When the description came into force"),
				textField(record.ColBy, "By", "Who put it in"),
				{Name: colFile, Title: "File", Description: "The file of this package that holds it (TOML)", Type: "string", Constraints: &Constraints{Required: true}},
				writtenField(),
			},
			put: func(e *logbook.Entry, name string) string {
				if name == colFile {
					return files[e.ID]
				}
				return e.Revision.By
			},
			set: func(e *logbook.Entry, cell map[string]string) error {
				content, ok := text(cell[colFile])
				if !ok {
					return fmt.Errorf("it names the file %s, which the package does not hold", shortened(cell[colFile]))
				}
				files[e.ID] = cell[colFile]
				e.Revision = &record.Revision{ID: e.ID, From: e.Time, WrittenAt: e.WrittenAt, By: cell[record.ColBy], Text: content}
				return nil
			},
		},
	}
}

// othersFields are the columns of others.csv.
func othersFields() []Field {
	id := idField()
	id.Constraints.Unique = false
	chain := chainFields()
	return []Field{
		id,
		textField("kind", "Kind", "What the entry is"),
		textField("what", "Why here", "Why no other table holds it"),
		chain[3],
		{Name: colRaw, Title: "Bytes", Description: "The entry's bytes in base64", Type: "string", Constraints: &Constraints{Required: true}},
	}
}

// roundColumns are the columns of rounds.csv.
type roundColumns struct {
	sheet *csvfile.Sheet
	cols  []csvfile.Column
}

// roundsTable is the table of rounds with these columns; nil where they are not known yet.
func roundsTable(sheet *csvfile.Sheet) *table {
	c := &roundColumns{sheet: sheet}
	if sheet != nil {
		c.cols = sheet.Columns()
	}
	return &table{
		name: tableRounds, title: "Rounds", kind: logbook.KindRound,
		about:   "Rounds as they were first written down, a row each; a blank cell was not read. Corrections stand in amendments.csv.",
		columns: c,
	}
}

func (c *roundColumns) cells(e *logbook.Entry, chain map[string]string) []string {
	r := *e.Round
	r.Time, r.WrittenAt = e.Time, e.WrittenAt
	return c.sheet.Cells(r, chain)
}

func (c *roundColumns) chain(line int, cells []string) (id string, chain map[string]string, err error) {
	chain = map[string]string{}
	cols := c.cols
	if len(cells) != len(cols) {
		return "", nil, wrong(line, fmt.Sprintf("the row has %d cells", len(cells)), fmt.Sprintf("%d, as in the header", len(cols)))
	}
	for i, col := range cols {
		switch {
		case col.Extra || col.Reading != nil:
		case col.Name == colID:
			id = cells[i]
		default:
			chain[col.Name] = cells[i]
		}
	}
	return id, chain, nil
}

func (c *roundColumns) entry(line int, cells []string) (logbook.Entry, map[string]string, error) {
	r, chain, problems := c.sheet.Round(line, cells)
	if len(problems) > 0 {
		return logbook.Entry{}, nil, problems[0]
	}
	return logbook.Entry{ID: r.ID, Time: r.Time, WrittenAt: r.WrittenAt, Round: &r}, chain, nil
}

// fields describe the columns of the rounds, with the units of readings.
func (c *roundColumns) fields() []Field {
	fixed := map[string]Field{
		colID: idField(), colWritten: writtenField(),
		colTime:           timeField(colTime, "Time", "When the round was walked"),
		record.ColBy:      textField(record.ColBy, "By", "Who walked the round"),
		record.ColRunning: textField(record.ColRunning, "Running", "Ids of the units that ran, joined by +, or none"),
		record.ColNote:    textField(record.ColNote, "Note", "Free text"),
		"confirmed": {Name: "confirmed", Title: "Confirmed", Description: "yes where values that are not plausible were confirmed", Type: "boolean",
			TrueValues: []string{"yes"}, FalseValues: []string{"no"}},
		"typed": textField("typed", "Typed", "How readings were typed where in another unit, such as \"pressure_kpa=19 psi\""),
	}
	for _, f := range chainFields() {
		fixed[f.Name] = f
	}
	var list []Field
	for _, col := range c.cols {
		switch {
		case col.Reading != nil:
			list = append(list, readingField(col))
		case col.Extra:
			list = append(list, textField(col.Name, "", "A column of an imported file that Headpond does not know; its text as it stood"))
		default:
			list = append(list, fixed[col.Name])
		}
	}
	return list
}

func readingField(col csvfile.Column) Field {
	q := col.Reading
	f := Field{Name: col.Name, Title: q.Label, Type: "number"}
	whose := ""
	if col.Unit != "" {
		whose = ", unit " + col.Unit
		f.Title += whose
	}
	if !q.Number() {
		f.Type, f.Description = "string", q.Label+whose
		f.Constraints = &Constraints{Enum: q.Words}
		return f
	}
	f.Description = fmt.Sprintf("%s%s, in %s", q.Label, whose, unitWords(q.Unit))
	if q.Total {
		f.Description += "; a meter's total"
	}
	return f
}

// unitWords is a unit as a descriptor names it.
func unitWords(u quantity.Unit) string {
	if u == quantity.Percent {
		return "percent (0-100)"
	}
	return string(u)
}
