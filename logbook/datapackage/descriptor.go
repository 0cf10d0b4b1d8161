package datapackage

import (
	"encoding/json"
	"strings"
	"time"
	"unicode"
)

// Format is the number of this form of package. A reader refuses a higher one.
const Format = 1

// Names of the files of a package.
const (
	fileDescriptor = "datapackage.json"
	fileReadme     = "README.txt"
	filePlant      = "plant.toml"
	fileOthers     = "others.csv"
	folderPlants   = "plants/"
	// FileWorkbook is the name of the workbook for spreadsheets.
	FileWorkbook = "rounds.xlsx"
)

// Descriptor is datapackage.json.
type Descriptor struct {
	Profile     string     `json:"profile"`
	Name        string     `json:"name"`
	Title       string     `json:"title"`
	Description string     `json:"description"`
	Created     string     `json:"created"` // RFC 3339
	Headpond    About      `json:"headpond"`
	Resources   []Resource `json:"resources"`
}

// About is what this program adds to a descriptor.
type About struct {
	Format   int    `json:"format"`
	Plant    string `json:"plant"`
	TimeZone string `json:"timezone"`
	Entries  int    `json:"entries"`
	Chain    Chain  `json:"chain"`
	From     string `json:"from,omitempty"` // of a part: the first instant, included
	To       string `json:"to,omitempty"`   // of a part: the first instant after it
	// Lost is how many entries were lost before the book was rescued from a damaged one, and Gaps name them as the entries that follow
	// them do. The chain is whole but for them.
	Lost int   `json:"known_lost,omitempty"`
	Gaps []Gap `json:"gaps,omitempty"`
}

// Gap is an entry that is known to be lost, in the words of the columns of a table's chain.
type Gap struct {
	Writer string `json:"writer"`
	Seq    uint64 `json:"seq"`
	Hash   string `json:"hash"`
}

// Chain tells whether a package holds all that its writers wrote.
type Chain string

// The two kinds of package.
const (
	Whole   Chain = "whole"
	Partial Chain = "partial"
)

// Resource is one file of a package.
type Resource struct {
	Name        string   `json:"name"`
	Path        string   `json:"path"`
	Profile     string   `json:"profile"`
	Title       string   `json:"title"`
	Description string   `json:"description,omitempty"`
	Format      string   `json:"format"`
	MediaType   string   `json:"mediatype"`
	Encoding    string   `json:"encoding,omitempty"`
	Bytes       int64    `json:"bytes"`
	Hash        string   `json:"hash"` // "sha256:" and 64 hexadecimal digits
	Dialect     *Dialect `json:"dialect,omitempty"`
	Schema      *Schema  `json:"schema,omitempty"`
}

// Dialect is how a table's CSV is written (CSV Dialect).
type Dialect struct {
	Delimiter      string `json:"delimiter"`
	LineTerminator string `json:"lineTerminator"`
	QuoteChar      string `json:"quoteChar"`
	DoubleQuote    bool   `json:"doubleQuote"`
	Header         bool   `json:"header"`
}

// Schema is a Table Schema.
type Schema struct {
	Fields        []Field  `json:"fields"`
	MissingValues []string `json:"missingValues"`
	PrimaryKey    []string `json:"primaryKey"`
}

// Field is one column of a table.
type Field struct {
	Name        string       `json:"name"`
	Title       string       `json:"title,omitempty"`
	Description string       `json:"description,omitempty"`
	Type        string       `json:"type"`
	Format      string       `json:"format,omitempty"`
	TrueValues  []string     `json:"trueValues,omitempty"`
	FalseValues []string     `json:"falseValues,omitempty"`
	Constraints *Constraints `json:"constraints,omitempty"`
}

// Constraints are what the values of a column must keep to.
type Constraints struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Enum     []string `json:"enum,omitempty"`
	Pattern  string   `json:"pattern,omitempty"`
}

// csvDialect is RFC 4180.
func csvDialect() *Dialect {
	return &Dialect{Delimiter: ",", LineTerminator: "\r\n", QuoteChar: `"`, DoubleQuote: true, Header: true}
}

// encode writes the descriptor for people to read as well.
func (d *Descriptor) encode() ([]byte, error) {
	var out strings.Builder
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(d); err != nil {
		return nil, err
	}
	return []byte(out.String()), nil
}

// resource finds a file in the descriptor.
func (d *Descriptor) resource(path string) *Resource {
	for i := range d.Resources {
		if d.Resources[i].Path == path {
			return &d.Resources[i]
		}
	}
	return nil
}

// unturned shows characters that turn the order of what is read as U+FFFD: in a README nothing stands for them.
func unturned(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Bidi_Control, r) {
			return unicode.ReplacementChar
		}
		return r
	}, s)
}

// slug turns a plant's name into a package's: lower-case letters, digits and hyphens.
func slug(name string) string {
	var s strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			s.WriteRune(r)
		case s.Len() > 0 && !strings.HasSuffix(s.String(), "-"):
			s.WriteByte('-')
		}
	}
	base := strings.Trim(s.String(), "-")
	if base == "" {
		base = "plant"
	}
	return base + "-log"
}

// stamp writes a time of the descriptor, "" for none.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}
