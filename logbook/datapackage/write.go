package datapackage

import (
	"archive/zip"
	"context"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// WriteOptions choose what of a book goes into a package.
type WriteOptions struct {
	Created time.Time // the moment of the export: all dates of the zip, and which plant is in force
	// From and To limit rounds, events and upkeep to from ≤ time < to, as corrected, with the corrections of these. Zero leaves
	// that end open.
	From, To time.Time
	// Workbook writes the file FileWorkbook, nil for none.
	Workbook func(ctx context.Context, w io.Writer) error
}

// partial reports whether anything may be left out.
func (o WriteOptions) partial() bool { return !o.From.IsZero() || !o.To.IsZero() }

// Summary tells what a package holds.
type Summary struct {
	Entries    int `json:"entries"`
	Rounds     int `json:"rounds"`
	Events     int `json:"events"`
	Amendments int `json:"amendments"`
	Upkeep     int `json:"upkeep"`
	Plants     int `json:"plants"`
	Others     int `json:"others,omitempty"`
	// LeftOut counts entries within the time asked for that a part of a log cannot hold: other versions of entries, and entries
	// of kinds that only a newer version knows.
	LeftOut int   `json:"left_out,omitempty"`
	Lost    int   `json:"known_lost,omitempty"` // entries that were lost before the book was rescued from a damaged one
	Chain   Chain `json:"chain"`
}

// errChanged means that someone wrote in the book between two readings of it.
var errChanged = errors.New("the logbook was written in while it was being exported, again and again: try once more")

// Write writes a package of a book. The book is read twice, and no lock is held in between; where an entry was added
// meanwhile all is begun anew. The same book, options and moment give the same bytes. A damaged book is refused with
// logbook.ErrDamaged, for what is missing could not be told from what never was.
//
// In memory are, beside one entry at a time, the compressed files: some 2 MB for ten years of three rounds a day.
func Write(ctx context.Context, w io.Writer, b *logbook.Book, o WriteOptions) (*Summary, error) {
	const tries = 5
	for range tries {
		before, err := b.Mark(ctx)
		if err != nil {
			return nil, err
		}
		x := &writing{ctx: ctx, b: b, o: o, sum: &Summary{Chain: Whole}}
		if err := x.gather(); err != nil {
			return nil, err
		}
		after, err := b.Mark(ctx)
		if err != nil {
			return nil, err
		}
		if before == after {
			return x.sum, x.zip(w)
		}
	}
	return nil, errChanged
}

// writing is one attempt at a package.
type writing struct {
	ctx context.Context
	b   *logbook.Book
	o   WriteOptions
	sum *Summary

	revisions []record.Revision
	inForce   string            // id of the revision in force
	plant     *plant.Plant      // the same, parsed
	files     map[string]string // revision → its file
	moved     map[string]time.Time
	chosen    map[string]bool // of a part: ids of the entries that are in it
	used      csvfile.Used
	walks     bool         // a checklist was walked
	tables    []*sheetFile // in the order of the package
	others    *sheetFile
	ready     []*spool
	gaps      []logbook.Gap // of a whole log: what is known to be lost
}

// gather reads the book and fills the tables.
func (x *writing) gather() error {
	if err := x.plants(); err != nil {
		return err
	}
	if x.o.partial() {
		x.sum.Chain = Partial
	} else if err := x.lost(); err != nil {
		return err
	}
	if err := x.survey(); err != nil {
		return err
	}
	if err := x.open(); err != nil {
		return err
	}
	return x.b.Entries(x.ctx, x.put)
}

// lost finds what is known to be lost. A part of a log has gaps of its own.
func (x *writing) lost() error {
	var err error
	x.gaps, x.sum.Lost, err = x.b.Gaps(x.ctx)
	if err == nil && len(x.gaps) > maxGaps {
		return &Error{What: fmt.Sprintf("the logbook has lost entries in %d places", len(x.gaps)), Expected: fmt.Sprintf("at most %d: a part of it can be exported with --from and --to", maxGaps)}
	}
	return err
}

// plants reads the descriptions of the plant and gives each its file.
func (x *writing) plants() error {
	var err error
	if x.revisions, err = x.b.Revisions(x.ctx); err != nil {
		return err
	}
	if len(x.revisions) == 0 {
		return &Error{What: "the logbook holds no plant description yet, without which its readings say little", Expected: "one, put in with headpond plant load"}
	}
	at := x.revisions[0]
	for _, r := range x.revisions[1:] {
		if !r.From.After(x.o.Created) {
			at = r
		}
	}
	x.inForce, x.plant, x.files = at.ID, at.Plant, map[string]string{}
	for _, r := range x.revisions {
		x.files[r.ID] = folderPlants + r.ID + ".toml"
	}
	x.files[x.inForce] = filePlant
	return nil
}

// unitsOf lists the units of all descriptions, those in force first.
func unitsOf(inForce *plant.Plant, all []record.Revision) []string {
	units := slices.Clone(inForce.UnitIDs())
	for _, r := range all {
		for _, id := range r.Plant.UnitIDs() {
			if !slices.Contains(units, id) {
				units = append(units, id)
			}
		}
	}
	return units
}

// survey is the first reading: which columns the rounds need, and which entries are in the part asked for.
func (x *writing) survey() error {
	x.moved, x.chosen = map[string]time.Time{}, map[string]bool{}
	times, amends := map[string]time.Time{}, map[string]string{}
	err := x.b.Entries(x.ctx, func(e logbook.Entry) error {
		if e.Twin || len(e.Unknown) > 0 {
			return nil
		}
		if e.Round != nil {
			x.used.Add(*e.Round)
		}
		x.walks = x.walks || hasWalk(e)
		if !x.o.partial() {
			return nil
		}
		times[e.ID] = e.Time
		if a := e.Amendment; a != nil {
			amends[e.ID] = a.Target
			if t, err := time.Parse(time.RFC3339, a.Changes[record.ColTime]); err == nil {
				x.moved[a.Target] = t
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for id, at := range times {
		if moved, ok := x.moved[id]; ok {
			at = moved
		}
		x.chosen[id] = !at.Before(x.o.From) && (x.o.To.IsZero() || at.Before(x.o.To))
	}
	for id, target := range amends {
		x.chosen[id] = x.chosen[target]
	}
	return nil
}

// open begins every table.
func (x *writing) open() error {
	sheet := x.used.Sheet(unitsOf(x.plant, x.revisions), ChainColumns())
	for _, t := range []*table{roundsTable(sheet), eventsTable(), amendmentsTable(), upkeepTable(x.walks), plantsTable(x.files, x.plantText)} {
		f, err := newSheetFile(t)
		if err != nil {
			return err
		}
		x.tables = append(x.tables, f)
	}
	return nil
}

// plantText is the content of a plant's file.
func (x *writing) plantText(file string) (string, bool) {
	for _, r := range x.revisions {
		if x.files[r.ID] == file {
			return r.Text, true
		}
	}
	return "", false
}

// put is the second reading: each entry goes into its table.
func (x *writing) put(e logbook.Entry) error {
	other := ""
	switch {
	case e.Twin:
		other = "another version of the entry of this id"
	case len(e.Unknown) > 0:
		other = "written by a newer version"
	case x.o.partial() && e.Kind != logbook.KindPlant && !x.chosen[e.ID]:
		return nil
	}
	if other != "" {
		return x.putOther(e, other)
	}
	for _, f := range x.tables {
		if f.kind == e.Kind {
			x.sum.Entries++
			return f.add(f.row(&e))
		}
	}
	return fmt.Errorf("entry %s: %w", e.ID, errOneKind)
}

func (x *writing) putOther(e logbook.Entry, what string) error {
	if x.o.partial() {
		x.sum.LeftOut++
		return nil
	}
	if x.others == nil {
		t := &table{name: tableOthers, title: "Other entries", about: "Entries that no other table can hold, as their bytes alone.", columns: othersColumns{}}
		f, err := newSheetFile(t)
		if err != nil {
			return err
		}
		x.others = f
	}
	x.sum.Entries++
	return x.others.add([]string{e.ID, e.Kind.String(), what, hex.EncodeToString(e.Hash[:]), base64.StdEncoding.EncodeToString(e.Raw)})
}

// othersColumns describe others.csv; its rows are written and read by themselves.
type othersColumns struct{ columns }

func (othersColumns) fields() []Field { return othersFields() }

// zip closes all files and writes the package.
func (x *writing) zip(w io.Writer) error {
	x.count()
	d := x.descriptor()
	files := x.tables
	if x.others != nil {
		files = append(slices.Clone(files), x.others)
	}
	for _, f := range files {
		if err := f.close(); err != nil {
			return err
		}
		x.ready = append(x.ready, f.spool)
		d.Resources = append(d.Resources, f.resource())
	}
	if err := x.texts(d); err != nil {
		return err
	}
	data, err := d.encode()
	if err != nil {
		return fmt.Errorf("writing %s: %w", fileDescriptor, err)
	}
	first := newSpool(fileDescriptor)
	if _, err := first.Write(data); err != nil {
		return err
	}
	z := zip.NewWriter(w)
	for _, s := range append([]*spool{first}, x.ready...) {
		if err := x.ctx.Err(); err != nil {
			return err
		}
		if err := s.into(z, x.o.Created); err != nil {
			return fmt.Errorf("writing %s: %w", s.name, err)
		}
	}
	return z.Close()
}

func (x *writing) count() {
	for i, n := range []*int{&x.sum.Rounds, &x.sum.Events, &x.sum.Amendments, &x.sum.Upkeep, &x.sum.Plants} {
		*n = x.tables[i].rows
	}
	if x.others != nil {
		x.sum.Others = x.others.rows
	}
}

// resource describes a table.
func (f *sheetFile) resource() Resource {
	key := []string{colID}
	if f.name == tableOthers {
		key = append(key, colHash)
	}
	return Resource{Name: f.name, Path: f.path(), Profile: "tabular-data-resource", Title: f.title, Description: f.about, Format: "csv",
		MediaType: "text/csv", Encoding: "utf-8", Bytes: f.spool.size, Hash: f.spool.hash(), Dialect: csvDialect(),
		Schema: &Schema{Fields: f.columns.fields(), MissingValues: []string{""}, PrimaryKey: key}}
}

// texts adds the descriptions of the plant, the workbook and the README.
func (x *writing) texts(d *Descriptor) error {
	add := func(s *spool, name, title, about, format, media string) {
		x.ready = append(x.ready, s)
		r := Resource{Name: name, Path: s.name, Profile: "data-resource", Title: title, Description: about, Format: format, MediaType: media, Bytes: s.size, Hash: s.hash()}
		if format != "xlsx" {
			r.Encoding = "utf-8"
		}
		d.Resources = append(d.Resources, r)
	}
	for _, r := range x.revisions {
		if len(r.Text) > maxPlant {
			return &Error{What: fmt.Sprintf("the plant description %s has %d bytes", r.ID, len(r.Text)), Expected: fmt.Sprintf("at most %d", maxPlant)}
		}
		s := newSpool(x.files[r.ID])
		if _, err := io.WriteString(s, r.Text); err != nil {
			return err
		}
		if r.ID == x.inForce {
			add(s, "plant", "The plant", "Description of the plant in force when this was exported", "toml", "application/toml")
		} else {
			add(s, "plant-"+slug(r.ID), "The plant, another revision", "See plants.csv for when it holds", "toml", "application/toml")
		}
	}
	if x.o.Workbook != nil {
		s := newStored(FileWorkbook)
		if err := x.o.Workbook(x.ctx, s); err != nil {
			return err
		}
		add(s, "workbook", "Workbook", "The log for spreadsheets, with corrections applied, and charts; it is not read back", "xlsx",
			"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	}
	s := newSpool(fileReadme)
	if _, err := io.WriteString(s, x.readme()); err != nil {
		return err
	}
	add(s, "readme", "Read me", "What this package is, in plain words", "txt", "text/plain")
	return nil
}

func (x *writing) descriptor() *Descriptor {
	name := unturned(csvfile.Harmless(x.plant.Site.Name))
	about := "The logbook of a small hydro plant: rounds, events, corrections, upkeep and the plant's description."
	if x.sum.Chain == Partial {
		about += " This is a part of the log: the chain that ties each entry to the one before it is partial."
	}
	if x.sum.Lost > 0 {
		about += fmt.Sprintf(" %s", lostWords(x.sum.Lost))
	}
	return &Descriptor{
		Profile: "data-package", Name: slug(name), Title: "Log of " + name, Description: about, Created: stamp(x.o.Created),
		Headpond: About{Format: Format, Plant: name, TimeZone: x.plant.Site.Timezone, Entries: x.sum.Entries, Chain: x.sum.Chain, From: stamp(x.o.From), To: stamp(x.o.To),
			Lost: x.sum.Lost, Gaps: tellGaps(x.gaps)},
	}
}
