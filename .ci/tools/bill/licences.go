package main

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/google/licensecheck"
)

// licenceFile is a licence or a notice as it lies beside the code.
type licenceFile struct {
	name string // below the module's folder, with slashes
	text string
}

// papersName matches what licences and notices are called.
var papersName = regexp.MustCompile(`(?i)^(licen[cs]es?|copying|notice|patents|unlicense|copyright)([-._].*)?$`)

// wellKnown is the least share of a file, in percent, that must be the words of a known licence.
const wellKnown = 75

// stated is a module that says its licence in its README alone, without the licence's text. Each was looked at by a person;
// another version must be looked at again.
type stated struct {
	path, version string
	says          string // the very words in its README.md
	id            string
}

func licencesStated() []stated {
	return []stated{{"github.com/mattn/go-localereader", "v0.0.1", "## License\n\nMIT\n", "MIT"}}
}

// mitText is the MIT licence without anybody's name, for modules that only name it.
//
//go:embed mit.txt
var mitText string

// findLicences reads the licences of every module, from the folders of the packages that are linked up to the module's own.
// A module without one that is known is an error: it must not go out.
func (l *linked) findLicences() error {
	var missing []error
	for _, m := range l.modules {
		if err := m.findLicences(); err != nil {
			missing = append(missing, err)
		}
	}
	return errors.Join(missing...)
}

func (m *module) findLicences() error {
	seen := map[string]bool{}
	for _, dir := range m.packages {
		for ; !seen[dir] && strings.HasPrefix(dir, m.dir); dir = filepath.Dir(dir) {
			seen[dir] = true
			if err := m.readFolder(dir); err != nil {
				return err
			}
		}
	}
	if len(m.ids) == 0 {
		if err := m.readStated(); err != nil {
			return err
		}
	}
	slices.SortFunc(m.files, func(a, b licenceFile) int { return strings.Compare(a.name, b.name) })
	m.ids = tidy(m.ids)
	if len(m.ids) == 0 {
		return fmt.Errorf("%s %s has no licence that is known in %s", m.path, m.version, m.dir)
	}
	return nil
}

// readStated takes the README of a module in the place of its licence, and the text of the licence that it names.
func (m *module) readStated() error {
	for _, s := range licencesStated() {
		if s.path != m.path || s.version != m.version {
			continue
		}
		data, err := os.ReadFile(filepath.Join(m.dir, "README.md"))
		if err != nil {
			return err
		}
		text := strings.ReplaceAll(string(data), "\r\n", "\n")
		if !strings.Contains(text, s.says) {
			return fmt.Errorf("%s %s: README.md no longer says %q", m.path, m.version, s.says)
		}
		m.files = append(m.files, licenceFile{"README.md, which names the licence", strings.TrimSpace(text)}, licenceFile{"the licence that it names", strings.TrimSpace(mitText)})
		m.ids = append(m.ids, s.id)
	}
	return nil
}

func (m *module) readFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if e.IsDir() || !papersName.MatchString(e.Name()) || filepath.Ext(e.Name()) == ".go" {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return err
		}
		name, err := filepath.Rel(m.dir, filepath.Join(dir, e.Name()))
		if err != nil {
			return err
		}
		text := strings.TrimSpace(strings.ReplaceAll(string(data), "\r\n", "\n"))
		if !slices.ContainsFunc(m.files, func(f licenceFile) bool { return f.text == text }) {
			m.files = append(m.files, licenceFile{filepath.ToSlash(name), text})
		}
		if cover := licensecheck.Scan(data); cover.Percent >= wellKnown {
			for _, match := range cover.Match {
				m.ids = append(m.ids, match.ID)
			}
		}
	}
	return nil
}

// licenceText is one text with every licence and notice.
func (l *linked) licenceText() string {
	var b strings.Builder
	b.WriteString("Headpond is built from the modules below. Each stands here with its version and with its licence and notices as they\n" +
		"lie beside its code. The zone data that Go's library carries is the IANA Time Zone Database, which is in the public domain.\n")
	for _, m := range l.modules {
		fmt.Fprintf(&b, "\n%s\n%s %s (%s)\n", strings.Repeat("=", 78), m.path, m.version, strings.Join(m.ids, " AND "))
		for _, f := range m.files {
			fmt.Fprintf(&b, "%s\n%s:\n\n%s\n", strings.Repeat("-", 78), f.name, f.text)
		}
	}
	return b.String()
}
